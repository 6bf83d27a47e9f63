/** What a person does at a van or a place, as it is kept until it has arrived. */
import type { Line, Method, Observation, Route, Stop } from '../api/types'

/** How the mass of what was in a container is known. */
export interface Reading {
  method: Method
  gross_g?: number
  tare_g?: number
  scale_id?: string
  percent?: number
}

export type Deed =
  | { kind: 'start_route'; route_id: string }
  | {
      kind: 'add_stop'
      route_id: string
      pickup_id: string
      /** What the device knew of it, to go by where there is no signal. */
      stop: Stop
      caution_texts: Route['caution_texts']
    }
  | { kind: 'arrive'; route_id: string; pickup_id: string }
  | { kind: 'collect'; route_id: string; line_id: string; reading: Reading; look?: Observation }
  | { kind: 'turn_away'; route_id: string; line_id: string; look: Observation; note: string }
  | { kind: 'skip_line'; route_id: string; line_id: string; reason: string }
  | { kind: 'photo'; route_id: string; line_id: string }
  | { kind: 'skip_stop'; route_id: string; pickup_id: string; reason: string }
  | { kind: 'finish_stop'; route_id: string; pickup_id: string }
  | { kind: 'finish_route'; route_id: string }
  | { kind: 'report_fill'; place_id: string; container_id: string; percent: number }
  | { kind: 'ask_pickup'; place_id: string; note: string }

export type DeedState = 'kept' | 'needs_you' | 'arrived'

/** A deed with the moment it happened, as ISO 8601 in UTC, and how far it has come. */
export interface Done {
  deed: Deed
  at: string
  state: DeedState
}

/**
 * The queue a deed waits in: deeds of one route are sent strictly in their order, since each
 * builds on the ones before; a word about one container never waits for another.
 */
export function laneOf(deed: Deed): string {
  if (deed.kind === 'photo') return `photos of ${deed.line_id}`
  if ('route_id' in deed) return `route ${deed.route_id}`
  if (deed.kind === 'report_fill') return `container ${deed.container_id}`
  return `place ${deed.place_id}`
}

/**
 * The queue whose earlier deeds have to arrive before this one, or null. A photo comes after what
 * was done on its route before it; nothing waits for a photo, which is large.
 */
export function comesAfter(deed: Deed): string | null {
  return deed.kind === 'photo' ? `route ${deed.route_id}` : null
}

/** Whether a deed settles this line, one way or another. */
export function settles(deed: Deed, line: Pick<Line, 'id'>): boolean {
  return 'line_id' in deed && deed.kind !== 'photo' && deed.line_id === line.id
}
