/** A report of diverted mass as rows to show, and the days it is about. */
import type { Dimension } from '../api/reports'
import type { DivertedRow, QualityRow } from '../api/types'
import { monthsUpTo } from './visits'

export interface Named {
  id: string
  name: string
}

/** What a row is about in one dimension: a month, a kind, a named thing, or nothing. */
export function groupOf(row: DivertedRow, by: Dimension): string | Named | null {
  return row[by] ?? null
}

/** The share of what was collected that was weighed rather than estimated; null of nothing. */
export function weighedShare(row: { collected_g: number; weighed_g: number }): number | null {
  return row.collected_g > 0 ? row.weighed_g / row.collected_g : null
}

/**
 * The places to speak with first, as they were ranked: of which something was turned away, or in
 * which samples enough to rank them found what does not belong.
 */
export function needAWord(places: readonly QualityRow[]): QualityRow[] {
  return places.filter(
    ({ contamination, turned_away }) =>
      turned_away > 0 || (!contamination.is_too_little && contamination.share > 0),
  )
}

export type Period = 'year' | 'last_year' | 'twelve_months' | 'all'

/** The first and last day of a usual period, by the day that is today there. */
export function daysOf(period: Period, today: string): { from?: string; to?: string } {
  const year = Number(today.slice(0, 4))
  switch (period) {
    case 'year':
      return { from: `${year}-01-01`, to: `${year}-12-31` }
    case 'last_year':
      return { from: `${year - 1}-01-01`, to: `${year - 1}-12-31` }
    case 'twelve_months': {
      const first = new Date(Date.UTC(year, Number(today.slice(5, 7)) - 12, 1))
      return { from: first.toISOString().slice(0, 10), to: today }
    }
    case 'all':
      return {}
  }
}

const YEARS_SHOWN = 12

/** The years of which at least one quarter is over, the latest first. */
export function yearsBegun(today: string): number[] {
  const latest = Number(today.slice(0, 4)) - (today.slice(5, 7) < '04' ? 1 : 0)
  return Array.from({ length: YEARS_SHOWN }, (_, back) => latest - back)
}

/** Today by a community's clock, as `YYYY-MM-DD`. */
export function todayIn(timezone: string, now: Date): string {
  // The Swedish way of writing a date is ISO 8601's.
  return new Intl.DateTimeFormat('sv-SE', { timeZone: timezone }).format(now)
}

export interface MonthRow {
  /** As `YYYY-MM`. */
  month: string
  /** What is reported of it, if anything was collected. */
  row: DivertedRow | undefined
}

/**
 * Each month of a report, so that one in which nothing was collected is seen as one: from the first
 * day asked for, else from the first month with anything, to the last day asked for or today.
 */
export function everyMonth(
  rows: readonly DivertedRow[],
  days: { from?: string; to?: string },
  today: string,
): MonthRow[] {
  const byMonth = new Map(rows.map((row) => [row.month ?? '', row]))
  const told = [...byMonth.keys()].sort()
  const [first, last] = [told[0], told.at(-1)]
  if (!first || !last) return []
  const from = earliest(first, (days.from ?? first).slice(0, 7))
  const to = latest(last, earliest(today, days.to ?? today).slice(0, 7))
  const months = monthsUpTo(to, monthNumber(to) - monthNumber(from) + 1)
  return months.map((month) => ({ month, row: byMonth.get(month) }))
}

function earliest(one: string, other: string): string {
  return one < other ? one : other
}

function latest(one: string, other: string): string {
  return one > other ? one : other
}

function monthNumber(month: string): number {
  const [year = 0, of = 1] = month.split('-').map(Number)
  return year * 12 + of
}
