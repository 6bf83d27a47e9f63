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

/**
 * Which bars are named on an axis: from the first that has a name on, each that is far enough from
 * the one named before. `slot` is the width of a bar with its gap, `room` that of a name, in px.
 */
export function labelsWithRoom(
  labels: readonly string[],
  slot: number,
  room: number,
): ReadonlySet<number> {
  const named = new Set<number>()
  let free = -Infinity
  labels.forEach((label, index) => {
    if (!label || index * slot < free) return
    named.add(index)
    free = index * slot + room
  })
  return named
}
