/** What a new version of a stream's rules changes for a place. */
import type { Finding, Rules, State } from '../api/types'
import { neverIn, onlyThese, STATES } from './inWords'

const LISTS = ['items', 'resins', 'colours', 'forming', 'containers'] as const
export type RulesList = (typeof LISTS)[number]

export interface Changes {
  /** What is taken now and was before, in full; null for any. */
  lists: { of: RulesList; before: string[] | null; now: string[] | null }[]
  states: { state: State; now: 'must' | 'wanted' | 'no' }[]
  neverAdded: Finding[]
  neverDropped: Finding[]
  /** Something besides: limits, unmarked pieces, or the maker's own words. */
  more: boolean
}

export function changesBetween(before: Rules, now: Rules): Changes {
  const never = { before: neverIn(before), now: neverIn(now) }
  return {
    lists: LISTS.map((of) => ({ of, before: listed(before, of), now: listed(now, of) })).filter(
      (list) => !isSameSet(list.before, list.now),
    ),
    states: STATES.filter((state) => needOf(before, state) !== needOf(now, state)).map((state) => ({
      state,
      now: needOf(now, state),
    })),
    neverAdded: never.now.filter((finding) => !never.before.includes(finding)),
    neverDropped: never.before.filter((finding) => !never.now.includes(finding)),
    more: restOf(before) !== restOf(now),
  }
}

function listed(rules: Rules, of: RulesList): string[] | null {
  return onlyThese<string>(rules[of])
}

function needOf(rules: Rules, state: State): 'must' | 'wanted' | 'no' {
  return rules.states[state] ?? 'no'
}

function isSameSet(one: string[] | null, other: string[] | null): boolean {
  if (one === null || other === null) return one === other
  return one.length === other.length && one.every((value) => other.includes(value))
}

function restOf(rules: Rules): string {
  return JSON.stringify([
    Number(rules.contamination_clean_max),
    Number(rules.contamination_extra_work_max),
    rules.smallest_g,
    rules.unmarked,
    rules.notes,
  ])
}
