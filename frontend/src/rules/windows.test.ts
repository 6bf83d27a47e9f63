import { describe, expect, it } from 'vitest'
import { byTimes, PRESETS, runs, windowFault } from './windows'

describe('weekly windows', () => {
  it('days with the same times are told together', () => {
    expect(
      byTimes([
        { weekday: 4, opens: '08:00:00', closes: '12:00:00' },
        { weekday: 0, opens: '08:00', closes: '15:00' },
        { weekday: 1, opens: '08:00', closes: '15:00' },
      ]),
    ).toEqual([
      { times: '08:00–15:00', weekdays: [0, 1] },
      { times: '08:00–12:00', weekdays: [4] },
    ])
  })

  it('days in a row are one run', () => {
    expect(runs([0, 1, 2, 4])).toEqual([
      [0, 2],
      [4, 4],
    ])
  })

  it.each(Object.entries(PRESETS))('the preset %s can be sent as it is', (_name, preset) => {
    expect(windowFault(preset, [])).toBeNull()
  })

  it('a place where one can never come cannot be sent', () => {
    expect(windowFault([], [])).toBe('no_window')
  })

  it('a window closes after it opens', () => {
    expect(windowFault([{ weekday: 0, opens: '12:00', closes: '12:00' }], [])).toBe('closes_first')
  })

  it('a closure ends after it begins', () => {
    const span = { kind: 'closure', label: '', first_day: '2026-08-02', last_day: '2026-08-01' }
    expect(windowFault(PRESETS.mornings, [{ ...span, kind: 'closure' }])).toBe('span_order')
  })
})
