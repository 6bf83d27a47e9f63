/** A stream's rules as a form holds them: lists to tick, where none ticked means any. */
import type { Colour, ContainerKind, Finding, Forming, Rules, State } from '../api/types'
import { FINDINGS, onlyThese, STATES } from './inWords'

export type Need = 'no' | 'wanted' | 'must'

export interface RulesForm {
  resins: string[]
  items: string[]
  colours: Colour[]
  forming: Forming[]
  states: Record<State, Need>
  never: Finding[]
  unmarked: Rules['unmarked']
  /** Per cent by mass, as typed. */
  clean_percent: string
  extra_work_percent: string
  smallest_g: number | null
  containers: ContainerKind[]
  notes: string
}

/** Where a new stream starts: rinsed and dry, nothing dirty or dangerous in it. */
export const FIRST_RULES: Rules = {
  schema_version: 1,
  resins: [],
  items: 'any',
  colours: 'any',
  forming: 'any',
  states: { rinsed: 'must', dry: 'must' },
  never: ['oil_or_chemical', 'medical', 'glass'],
  unmarked: 'extra_work',
  contamination_clean_max: '0.02',
  contamination_extra_work_max: '0.1',
  smallest_g: 0,
  containers: 'any',
  notes: '',
}

/** `decimal` is how the locale writes a decimal. */
export function formOfRules(rules: Rules, decimal = '.'): RulesForm {
  const needs = STATES.map((state) => [state, rules.states[state] ?? 'no'] as const)
  return {
    resins: [...rules.resins],
    items: onlyThese(rules.items) ?? [],
    colours: onlyThese(rules.colours) ?? [],
    forming: onlyThese(rules.forming) ?? [],
    states: Object.fromEntries(needs) as Record<State, Need>,
    never: FINDINGS.filter((finding) => rules.never.includes(finding)),
    unmarked: rules.unmarked,
    clean_percent: percentOfShare(rules.contamination_clean_max, decimal),
    extra_work_percent: percentOfShare(rules.contamination_extra_work_max, decimal),
    smallest_g: rules.smallest_g || null,
    containers: onlyThese(rules.containers) ?? [],
    notes: rules.notes,
  }
}

export function rulesOfForm(form: RulesForm): Rules {
  const asked = STATES.filter((state) => form.states[state] !== 'no')
  return {
    schema_version: 1,
    resins: form.resins,
    items: anyIfNone(form.items),
    colours: anyIfNone(form.colours),
    forming: anyIfNone(form.forming),
    states: Object.fromEntries(asked.map((state) => [state, form.states[state]])),
    never: form.never,
    unmarked: form.unmarked,
    contamination_clean_max: shareOfPercent(form.clean_percent),
    contamination_extra_work_max: shareOfPercent(form.extra_work_percent),
    smallest_g: form.smallest_g ?? 0,
    containers: anyIfNone(form.containers),
    notes: form.notes.trim(),
  }
}

function anyIfNone<T>(list: T[]): T[] | 'any' {
  return list.length ? list : 'any'
}

const TYPED_PERCENT = /^(\d{1,3})(?:[.,](\d{1,4}))?$/

/** Two per cent is the exact text `0.02`; what is no number is left for the server to refuse. */
export function shareOfPercent(typed: string): string {
  const parts = TYPED_PERCENT.exec(typed.trim())
  if (!parts) return typed
  const digits = (parts[1] ?? '').padStart(3, '0')
  const fraction = (digits.slice(-2) + (parts[2] ?? '')).replace(/0+$/, '')
  const whole = String(Number(digits.slice(0, -2)))
  return fraction ? `${whole}.${fraction}` : whole
}

export function percentOfShare(share: string, decimal = '.'): string {
  const [whole = '0', fraction = ''] = share.split('.')
  const padded = fraction.padEnd(2, '0')
  const percent = String(Number(whole + padded.slice(0, 2)))
  const rest = padded.slice(2).replace(/0+$/, '')
  return rest ? `${percent}${decimal}${rest}` : percent
}
