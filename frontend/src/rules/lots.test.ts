import { expect, it } from 'vitest'
import { collectedIn, whereNow } from './lots'

it('a lot is where most of it is, and never at the container it came from', () => {
  const balances = [
    { kind: 'container', mass_g: -5000 },
    { kind: 'collected', mass_g: 4800 },
    { kind: 'residue', mass_g: 200 },
  ] as const
  expect(whereNow(balances)).toEqual({ kind: 'collected', mass_g: 4800 })
  expect(collectedIn(balances)).toBe(4800)
})

it('a lot that is all gone is nowhere', () => {
  expect(whereNow([{ kind: 'container', mass_g: 0 }])).toEqual({ kind: null, mass_g: 0 })
})
