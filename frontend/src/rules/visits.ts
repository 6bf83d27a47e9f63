/** What a place is told of its visits, in the order and shape a screen shows it. */
import type { Container, TrendMonth } from '../api/types'

/** The levels that one says with a tap, in per cent; more than full is a heaped container. */
export const LEVELS = [0, 25, 50, 75, 100, 125] as const
export type Level = (typeof LEVELS)[number]

/** How full a container is thought to be: what is expected today, else what was last said. */
export function thoughtPercent(
  container: Pick<Container, 'last_report'> & { expected: { percent: number } | null },
): number {
  return container.expected?.percent ?? container.last_report?.percent ?? 0
}

/**
 * The twelve months up to and with today's, months without a visit as zero, so that a place sees
 * that nobody came; none where nothing was collected in all of them.
 */
export function fullYear(trend: readonly TrendMonth[], today: string): TrendMonth[] {
  const byMonth = new Map(trend.map((month) => [month.month.slice(0, 7), month]))
  const months = monthsUpTo(today.slice(0, 7), 12)
  if (!months.some((month) => byMonth.has(month))) return []
  return months.map(
    (month) => byMonth.get(month) ?? { month, mass_g: 0, contamination_percent: null },
  )
}

/** So many months up to and with one, oldest first, as `YYYY-MM`. */
export function monthsUpTo(last: string, count: number): string[] {
  const [year = 0, month = 1] = last.split('-').map(Number)
  return Array.from({ length: count }, (_, back) => {
    const at = new Date(Date.UTC(year, month - 1 - (count - 1 - back), 1))
    return at.toISOString().slice(0, 7)
  })
}
