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

/** What is in the store as collected, which can be weighed again and inspected. */
export function collectedIn(balances: readonly Balance[]): number {
  return balances.find((b) => b.kind === 'collected')?.mass_g ?? 0
}
