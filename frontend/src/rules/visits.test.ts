import { describe, expect, it } from 'vitest'
import { fullYear, monthsUpTo, thoughtPercent } from './visits'

describe('the trend of a place', () => {
  const trend = [
    { month: '2026-01', mass_g: 1200, contamination_percent: 2 },
    { month: '2026-03', mass_g: 800, contamination_percent: null },
  ]

  it('shows months without a visit as nothing collected, also since the last one', () => {
    const year = fullYear(trend, '2026-05-09')
    expect(year).toHaveLength(12)
    expect(year.slice(-5).map((m) => m.mass_g)).toEqual([1200, 0, 800, 0, 0])
  })

  it('is empty before the first visit, and a year after the last', () => {
    expect(fullYear([], '2026-05-09')).toEqual([])
    expect(fullYear(trend, '2027-03-01')).toEqual([])
  })

  it('goes back over the turn of the year', () => {
    expect(monthsUpTo('2026-02', 3)).toEqual(['2025-12', '2026-01', '2026-02'])
  })
})

it('what is expected today counts more than what was said some days ago', () => {
  const expected = { percent: 60, volume_ml: 1, mass_g: 1, rests_on: '' }
  expect(thoughtPercent({ expected, last_report: { percent: 25, at: '' } })).toBe(60)
  expect(thoughtPercent({ expected: null, last_report: { percent: 25, at: '' } })).toBe(25)
})
