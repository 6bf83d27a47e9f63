import { expect, it } from 'vitest'
import { labelsWithRoom, ticksUpTo } from './scale'

it.each([1, 7, 12, 99, 100, 101, 12_345, 0.3])('%d lies under at most five ticks', (largest) => {
  const ticks = ticksUpTo(largest)
  expect(ticks.length).toBeLessThanOrEqual(5)
  expect(ticks.at(-1)).toBeGreaterThanOrEqual(largest)
  expect(ticks.at(-2)).toBeLessThan(largest)
})

it('an empty chart still has an axis', () => expect(ticksUpTo(0)).toEqual([0, 1]))

it('names on an axis do not run together', () => {
  const months = Array.from({ length: 12 }, (_, at) => `m${at}`)
  expect([...labelsWithRoom(months, 60, 56)]).toEqual([...months.keys()])
  expect([...labelsWithRoom(months, 23, 56)]).toEqual([0, 3, 6, 9])
})

it('of many months only the years are named, where there is room', () => {
  const years = Array.from({ length: 120 }, (_, at) => (at % 12 === 1 ? String(2017 + at) : ''))
  expect([...labelsWithRoom(years, 2.3, 56)]).toEqual([1, 37, 73, 109])
})
