/** The stops of a plan put into another order by hand. */
import type { Plan } from '../api/types'

export interface Order {
  shift: number
  place_ids: string[]
}

export function ordersOf(plan: Plan): Order[] {
  return plan.routes.map((route) => ({
    shift: route.shift,
    place_ids: route.stops.map((stop) => stop.place.id),
  }))
}

/** Move a stop one earlier (-1) or later (1); at the end of its route it stays. */
export function moved(orders: readonly Order[], placeId: string, by: -1 | 1): Order[] {
  return orders.map((order) => {
    const from = order.place_ids.indexOf(placeId)
    const to = from + by
    if (from < 0 || to < 0 || to >= order.place_ids.length) return order
    const place_ids = order.place_ids.filter((id) => id !== placeId)
    place_ids.splice(to, 0, placeId)
    return { ...order, place_ids }
  })
}
