import { describe, expect, it } from 'vitest'
import type { Rules } from '../api/types'
import { changesBetween } from './ruleChanges'

const CAPS = {
  schema_version: 1,
  resins: ['PE-HD', 'PP'],
  items: ['bottle-cap'],
  colours: 'any',
  forming: 'any',
  containers: ['bag', 'crate'],
  states: { rinsed: 'must', dry: 'wanted' },
  never: ['glass'],
  unmarked: 'extra_work',
  contamination_clean_max: '0.02',
  contamination_extra_work_max: '0.10',
  smallest_g: 1000,
  notes: '',
} as unknown as Rules

const NOTHING = { lists: [], states: [], neverAdded: [], neverDropped: [], more: false }

describe('what new rules change', () => {
  it('is nothing between rules that say the same, in whatever order', () => {
    const same = { ...CAPS, resins: ['PP', 'PE-HD'], contamination_clean_max: '0.020' } as Rules
    expect(changesBetween(CAPS, same)).toEqual(NOTHING)
  })

  it('names a list with what it was before', () => {
    const white = { ...CAPS, colours: ['white'] } as Rules
    expect(changesBetween(CAPS, white).lists).toEqual([
      { of: 'colours', before: null, now: ['white'] },
    ])
  })

  it('names states that are asked for, asked for more, or no longer', () => {
    const states = { dry: 'must', label_off: 'wanted' } as Rules['states']
    expect(changesBetween(CAPS, { ...CAPS, states }).states).toEqual([
      { state: 'rinsed', now: 'no' },
      { state: 'dry', now: 'must' },
      { state: 'label_off', now: 'wanted' },
    ])
  })

  it('names what must never be in it, and what now may', () => {
    const changes = changesBetween(CAPS, { ...CAPS, never: ['metal'] } as Rules)
    expect([changes.neverAdded, changes.neverDropped]).toEqual([['metal'], ['glass']])
  })

  it('says that there is more where only a limit moved', () => {
    const changes = changesBetween(CAPS, { ...CAPS, smallest_g: 2000 })
    expect(changes).toEqual({ ...NOTHING, more: true })
  })
})
