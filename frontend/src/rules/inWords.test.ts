import { expect, it } from 'vitest'
import type { Rules } from '../api/types'
import { neverIn, onlyThese, statesAskedFor } from './inWords'

const caps: Rules = {
  schema_version: 1,
  resins: ['PE-HD'],
  items: ['bottle-cap'],
  colours: 'any',
  forming: 'any',
  states: { dry: 'wanted', label_off: 'must', rinsed: 'must' },
  never: ['metal'],
  unmarked: 'turned_away',
  contamination_clean_max: '0.02',
  contamination_extra_work_max: '0.1',
  smallest_g: 2000,
  containers: 'any',
  notes: '',
}

it('the musts come before what is only wanted', () => {
  expect(statesAskedFor(caps).map((s) => s.state)).toEqual(['rinsed', 'label_off', 'dry'])
})

it('what is dangerous to melt never belongs in it, also when the maker did not say so', () => {
  expect(neverIn(caps)).toEqual(['dangerous_resin', 'metal'])
})

it('any colour is no list of colours', () => {
  expect(onlyThese(caps.colours)).toBeNull()
  expect(onlyThese(caps.items)).toEqual(['bottle-cap'])
})
