import { describe, expect, it } from 'vitest'
import { collectedOf, estimatedOf, lookOf, nextStop, wayOf } from './route'

describe('the next stop', () => {
  it('is the first that is not settled', () => {
    const stops = [{ status: 'done' }, { status: 'missed' }, { status: 'planned' }] as const
    expect(nextStop(stops)).toBe(stops[2])
  })
  it('is the one under way, also when an earlier one was left for later', () => {
    const stops = [{ status: 'planned' }, { status: 'under_way' }] as const
    expect(nextStop(stops)).toBe(stops[1])
  })
  it('is none once all is settled', () => expect(nextStop([{ status: 'done' }])).toBeNull())
})

it('a way is drawn with its latitude first, as maps take it', () => {
  expect(
    wayOf({
      way: [
        [-31.4, 44.6],
        [-31.3, 44.7],
      ],
    }),
  ).toEqual([
    [44.6, -31.4],
    [44.7, -31.3],
  ])
})

it('a route that was taken along before lines were told has none', () => {
  expect(wayOf({})).toEqual([])
})

it('what was collected is the sum of what was weighed or estimated', () => {
  const stops = [{ lines: [{ mass_g: 1200 }, { mass_g: null }] }, { lines: [{ mass_g: 800 }] }]
  expect(collectedOf(stops)).toBe(2000)
})

it('an estimate is told apart from what was weighed', () => {
  const lines = [
    { mass_g: 1200, method: 'weighed' },
    { mass_g: 900, method: 'volume' },
    { mass_g: null, method: null },
  ] as const
  expect(estimatedOf([{ lines }])).toBe(900)
})

it('a look names what was found and what was not met', () => {
  expect(lookOf({ found: ['metal'], unmet: ['dry'] })).toEqual({
    found: [{ what: 'metal' }],
    unmet: ['dry'],
  })
})
