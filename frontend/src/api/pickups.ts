import type { FeatureCollection } from 'geojson'
import { patch, post } from '../outbox/action'
import { addressOf, get, type BodyOf, type QueryOf } from './client'
import { all } from './pages'

const C = '/api/v1/communities/{community}'
const PROPOSAL = `${C}/proposals/{proposal_id}` as const
const QUESTION = `${C}/questions/{question_id}` as const
const ROUTE = `${C}/routes/{route_id}` as const

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

export const travel = (community: string) => get(`${C}/travel/`, { community })
export const changeTravel = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/travel/`, 'patch'>,
) => patch(key, `${C}/travel/`, { community }, body)

export const askForProposal = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/proposals/`, 'post'>,
) => post(key, `${C}/proposals/`, { community }, body)
export const proposal = (community: string, proposal_id: string) =>
  get(`${PROPOSAL}/`, { community, proposal_id })
export const proposalMap = async (community: string, proposal_id: string) =>
  (await get(`${PROPOSAL}/map/`, { community, proposal_id })) as unknown as FeatureCollection
export const changeProposal = (
  key: string,
  community: string,
  proposal_id: string,
  body: BodyOf<`${typeof PROPOSAL}/change/`, 'post'>,
) => post(key, `${PROPOSAL}/change/`, { community, proposal_id }, body)
export const moveStop = (
  key: string,
  community: string,
  proposal_id: string,
  body: BodyOf<`${typeof PROPOSAL}/move/`, 'post'>,
) => post(key, `${PROPOSAL}/move/`, { community, proposal_id }, body)
export const chooseAlternative = (
  key: string,
  community: string,
  proposal_id: string,
  body: BodyOf<`${typeof PROPOSAL}/choose/`, 'post'>,
) => post(key, `${PROPOSAL}/choose/`, { community, proposal_id }, body)
export const stopSearch = (key: string, community: string, proposal_id: string) =>
  post(key, `${PROPOSAL}/stop/`, { community, proposal_id })
export const whatIf = (
  key: string,
  community: string,
  proposal_id: string,
  body: BodyOf<`${typeof PROPOSAL}/what-if/`, 'post'>,
) => post(key, `${PROPOSAL}/what-if/`, { community, proposal_id }, body)
export const question = (community: string, question_id: string) =>
  get(`${QUESTION}/`, { community, question_id })
export const stopQuestion = (key: string, community: string, question_id: string) =>
  post(key, `${QUESTION}/stop/`, { community, question_id })
export const planWhatIf = (
  key: string,
  community: string,
  proposal_id: string,
  body: BodyOf<`${typeof PROPOSAL}/what-if/plan/`, 'post'>,
) => post(key, `${PROPOSAL}/what-if/plan/`, { community, proposal_id }, body)
export const bookProposal = (key: string, community: string, proposal_id: string) =>
  post(key, `${PROPOSAL}/book/`, { community, proposal_id })

export const routes = (community: string, query?: QueryOf<`${typeof C}/routes/`, 'get'>) =>
  all(`${C}/routes/`, { community }, query)
export const route = (community: string, route_id: string) =>
  get(`${ROUTE}/`, { community, route_id })
export const routeAsks = (community: string, route_id: string) =>
  get(`${ROUTE}/asks/`, { community, route_id })
export const gpxAddress = (community: string, route_id: string) =>
  addressOf(`${ROUTE}/gpx/`, { community, route_id })
export const assignDriver = (key: string, community: string, route_id: string, driver_id: string) =>
  post(key, `${ROUTE}/assign/`, { community, route_id }, { driver_id })
export const replanDay = (
  key: string,
  community: string,
  route_id: string,
  body: BodyOf<`${typeof ROUTE}/replan/`, 'post'>,
) => post(key, `${ROUTE}/replan/`, { community, route_id }, body)
export const callOffRoute = (key: string, community: string, route_id: string, reason: string) =>
  post(key, `${ROUTE}/call-off/`, { community, route_id }, { reason })

export const pickups = (community: string, query?: QueryOf<`${typeof C}/pickups/`, 'get'>) =>
  all(`${C}/pickups/`, { community }, query)
