/** Where the grams of a lot are now. */
import type { AccountKind } from '../api/types'

export interface Balance {
  kind: AccountKind
  mass_g: number
}

/** Where most of it is, and how much there is on this side of the container it came from. */
export function whereNow(balances: readonly Balance[]): Balance | { kind: null; mass_g: 0 } {
  const held = balances.filter((b) => b.kind !== 'container' && b.mass_g > 0)
  const most = held.reduce<Balance | null>((a, b) => (a && a.mass_g >= b.mass_g ? a : b), null)
  return most ?? { kind: null, mass_g: 0 }
}

const STORES = ['collected', 'washed', 'sorted', 'shredded', 'offcut'] as const

/** Grams that lie in the workshop, in one state. */
export interface Stored {
  kind: (typeof STORES)[number]
  mass_g: number
}

/** Return where in the workshop a lot lies, in the order of the work. */
export function storedIn(balances: readonly Balance[]): Stored[] {
  return STORES.map((kind) => ({
    kind,
    mass_g: balances.find((b) => b.kind === kind)?.mass_g ?? 0,
  })).filter((one) => one.mass_g > 0)
}

/** What is in the store as collected, which can be weighed again and inspected. */
export function collectedIn(balances: readonly Balance[]): number {
  return balances.find((b) => b.kind === 'collected')?.mass_g ?? 0
}
