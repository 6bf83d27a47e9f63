/** Round numbers for the axis of a chart. */

/** Return ticks from zero that cover the largest value, at most five of them, at 1, 2 or 5. */
export function ticksUpTo(largest: number): number[] {
  if (largest <= 0) return [0, 1]
  const raw = largest / 4
  const ten = 10 ** Math.floor(Math.log10(raw))
  const step = [1, 2, 5, 10].map((n) => n * ten).find((n) => n >= raw) ?? 10 * ten
  const count = Math.ceil(largest / step)
  return Array.from({ length: count + 1 }, (_, index) => index * step)
}
