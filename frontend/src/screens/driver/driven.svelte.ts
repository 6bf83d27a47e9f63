/** A route as its driver left it, also where there is no signal. */
import { scales as readScales } from '../../api/lots'
import { catalogue } from '../../api/materials'
import { route as readRoute, routeAsks } from '../../api/pickups'
import { resource } from '../../api/resource.svelte'
import { here } from '../../api/session.svelte'
import { seenAs } from '../../outbox/names'
import { outbox } from '../../outbox/outbox.svelte'
import { readOrRecall } from '../../outbox/seen'
import { routeWith } from '../../rules/kept'
import { readerTakenAlong } from '../../scan/reader'

/** Read a route, and show what was done on it over what the server last said. */
export function drivenRoute(idOf: () => string) {
  const read = resource(
    () => {
      void outbox.arrivals
      return readRoute(here.slug, idOf())
    },
    () => seenAs.route(here.slug, idOf()),
  )
  const kept = $derived(outbox.actions.filter(({ lane }) => lane === `route ${idOf()}`))
  const route = $derived(read.data && routeWith(read.data, kept))
  return {
    read,
    /** The actions of this route that the device still knows, in their order. */
    get kept() {
      return kept
    },
    get route() {
      return route
    },
  }
}

/** The places that ask to be visited as well, also where there is no signal. */
export function asksFor(idOf: () => string) {
  return resource(
    () => {
      void outbox.arrivals
      return routeAsks(here.slug, idOf())
    },
    () => seenAs.asks(here.slug, idOf()),
  )
}

/** Read these routes, and all that driving them will need, while there is a signal for it. */
export async function takeAlong(routeIds: readonly string[]): Promise<void> {
  const routes = routeIds.map((id) =>
    readOrRecall(seenAs.route(here.slug, id), () => readRoute(here.slug, id)),
  )
  const asks = routeIds.map((id) =>
    readOrRecall(seenAs.asks(here.slug, id), () => routeAsks(here.slug, id)),
  )
  const scales = readOrRecall(seenAs.scales(here.slug), () => readScales(here.slug))
  // What cannot be read now is asked for again where it is needed.
  await Promise.allSettled([...routes, ...asks, scales, catalogue(), readerTakenAlong()])
}
