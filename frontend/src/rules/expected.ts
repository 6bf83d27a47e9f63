/** How what is expected in a container is put into words. */
import type { Expected } from '../api/types'

/** The range it is most likely in, no more than full; null where it is surely full. */
export function likelyRange(
  expected: Pick<Expected, 'low_percent' | 'high_percent'>,
): { low: number; high: number } | null {
  const { low_percent, high_percent } = expected
  if (low_percent >= 100) return null
  return { low: low_percent / 100, high: Math.min(high_percent, 100) / 100 }
}

/** The earliest of the days on which containers are probably full; null where none soon is. */
export function firstFull(expected: readonly (Expected | null)[]): string | null {
  const days = expected.map((one) => one?.full_on ?? null).filter((day) => day !== null)
  return days.sort()[0] ?? null
}
