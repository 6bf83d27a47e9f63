import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { Line, Place, Route, Stop } from '../api/types'
import type { Deed, Done } from './deeds'
import { placeWith, routeStatusWith, routeWith } from './kept'
import { collectedOf } from './route'

const NAMES = ['a', 'b', 'c']

function line(id: string): Line {
  return { id, outcome: 'open', reason: '', done_at: null, mass_g: null, method: null } as Line
}

function stop(id: string): Stop {
  const lines = [line(`${id}1`), line(`${id}2`)]
  return { id, status: 'planned', arrived_at: null, finished_at: null, reason: '', lines } as Stop
}

function planned(): Route {
  const route = { id: 'r', status: 'planned', started_at: null, finished_at: null }
  return { ...route, pickups: NAMES.map(stop) } as Route
}

function done(deed: Deed, minute = 0, state: Done['state'] = 'kept'): Done {
  return { deed, at: new Date(Date.UTC(2026, 4, 4, 9, minute)).toISOString(), state }
}

function weighed(line_id: string, gross_g: number, tare_g = 150): Deed {
  const reading = { method: 'weighed', gross_g, tare_g, scale_id: 's' } as const
  return { kind: 'collect', route_id: 'r', line_id, reading }
}

function takenOn(pickup_id: string): Deed {
  const said = { stop: stop(pickup_id), caution_texts: {} }
  return { kind: 'add_stop', route_id: 'r', pickup_id, ...said }
}

const lineId = fc.constantFrom(...NAMES.flatMap((name) => [`${name}1`, `${name}2`, 'elsewhere']))
const stopId = fc.constantFrom(...NAMES, 'elsewhere')
const routeId = fc.constantFrom('r', 'r', 'r', 'another')
const anyDeed: fc.Arbitrary<Deed> = fc.oneof(
  routeId.map((route_id): Deed => ({ kind: 'start_route', route_id })),
  routeId.map((route_id): Deed => ({ kind: 'finish_route', route_id })),
  stopId.map((pickup_id): Deed => ({ kind: 'arrive', route_id: 'r', pickup_id })),
  stopId.map((id): Deed => takenOn(id)),
  stopId.map((pickup_id): Deed => ({ kind: 'finish_stop', route_id: 'r', pickup_id })),
  stopId.map((pickup_id): Deed => ({
    kind: 'skip_stop',
    route_id: 'r',
    pickup_id,
    reason: 'shut',
  })),
  fc
    .tuple(lineId, fc.integer({ min: 151, max: 60_000 }))
    .map(([line_id, gross_g]) => weighed(line_id, gross_g)),
  lineId.map((line_id): Deed => ({ kind: 'skip_line', route_id: 'r', line_id, reason: 'empty' })),
  lineId.map((line_id): Deed => ({
    kind: 'turn_away',
    route_id: 'r',
    line_id,
    look: {},
    note: 'wet',
  })),
)
const anyDay = fc
  .array(fc.tuple(anyDeed, fc.constantFrom('kept', 'arrived', 'needs_you')), { maxLength: 25 })
  .map((deeds) => deeds.map(([deed, state], minute) => done(deed, minute, state as Done['state'])))

/** A day as it can happen: without what would have changed nothing at the time. */
const possibleDay = anyDay.map((day) => {
  const { took } = day
    .filter(({ state }) => state !== 'needs_you')
    .reduce(
      ({ route, took }, next) => {
        const after = routeWith(route, [next])
        const isChange = JSON.stringify(after) !== JSON.stringify(route)
        return isChange ? { route: after, took: [...took, next] } : { route, took }
      },
      { route: planned(), took: [] as Done[] },
    )
  return took
})

