import { describe, expect, it } from 'vitest'
import type { DivertedRow, QualityRow } from '../api/types'
import { daysOf, everyMonth, needAWord, todayIn, weighedShare, yearsBegun } from './report'

describe('the days of a report', () => {
  it('twelve months end today and begin with a whole month', () => {
    expect(daysOf('twelve_months', '2026-03-15')).toEqual({ from: '2025-04-01', to: '2026-03-15' })
  })
  it('this year has all its days', () => {
    expect(daysOf('year', '2026-03-15')).toEqual({ from: '2026-01-01', to: '2026-12-31' })
    expect(daysOf('last_year', '2026-03-15').to).toBe('2025-12-31')
  })
  it('all is bounded by nothing', () => expect(daysOf('all', '2026-03-15')).toEqual({}))
})

it('today is the day of the community, not of the device', () => {
  const lateInUtc = new Date('2026-03-15T23:30:00Z')
  expect(todayIn('Asia/Tokyo', lateInUtc)).toBe('2026-03-16')
  expect(todayIn('America/Lima', lateInUtc)).toBe('2026-03-15')
})

it('of nothing collected no share was weighed', () => {
  expect(weighedShare({ collected_g: 0, weighed_g: 0 })).toBeNull()
  expect(weighedShare({ collected_g: 4000, weighed_g: 1000 })).toBe(0.25)
})

describe('the years of open data', () => {
  it('begin with this one once a quarter of it is over', () => {
    expect(yearsBegun('2026-03-31')[0]).toBe(2025)
    expect(yearsBegun('2026-04-01').slice(0, 2)).toEqual([2026, 2025])
  })
})

describe('the places to speak with', () => {
  const row = (name: string, share: number, turned_away = 0, is_too_little = false): QualityRow =>
    ({
      about: { id: name, name },
      contamination: { share, low: 0, high: 1, looks: 9, pieces: 90, is_too_little },
      turned_away,
      looked_at: 9,
    }) as QualityRow

  it('are those with something turned away, and those ranked with what does not belong', () => {
    const rows = [row('a', 0.02), row('b', 0), row('c', 0.5, 0, true), row('d', 0, 1, true)]
    expect(needAWord(rows).map(({ about }) => about.name)).toEqual(['a', 'd'])
  })
})

describe('the months of a report', () => {
  const rows = ['2025-11', '2026-02'].map((month) => ({ month, diverted_g: 5 }) as DivertedRow)
  const of = (...[days, today]: [{ from?: string; to?: string }, string]) =>
    everyMonth(rows, days, today).map(({ month, row }) => (row ? month : `no ${month}`))

  it('are those between, of which nothing is told', () =>
    expect(of({}, '2026-02-28')).toEqual(['2025-11', 'no 2025-12', 'no 2026-01', '2026-02']))

  it('are those up to today, where it went quiet', () =>
    expect(of({}, '2026-04-01').slice(-2)).toEqual(['no 2026-03', 'no 2026-04']))

  it('begin where the period does, and end no later than today', () => {
    const all = of({ from: '2025-10-01', to: '2026-12-31' }, '2026-03-15')
    expect([all[0], all.at(-1)]).toEqual(['no 2025-10', 'no 2026-03'])
  })

  it('end where the period does', () =>
    expect(of({ from: '2025-11-01', to: '2026-02-10' }, '2026-03-15').at(-1)).toBe('2026-02'))

  it('of nothing are none', () => expect(everyMonth([], {}, '2026-03-15')).toEqual([]))
})
