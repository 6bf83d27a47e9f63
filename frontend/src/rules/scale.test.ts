import { expect, it } from 'vitest'
import { ticksUpTo } from './scale'

it.each([1, 7, 12, 99, 100, 101, 12_345, 0.3])('%d lies under at most five ticks', (largest) => {
  const ticks = ticksUpTo(largest)
  expect(ticks.length).toBeLessThanOrEqual(5)
  expect(ticks.at(-1)).toBeGreaterThanOrEqual(largest)
  expect(ticks.at(-2)).toBeLessThan(largest)
})

it('an empty chart still has an axis', () => expect(ticksUpTo(0)).toEqual([0, 1]))