describe('a route with what was done on it', () => {
  it('shows a whole route driven without a signal', () => {
    const day: Deed[] = [
      { kind: 'start_route', route_id: 'r' },
      { kind: 'arrive', route_id: 'r', pickup_id: 'a' },
      weighed('a1', 7_840),
      { kind: 'skip_line', route_id: 'r', line_id: 'a2', reason: 'empty' },
      { kind: 'finish_stop', route_id: 'r', pickup_id: 'a' },
      { kind: 'skip_stop', route_id: 'r', pickup_id: 'b', reason: 'shut' },
      { kind: 'arrive', route_id: 'r', pickup_id: 'c' },
      { kind: 'turn_away', route_id: 'r', line_id: 'c1', look: {}, note: 'wet' },
      weighed('c2', 1_000),
      { kind: 'finish_stop', route_id: 'r', pickup_id: 'c' },
      { kind: 'finish_route', route_id: 'r' },
    ]
    const shown = routeWith(
      planned(),
      day.map((deed, minute) => done(deed, minute)),
    )
    expect(shown.status).toBe('done')
    expect(shown.pickups.map(({ status }) => status)).toEqual(['done', 'missed', 'done'])
    expect(shown.pickups.flatMap((s) => s.lines.map((l) => l.outcome))).toEqual([
      'collected',
      'skipped',
      'skipped',
      'skipped',
      'turned_away',
      'collected',
    ])
    expect(collectedOf(shown.pickups)).toBe(7_690 + 850)
    expect(shown.pickups[0]?.arrived_at).toBe('2026-05-04T09:01:00.000Z')
  })

  it('shows a stop that was taken on, after the others, with what was done there', () => {
    const deeds = [
      takenOn('d'),
      { kind: 'arrive', route_id: 'r', pickup_id: 'd' } as const,
      weighed('d1', 1_000),
    ]
    const shown = routeWith(
      { ...planned(), status: 'under_way' },
      deeds.map((deed, minute) => done(deed, minute)),
    )
    expect(shown.pickups.map(({ id }) => id)).toEqual([...NAMES, 'd'])
    expect(shown.pickups[3]).toMatchObject({ status: 'under_way', lines: [{ mass_g: 850 }, {}] })
  })

  it('does not show what was refused as done', () => {
    const shown = routeWith(planned(), [done(weighed('a1', 7_840), 0, 'needs_you')])
    expect(shown).toEqual(planned())
  })

  it('does not make up the mass of a volume', () => {
    const reading = { method: 'volume', percent: 75 } as const
    const shown = routeWith(planned(), [
      done({ kind: 'collect', route_id: 'r', line_id: 'a1', reading }),
    ])
    expect(shown.pickups[0]?.lines[0]).toMatchObject({ outcome: 'collected', mass_g: null })
  })

  it('stays as it is when the same things are put over it once more', () => {
    fc.assert(
      fc.property(possibleDay, (day) => {
        const once = routeWith(planned(), day)
        expect(routeWith(once, day)).toEqual(once)
      }),
    )
  })

  it('is the same however many of them the server has seen already', () => {
    fc.assert(
      fc.property(possibleDay, fc.nat(25), (day, arrived) => {
        const server = routeWith(planned(), day.slice(0, arrived))
        const whole = routeWith(planned(), day)
        expect(routeWith(server, day.slice(arrived))).toEqual(whole)
        expect(routeWith(server, day)).toEqual(whole)
      }),
    )
  })

  it('has of each container the mass that was typed first, to the gram', () => {
    fc.assert(
      fc.property(anyDay, (day) => {
        const shown = routeWith(planned(), day)
        for (const { id, outcome, mass_g } of shown.pickups.flatMap((s) => s.lines)) {
          const typed = day.flatMap(({ deed, state }) =>
            deed.kind === 'collect' && deed.line_id === id && state !== 'needs_you'
              ? [(deed.reading.gross_g ?? 0) - (deed.reading.tare_g ?? 0)]
              : [],
          )
          if (outcome === 'collected') expect(mass_g).toBe(typed[0])
          else expect(mass_g).toBeNull()
        }
      }),
    )
  })

  it('leaves what it was made from as it was', () => {
    fc.assert(
      fc.property(anyDay, (day) => {
        const before = planned()
        routeWith(before, day)
        expect(before).toEqual(planned())
      }),
    )
  })

  it('has the status in a list that it has on its own', () => {
    fc.assert(
      fc.property(anyDay, (day) => {
        expect(routeStatusWith(planned(), day)).toBe(routeWith(planned(), day).status)
      }),
    )
  })
})

describe('a place with what its contact said', () => {
  const container = { id: 'c', last_report: null, expected: { percent: 10 } }
  const other = { ...container, id: 'd' }
  const place = {
    id: 'p',
    next_visit: null,
    agreements: [{ containers: [container, other] }],
  } as unknown as Place
  const full: Deed = { kind: 'report_fill', place_id: 'p', container_id: 'c', percent: 100 }

  it('shows how full they said it is, of that container only', () => {
    const [said, unsaid] = placeWith(place, [done(full)]).agreements[0]?.containers ?? []
    expect(said).toMatchObject({ last_report: { percent: 100 }, expected: null })
    expect(unsaid).toEqual(other)
  })

  it('shows a later word of somebody else rather than an earlier one of theirs', () => {
    const later = { percent: 5, at: '2026-05-04T12:00:00Z' }
    const read = { ...place, agreements: [{ containers: [{ ...container, last_report: later }] }] }
    expect(placeWith(read as Place, [done(full)])).toEqual(read)
  })

  it('shows that they asked, unless a visit is known by now', () => {
    const ask = done({ kind: 'ask_pickup', place_id: 'p', note: '' })
    expect(placeWith(place, [ask]).next_visit).toMatchObject({ status: 'asked', day: null })
    const next_visit = {
      pickup_id: 'v',
      day: '2026-05-05',
      planned_arrival: null,
      status: 'planned',
    }
    const read = { ...place, next_visit } as Place
    expect(placeWith(read, [ask])).toEqual(read)
  })
})
