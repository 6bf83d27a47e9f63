/** Where a driver is on a route, from what is done. */
import type { Finding, Line, Route, State, Stop } from '../api/types'

const SETTLED = new Set(['done', 'missed', 'called_off'])

export function isSettled(stop: Pick<Stop, 'status'>): boolean {
  return SETTLED.has(stop.status)
}

/** The stop to go to now: the one under way, else the first that is not settled. */
export function nextStop<S extends Pick<Stop, 'status'>>(stops: readonly S[]): S | null {
  return (
    stops.find((stop) => stop.status === 'under_way') ??
    stops.find((stop) => !isSettled(stop)) ??
    null
  )
}

/** A route's line as a map takes it, latitude first; none of a route kept before lines were told. */
export function wayOf({ way = [] }: Partial<Pick<Route, 'way'>>): [number, number][] {
  return latitudeFirst(way)
}

/** Coordinates as a map takes them, from the order in which GeoJSON has them. */
export function latitudeFirst(line: readonly number[][]): [number, number][] {
  return line.map(([longitude = 0, latitude = 0]) => [latitude, longitude])
}

/** A mark on a map for each stop, with its number. */
export function marksOf(stops: readonly Pick<Stop, 'id' | 'place'>[]) {
  return stops.map(({ id, place }, index) => ({
    id,
    longitude: place.longitude,
    latitude: place.latitude,
    label: place.name,
    sign: String(index + 1),
  }))
}

export function isOpen(line: Pick<Line, 'outcome'>): boolean {
  return line.outcome === 'open'
}

/** All that was collected on a route so far, in g. */
export function collectedOf(stops: readonly { lines: readonly Pick<Line, 'mass_g'>[] }[]): number {
  return stops.flatMap((stop) => stop.lines).reduce((sum, line) => sum + (line.mass_g ?? 0), 0)
}

/** Of it, what was estimated and not weighed, in g. */
export function estimatedOf(
  stops: readonly { lines: readonly Pick<Line, 'mass_g' | 'method'>[] }[],
): number {
  const lines = stops.flatMap((stop) => stop.lines).filter((line) => line.method !== 'weighed')
  return lines.reduce((sum, line) => sum + (line.mass_g ?? 0), 0)
}

/** What was seen in a look, as the API has it: findings, and the states that were not met. */
export function lookOf(seen: { found: readonly Finding[]; unmet: readonly State[] }) {
  return {
    found: seen.found.map((what) => ({ what })),
    unmet: [...seen.unmet],
  }
}
