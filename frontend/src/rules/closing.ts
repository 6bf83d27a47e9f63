/** Which day a month is closed up to. */

/** The last day of the month before the one that today is in, as `YYYY-MM-DD`. */
export function lastMonthsEnd(today: string): string {
  const first = new Date(Date.UTC(Number(today.slice(0, 4)), Number(today.slice(5, 7)) - 1, 1))
  return new Date(first.getTime() - 86_400_000).toISOString().slice(0, 10)
}
