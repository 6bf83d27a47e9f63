import { describe, expect, it } from 'vitest'
import { numberOfTyped, shareOfPercent } from './figure'

describe('a typed figure', () => {
  it.each([
    ['170', 0, 170],
    [' 2,5 ', 1, 2.5],
    ['2.5', 1, 2.5],
    ['-5', 0, -5],
    ['0.30', 4, 0.3],
  ])('%s with %i decimals is %d', (typed, decimals, expected) => {
    expect(numberOfTyped(typed, decimals)).toBe(expected)
  })

  it.each(['', 'hot', '1 000', '2.55', '1e3'])('%s is none with one decimal', (typed) => {
    expect(numberOfTyped(typed, 1)).toBeNull()
  })
})

describe('a share', () => {
  it('is written as the exact decimal', () => {
    expect([70, 33.3, 7, 29].map(shareOfPercent)).toEqual(['0.7', '0.333', '0.07', '0.29'])
  })
})
