/** What waits at each place, from its containers and what was asked for. */
import type { ListedContainer, Pickup, PlaceRow } from '../api/types'
import { firstFull } from './expected'
import { thoughtPercent } from './visits'

export interface Waiting {
  place: PlaceRow
  /** Expected in all its containers, in g; a container of unknown content counts as nothing. */
  mass_g: number
  /** How full the fullest one is thought to be. */
  percent: number
  /** The day on which the first of them is probably full; null where none is soon. */
  full_on: string | null
  /** What the place said when it asked for a pickup; null when it did not ask. */
  asked_note: string | null
  /** The day on which it is already planned to be visited. */
  planned_day: string | null
}

/** Places with something waiting: those who asked first, then the fullest. */
export function waitingPlaces(
  places: readonly PlaceRow[],
  containers: readonly ListedContainer[],
  pickups: readonly Pickup[],
): Waiting[] {
  return places
    .map((place) => waitingAt(place, containers, pickups))
    .filter((w) => w.mass_g > 0 || w.percent > 0 || w.asked_note !== null)
    .sort(
      (a, b) =>
        Number(b.asked_note !== null) - Number(a.asked_note !== null) || b.percent - a.percent,
    )
}

function waitingAt(
  place: PlaceRow,
  containers: readonly ListedContainer[],
  pickups: readonly Pickup[],
): Waiting {
  const own = containers.filter((c) => c.place.id === place.id && !c.retired_at)
  const visits = pickups.filter((p) => p.place.id === place.id)
  return {
    place,
    mass_g: own.reduce((sum, c) => sum + (c.expected?.mass_g ?? 0), 0),
    percent: Math.max(0, ...own.map(thoughtPercent)),
    full_on: firstFull(own.map((c) => c.expected)),
    asked_note: visits.find((p) => p.status === 'asked')?.asked_note ?? null,
    planned_day: visits.find((p) => p.status === 'planned')?.day ?? null,
  }
}
