import { describe, expect, it } from 'vitest'
import { knownStops, newsSince } from './routeNews'

type Stop = Parameters<typeof knownStops>[0][number]

function stop(id: string, hour: string, status: Stop['status'] = 'planned'): Stop {
  return { id, status, planned_arrival: `2026-03-02T${hour}Z`, place: { name: `Café ${id}` } }
}

const shown = [stop('a', '08:00'), stop('b', '08:30')]
const known = knownStops(shown)
const whats = (stops: Stop[], own?: Set<string>) =>
  newsSince(known, stops, own).map(({ id, what }) => `${id} ${what}`)

describe('what has changed on a route', () => {
  it('is nothing where it is as it was shown', () => expect(whats(shown)).toEqual([]))

  it('is a visit that was called off or is no longer there', () => {
    expect(whats([stop('a', '08:00', 'called_off')])).toEqual(['a gone', 'b gone'])
  })

  it('is a visit that came in, unless the driver took it on', () => {
    const more = [...shown, stop('c', '09:00')]
    expect(whats(more)).toEqual(['c new'])
    expect(whats(more, new Set(['c']))).toEqual([])
  })

  it('is an hour that shifts by more than thirty minutes', () => {
    expect(whats([stop('a', '08:30'), stop('b', '09:00:01')])).toEqual(['b moved'])
  })

  it('is not what the driver did', () => {
    expect(whats([stop('a', '08:00', 'done'), stop('b', '09:30', 'missed')])).toEqual([])
  })

  it('is told once: what was called off already is not gone again', () => {
    const after = [stop('a', '08:00', 'called_off'), stop('b', '08:30')]
    expect(newsSince(knownStops(after), after)).toEqual([])
  })
})
