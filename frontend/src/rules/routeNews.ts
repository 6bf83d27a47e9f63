/** What has changed on a route since its driver looked at it last. */
import type { Stop } from '../api/types'

/** A visit as it was shown. */
export interface KnownStop {
  id: string
  name: string
  planned_arrival: string
  status: Stop['status']
}

export interface RouteNews {
  id: string
  what: 'gone' | 'new' | 'moved'
  name: string
  /** When it was to be, and when it is now; ISO 8601. */
  before: string | null
  now: string | null
}

/** What shifts by no more than that is no news; the places are told by the same rule. */
const SAME_HOUR_MS = 30 * 60_000

type Shown = Pick<Stop, 'id' | 'status' | 'planned_arrival'> & { place: { name: string } }

export function knownStops(stops: readonly Shown[]): KnownStop[] {
  return stops.map(({ id, status, planned_arrival, place }) => ({
    id,
    status,
    planned_arrival,
    name: place.name,
  }))
}

/** Compare; `own` are the ids of visits that the driver took on and needs not be told of. */
export function newsSince(
  known: readonly KnownStop[],
  stops: readonly Shown[],
  own: ReadonlySet<string> = new Set(),
): RouteNews[] {
  const before = new Map(known.map((stop) => [stop.id, stop]))
  const now = new Map(stops.map((stop) => [stop.id, stop]))
  const gone = known
    .filter(({ id, status }) => status !== 'called_off' && isGone(now.get(id)))
    .map(({ id, name, planned_arrival }) => news('gone', id, name, planned_arrival, null))
  const other = stops.flatMap(({ id, status, planned_arrival, place }) => {
    const was = before.get(id)
    if (status !== 'planned' || own.has(id)) return []
    if (!was || was.status === 'called_off') {
      return [news('new', id, place.name, null, planned_arrival)]
    }
    const shift_ms = Math.abs(Date.parse(planned_arrival) - Date.parse(was.planned_arrival))
    if (shift_ms <= SAME_HOUR_MS) return []
    return [news('moved', id, place.name, was.planned_arrival, planned_arrival)]
  })
  return [...gone, ...other]
}

function isGone(stop: Shown | undefined): boolean {
  return !stop || stop.status === 'called_off'
}

function news(
  what: RouteNews['what'],
  id: string,
  name: string,
  before: string | null,
  now: string | null,
): RouteNews {
  return { id, what, name, before, now }
}
