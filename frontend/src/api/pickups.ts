import { patch, post } from '../outbox/action'
import { addressOf, get, type BodyOf, type QueryOf } from './client'
import { all } from './pages'

const C = '/api/v1/communities/{community}'
const PROPOSAL = `${C}/proposals/{proposal_id}` as const
const ROUTE = `${C}/routes/{route_id}` as const
const PICKUP = `${C}/pickups/{pickup_id}` as const
const LINE = `${C}/pickup-lines/{line_id}` as const

export const vehicles = (community: string) =>
  all(`${C}/vehicles/`, { community }, { retired: false })
export const addVehicle = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/vehicles/`, 'post'>,
) => post(key, `${C}/vehicles/`, { community }, body)
export const changeVehicle = (
  key: string,
  community: string,
  vehicle_id: string,
  body: BodyOf<`${typeof C}/vehicles/{vehicle_id}/`, 'patch'>,
) => patch(key, `${C}/vehicles/{vehicle_id}/`, { community, vehicle_id }, body)

export const askForProposal = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/proposals/`, 'post'>,
) => post(key, `${C}/proposals/`, { community }, body)
export const proposal = (community: string, proposal_id: string) =>
  get(`${PROPOSAL}/`, { community, proposal_id })
export const changeProposal = (
  key: string,
  community: string,
  proposal_id: string,
  body: BodyOf<`${typeof PROPOSAL}/change/`, 'post'>,
) => post(key, `${PROPOSAL}/change/`, { community, proposal_id }, body)
export const bookProposal = (key: string, community: string, proposal_id: string) =>
  post(key, `${PROPOSAL}/book/`, { community, proposal_id })

export const routes = (community: string, query?: QueryOf<`${typeof C}/routes/`, 'get'>) =>
  all(`${C}/routes/`, { community }, query)
export const route = (community: string, route_id: string) =>
  get(`${ROUTE}/`, { community, route_id })
export const gpxAddress = (community: string, route_id: string) =>
  addressOf(`${ROUTE}/gpx/`, { community, route_id })
export const assignDriver = (key: string, community: string, route_id: string, driver_id: string) =>
  post(key, `${ROUTE}/assign/`, { community, route_id }, { driver_id })
export const startRoute = (key: string, community: string, route_id: string) =>
  post(key, `${ROUTE}/start/`, { community, route_id }, {})
export const finishRoute = (key: string, community: string, route_id: string) =>
  post(key, `${ROUTE}/finish/`, { community, route_id }, {})
export const callOffRoute = (key: string, community: string, route_id: string, reason: string) =>
  post(key, `${ROUTE}/call-off/`, { community, route_id }, { reason })

export const pickups = (community: string, query?: QueryOf<`${typeof C}/pickups/`, 'get'>) =>
  all(`${C}/pickups/`, { community }, query)
export const askPickup = (key: string, community: string, place_id: string, note: string) =>
  post(key, `${C}/places/{place_id}/ask-pickup/`, { community, place_id }, { note })
export const arrive = (key: string, community: string, pickup_id: string) =>
  post(key, `${PICKUP}/arrive/`, { community, pickup_id }, {})
export const skipPickup = (key: string, community: string, pickup_id: string, reason: string) =>
  post(key, `${PICKUP}/skip/`, { community, pickup_id }, { reason })
export const finishPickup = (key: string, community: string, pickup_id: string) =>
  post(key, `${PICKUP}/finish/`, { community, pickup_id }, {})

export type Collection = BodyOf<`${typeof LINE}/collect/`, 'post'>
export const collectLine = (key: string, community: string, line_id: string, body: Collection) =>
  post(key, `${LINE}/collect/`, { community, line_id }, body)
export const turnAwayLine = (
  key: string,
  community: string,
  line_id: string,
  body: BodyOf<`${typeof LINE}/turn-away/`, 'post'>,
) => post(key, `${LINE}/turn-away/`, { community, line_id }, body)
export const skipLine = (key: string, community: string, line_id: string, reason: string) =>
  post(key, `${LINE}/skip/`, { community, line_id }, { reason })
