import { describe, expect, it } from 'vitest'
import { gramsOfTypedKg, netOf, typedKgOfGrams } from './mass'

describe('typed kilograms', () => {
  it.each([
    ['12', 12_000],
    ['12.4', 12_400],
    ['0,05', 50],
    ['.5', 500],
    [' 3.001 ', 3001],
  ])('%s is %i grams, with a point or a comma', (typed, mass_g) => {
    expect(gramsOfTypedKg(typed)).toBe(mass_g)
  })

  it.each(['', '.', 'abc', '-1', '1.2345', '1e3', '1 000'])('%s is no mass', (typed) => {
    expect(gramsOfTypedKg(typed)).toBeNull()
  })

  it('every gram up to ten kilograms survives being shown and typed again', () => {
    for (let mass_g = 0; mass_g <= 10_000; mass_g++) {
      expect(gramsOfTypedKg(typedKgOfGrams(mass_g))).toBe(mass_g)
    }
  })
})

describe('net mass', () => {
  it('is gross less tare', () => expect(netOf(5200, 350)).toBe(4850))
  it('is unknown while a figure is missing', () => expect(netOf(null, 350)).toBeNull())
  it('is unknown when nothing would be left', () => expect(netOf(350, 350)).toBeNull())
})
