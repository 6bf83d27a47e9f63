import { describe, expect, it } from 'vitest'
import { isSentTo } from './noticeKinds'

describe('what a person is asked about', () => {
  it('is what their roles are ever told', () => {
    expect(isSentTo(['contact'], 'pickup_booked')).toBe(true)
    expect(isSentTo(['contact'], 'week_summary')).toBe(false)
    expect(isSentTo(['driver', 'organiser'], 'week_summary')).toBe(true)
  })

  it('is nothing for a driver', () => {
    expect(isSentTo(['driver'], 'pickup_on_its_way')).toBe(false)
  })
})
