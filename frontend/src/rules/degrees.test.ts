import { expect, it } from 'vitest'
import { degreesOfTyped } from './degrees'

it.each([
  ['-30.125', -30.125],
  [' 45,5 ', 45.5],
  ['0', 0],
  ['−12.5', -12.5],
])('%s are degrees', (typed, value) => {
  expect(degreesOfTyped(typed, 180)).toBe(value)
})

it.each(['', 'north', '181', '12.3.4', '1e2'])('%s are not degrees of longitude', (typed) => {
  expect(degreesOfTyped(typed, 180)).toBeNull()
})
