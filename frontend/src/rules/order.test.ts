import { expect, it } from 'vitest'
import { moved, type Order } from './order'

const orders: Order[] = [
  { shift: 0, place_ids: ['a', 'b', 'c'] },
  { shift: 1, place_ids: ['d'] },
]

it('a stop moves past its neighbour, and not past the end', () => {
  expect(moved(orders, 'b', -1)[0]?.place_ids).toEqual(['b', 'a', 'c'])
  expect(moved(orders, 'b', 1)[0]?.place_ids).toEqual(['a', 'c', 'b'])
  expect(moved(orders, 'c', 1)).toEqual(orders)
})
