import { describe, expect, it } from 'vitest'
import { cssOfLab, movedBy, spotOf } from './colour'

describe('a spot of a photo', () => {
  it('has the mean and the spread of its pixels, and takes no notice of alpha', () => {
    const pixels = [100, 50, 0, 255, 102, 50, 4, 255]
    expect(spotOf(pixels)).toEqual({ rgb: [101, 50, 2], spread: [1, 0, 2] })
  })

  it('stays on the photo when it is moved', () => {
    expect(movedBy({ x: 0.5, y: 0.995 }, -0.01, 0.01)).toEqual({ x: 0.49, y: 1 })
    expect(movedBy({ x: 0, y: 0.5 }, -0.01, 0)).toEqual({ x: 0, y: 0.5 })
  })
})

describe('a measured colour', () => {
  // Red, green and blue of sRGB in L*a*b*, D65: as published conversions have them.
  it.each([
    [[53.24, 80.09, 67.2], 'rgb(255 0 0)'],
    [[87.73, -86.18, 83.18], 'rgb(0 255 0)'],
    [[32.3, 79.19, -107.86], 'rgb(0 0 255)'],
    [[100, 0, 0], 'rgb(255 255 255)'],
    [[0, 0, 0], 'rgb(0 0 0)'],
  ] as const)('of %j is shown as %s', (lab, shown) => {
    expect(cssOfLab([...lab])).toBe(shown)
  })
})
