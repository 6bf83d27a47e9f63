const DAY_MS = 86_400_000

/** The day so many days after (or, below zero, before) a day, as `YYYY-MM-DD`. */
export function dayAfter(day: string, count: number): string {
  return new Date(Date.parse(day + 'T00:00Z') + count * DAY_MS).toISOString().slice(0, 10)
}

/** So many days from a day on. */
export function daysFrom(first: string, count: number): string[] {
  return Array.from({ length: count }, (_, index) => dayAfter(first, index))
}

/** The first of some days that is not taken; none where all are. */
export function firstFree(days: readonly string[], taken: readonly string[]): string[] {
  return days.filter((day) => !taken.includes(day)).slice(0, 1)
}
