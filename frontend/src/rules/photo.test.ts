import fc from 'fast-check'
import { expect, it } from 'vitest'
import { fitted, SIDE_PX_MAX } from './photo'

it('a photo of a phone is sent at 1600 px on its longer side', () => {
  expect(fitted({ width: 4032, height: 3024 })).toEqual({ width: 1600, height: 1200 })
  expect(fitted({ width: 3024, height: 4032 })).toEqual({ width: 1200, height: 1600 })
})

it('a small picture stays as it is', () => {
  expect(fitted({ width: 640, height: 480 })).toEqual({ width: 640, height: 480 })
})

it('whatever its shape, it fits and keeps its proportion to the pixel', () => {
  const side = fc.integer({ min: 1, max: 20_000 })
  fc.assert(
    fc.property(side, side, (width, height) => {
      const made = fitted({ width, height })
      expect(Math.max(made.width, made.height)).toBeLessThanOrEqual(SIDE_PX_MAX)
      expect(Math.min(made.width, made.height)).toBeGreaterThanOrEqual(1)
      const scale = Math.min(1, SIDE_PX_MAX / Math.max(width, height))
      expect(Math.abs(made.width - width * scale)).toBeLessThanOrEqual(1)
      expect(Math.abs(made.height - height * scale)).toBeLessThanOrEqual(1)
    }),
  )
})
