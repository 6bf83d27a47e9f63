import { expect, it } from 'vitest'
import type { ListedContainer, Pickup, PlaceRow } from '../api/types'
import { waitingPlaces } from './waiting'

const place = (id: string) => ({ id, name: id }) as PlaceRow
const container = (placeId: string, percent: number, mass_g: number | null) =>
  ({
    place: { id: placeId, name: placeId },
    retired_at: null,
    last_report: null,
    expected: { percent, mass_g, volume_ml: 0, rests_on: '' },
  }) as unknown as ListedContainer
const asked = (placeId: string) =>
  ({ place: { id: placeId }, status: 'asked', asked_note: '' }) as Pickup

it('who asked comes first, then the fullest; who has nothing is not there', () => {
  const found = waitingPlaces(
    [place('a'), place('b'), place('c'), place('d')],
    [container('a', 40, 2000), container('b', 90, 5000), container('c', 10, null)],
    [asked('c')],
  )
  expect(found.map((w) => w.place.id)).toEqual(['c', 'b', 'a'])
})

it('the masses of all containers of a place add up, unknown ones as nothing', () => {
  const rows = [container('a', 40, 2000), container('a', 70, 900), container('a', 80, null)]
  expect(waitingPlaces([place('a')], rows, [])[0]).toMatchObject({ mass_g: 2900, percent: 80 })
})
