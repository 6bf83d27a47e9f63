import { expect, it } from 'vitest'
import { columnsOf, draftOf } from './history'

const guessed = {
  header: 1,
  day: 0,
  mass: 2,
  unit: 'kg',
  day_order: 'day_first',
  saved_as: 'estimated',
  places: [{ text: 'The Academy', id: 'p1' }],
  streams: [],
} as const

it('asks for what is not chosen yet, and for nothing that can be left open', () => {
  const draft = draftOf({ ...guessed, places: [], streams: [] })
  expect(columnsOf(draft)).toEqual(['maker_id', 'place'])
})

it('sends the first column as one, and names that were mapped', () => {
  const draft = {
    ...draftOf({ ...guessed, places: [...guessed.places], streams: [] }),
    maker_id: 'm',
    place: '1',
  }
  expect(columnsOf({ ...draft, places: { ...draft.places, Nowhere: '' } })).toMatchObject({
    day: 0,
    place: 1,
    stream: null,
    decimal: '.',
    places: [{ text: 'The Academy', id: 'p1' }],
  })
})

it('names a scale only for what was weighed', () => {
  const draft = {
    ...draftOf({ ...guessed, places: [], streams: [] }),
    maker_id: 'm',
    place: '1',
    scale_id: 's',
  }
  expect(columnsOf(draft)).toMatchObject({ scale_id: null })
  expect(columnsOf({ ...draft, saved_as: 'weighed' })).toMatchObject({ scale_id: 's' })
})
