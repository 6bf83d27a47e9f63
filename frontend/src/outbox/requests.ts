/** The request by which a deed reaches the server. */
import { addressOf, type BodyOf, type PathValues, type PathWith } from '../api/client'
import type { Deed } from '../rules/deeds'

const C = '/api/v1/communities/{community}'
const ROUTE = `${C}/routes/{route_id}` as const
const PICKUP = `${C}/pickups/{pickup_id}` as const
const LINE = `${C}/pickup-lines/{line_id}` as const

export interface KeptRequest {
  address: string
  body: unknown
}

/** Return the request of a deed done in a community at a moment (ISO 8601 in UTC). */
export function requestOf(community: string, deed: Deed, at: string): KeptRequest {
  switch (deed.kind) {
    case 'start_route':
      return to(`${ROUTE}/start/`, { community, route_id: deed.route_id }, { at })
    case 'finish_route':
      return to(`${ROUTE}/finish/`, { community, route_id: deed.route_id }, { at })
    case 'add_stop':
      return to(
        `${ROUTE}/add-stop/`,
        { community, route_id: deed.route_id },
        { at, pickup_id: deed.pickup_id },
      )
    case 'arrive':
      return to(`${PICKUP}/arrive/`, { community, pickup_id: deed.pickup_id }, { at })
    case 'finish_stop':
      return to(`${PICKUP}/finish/`, { community, pickup_id: deed.pickup_id }, { at })
    case 'skip_stop':
      return to(
        `${PICKUP}/skip/`,
        { community, pickup_id: deed.pickup_id },
        { at, reason: deed.reason },
      )
    case 'photo':
      return {
        address: addressOf(`${LINE}/photos/`, { community, line_id: deed.line_id }),
        body: { taken_at: at },
      }
    case 'collect':
    case 'turn_away':
    case 'skip_line':
      return toLine(community, deed, at)
    case 'report_fill':
      return to(
        `${C}/containers/{container_id}/fill-reports/`,
        { community, container_id: deed.container_id },
        { percent: deed.percent, at },
      )
    case 'ask_pickup':
      return to(
        `${C}/places/{place_id}/ask-pickup/`,
        { community, place_id: deed.place_id },
        { at, note: deed.note },
      )
  }
}

function toLine(
  community: string,
  deed: Extract<Deed, { kind: 'collect' | 'turn_away' | 'skip_line' }>,
  at: string,
): KeptRequest {
  const values = { community, line_id: deed.line_id }
  if (deed.kind === 'skip_line') return to(`${LINE}/skip/`, values, { at, reason: deed.reason })
  if (deed.kind === 'turn_away') {
    return to(`${LINE}/turn-away/`, values, { at, look: deed.look, note: deed.note })
  }
  const seen = deed.look ? { look: deed.look } : {}
  return to(`${LINE}/collect/`, values, { at, ...deed.reading, ...seen })
}

function to<P extends PathWith<'post'>>(
  path: P,
  values: PathValues<P, 'post'>,
  body: BodyOf<P, 'post'>,
): KeptRequest {
  return { address: addressOf(path, values as object), body }
}
