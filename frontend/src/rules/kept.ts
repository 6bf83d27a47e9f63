/**
 * What a screen shows while deeds wait on the device: the server's last word with the deeds done
 * over it. A deed that the server's word already holds changes nothing, and neither does one that
 * was refused; so the same deeds may be put over an old word, or over a newer one.
 */
import type { Container, Line, Place, Route, Stop } from '../api/types'
import { settles, type Deed, type Done, type Reading } from './deeds'
import { netOf } from './mass'

/** Return a route as its driver left it. */
export function routeWith(route: Route, done: readonly Done[]): Route {
  return effective(done).reduce(routeAfter, route)
}

/** Return a place as its contact knows it: how full they said it is, and that they asked. */
export function placeWith(place: Place, done: readonly Done[]): Place {
  return effective(done).reduce(placeAfter, place)
}

/** Return the status of a route in a list. */
export function routeStatusWith(
  route: Pick<Route, 'id' | 'status'>,
  done: readonly Done[],
): Route['status'] {
  return effective(done).reduce(
    (status, { deed }) => statusAfter(status, deed, route.id),
    route.status,
  )
}

function effective(done: readonly Done[]): Done[] {
  return done.filter(({ state }) => state !== 'needs_you')
}

function statusAfter(status: Route['status'], deed: Deed, route_id: string): Route['status'] {
  if (!('route_id' in deed) || deed.route_id !== route_id) return status
  if (deed.kind === 'start_route' && status === 'planned') return 'under_way'
  if (deed.kind === 'finish_route' && status === 'under_way') return 'done'
  return status
}

function routeAfter(route: Route, { deed, at }: Done): Route {
  if (!('route_id' in deed) || deed.route_id !== route.id) return route
  const status = statusAfter(route.status, deed, route.id)
  if (status !== route.status) {
    return { ...route, status, [status === 'done' ? 'finished_at' : 'started_at']: at }
  }
  if (deed.kind === 'add_stop') return added(route, deed)
  return { ...route, pickups: route.pickups.map((stop) => stopAfter(stop, deed, at)) }
}

/** A stop that was taken on comes last, unless the server has it already. */
function added(route: Route, deed: Extract<Deed, { kind: 'add_stop' }>): Route {
  if (route.pickups.some(({ id }) => id === deed.pickup_id)) return route
  const caution_texts = { ...deed.caution_texts, ...route.caution_texts }
  return { ...route, caution_texts, pickups: [...route.pickups, deed.stop] }
}

function stopAfter(stop: Stop, deed: Deed, at: string): Stop {
  if ('pickup_id' in deed) return deed.pickup_id === stop.id ? visited(stop, deed, at) : stop
  return { ...stop, lines: stop.lines.map((line) => lineAfter(line, deed, at)) }
}

function visited(stop: Stop, deed: Deed, at: string): Stop {
  if (deed.kind === 'arrive' && stop.status === 'planned') {
    return { ...stop, status: 'under_way', arrived_at: at }
  }
  if (deed.kind === 'finish_stop' && stop.status === 'under_way') {
    return { ...stop, status: 'done', finished_at: at }
  }
  const isToCome = stop.status === 'planned' || stop.status === 'under_way'
  if (deed.kind === 'skip_stop' && isToCome) {
    const { reason } = deed
    const lines = stop.lines.map((line) => settled(line, { outcome: 'skipped', reason }, at))
    return { ...stop, status: 'missed', reason, finished_at: at, lines }
  }
  return stop
}

function lineAfter(line: Line, deed: Deed, at: string): Line {
  if (!settles(deed, line)) return line
  if (deed.kind === 'collect') {
    return settled(line, { outcome: 'collected', ...massOf(deed.reading) }, at)
  }
  if (deed.kind === 'turn_away') return settled(line, { outcome: 'turned_away' }, at)
  if (deed.kind === 'skip_line') {
    return settled(line, { outcome: 'skipped', reason: deed.reason }, at)
  }
  return line
}

/** What is settled stays as the server has it. */
function settled(line: Line, news: Partial<Line>, at: string): Line {
  return line.outcome === 'open' ? { ...line, ...news, done_at: at } : line
}

/** The net mass where it was typed; of a volume the server works it out. */
function massOf(reading: Reading): Pick<Line, 'mass_g' | 'method'> {
  const mass_g = netOf(reading.gross_g ?? null, reading.tare_g ?? null)
  return { mass_g, method: reading.method }
}

function placeAfter(place: Place, { deed, at }: Done): Place {
  if (deed.kind === 'ask_pickup' && deed.place_id === place.id && !place.next_visit) {
    const next_visit = { pickup_id: '', day: null, planned_arrival: null, status: 'asked' } as const
    return { ...place, next_visit }
  }
  if (deed.kind !== 'report_fill' || deed.place_id !== place.id) return place
  const agreements = place.agreements.map((agreement) => ({
    ...agreement,
    containers: agreement.containers.map((container) =>
      container.id === deed.container_id ? said(container, deed.percent, at) : container,
    ),
  }))
  return { ...place, agreements }
}

/** The last word counts, whoever said it. */
function said(container: Container, percent: number, at: string): Container {
  const last = container.last_report
  if (last && Date.parse(last.at) >= Date.parse(at)) return container
  return { ...container, last_report: { percent, at }, expected: null }
}
