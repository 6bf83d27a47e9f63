/** A stream's rules as what to show: lists of codes, in the order a person acts on them. */
import type { Finding, Rules, State } from '../api/types'

export const STATES: readonly State[] = [
  'rinsed',
  'dry',
  'label_off',
  'lid_off',
  'sorted_by_colour',
]
export const FINDINGS: readonly Finding[] = [
  'dangerous_resin',
  'other_resin',
  'other_item',
  'other_colour',
  'food_residue',
  'oil_or_chemical',
  'medical',
  'metal',
  'glass',
  'paper',
  'label',
  'water',
  'other',
]

/** The states asked for, the musts first. */
export function statesAskedFor(rules: Rules): { state: State; must: boolean }[] {
  const asked = STATES.filter((state) => rules.states[state])
  const entries = asked.map((state) => ({ state, must: rules.states[state] === 'must' }))
  return [...entries.filter((e) => e.must), ...entries.filter((e) => !e.must)]
}

/** What is never in it: what is dangerous to melt always, whatever the maker wrote. */
export function neverIn(rules: Rules): Finding[] {
  return FINDINGS.filter((f) => f === 'dangerous_resin' || rules.never.includes(f))
}

/** A list, or null for any. */
export function onlyThese<T>(choice: T[] | 'any' | undefined): T[] | null {
  return choice === undefined || choice === 'any' ? null : choice
}
