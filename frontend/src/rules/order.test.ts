import { expect, it } from 'vitest'
import { moved, withPlace, without, type Order } from './order'

const orders: Order[] = [
  { shift: 0, place_ids: ['a', 'b', 'c'] },
  { shift: 1, place_ids: ['d'] },
]

it('a stop moves past its neighbour, and not past the end', () => {
  expect(moved(orders, 'b', -1)[0]?.place_ids).toEqual(['b', 'a', 'c'])
  expect(moved(orders, 'b', 1)[0]?.place_ids).toEqual(['a', 'c', 'b'])
  expect(moved(orders, 'c', 1)).toEqual(orders)
})

it('a place is visited once, whichever route it is added to', () => {
  const added = withPlace(orders, 1, 'a')
  expect(added).toEqual([
    { shift: 0, place_ids: ['b', 'c'] },
    { shift: 1, place_ids: ['d', 'a'] },
  ])
})

it('a place can be added to a shift that had no stop', () => {
  expect(withPlace(orders, 2, 'x').at(-1)).toEqual({ shift: 2, place_ids: ['x'] })
})

it('a place that is taken out is on no route', () => {
  expect(without(orders, 'd').flatMap((o) => o.place_ids)).toEqual(['a', 'b', 'c'])
})
