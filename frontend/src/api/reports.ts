import { put } from '../outbox/action'
import { addressOf, get, type BodyOf, type QueryOf } from './client'

const DIVERTED = '/api/v1/communities/{community}/reports/diverted' as const

export type Dimension = 'month' | 'stream' | 'kind' | 'district' | 'place'
export type DivertedQuery = Omit<QueryOf<`${typeof DIVERTED}/`, 'get'>, 'by'> & {
  by: Dimension[]
}

/** The dimensions go as one value, separated by commas. */
function asked(query: DivertedQuery) {
  return { ...query, by: query.by.join(',') as unknown as [] }
}

export const diverted = (community: string, query: DivertedQuery) =>
  get(`${DIVERTED}/`, { community }, asked(query))
export const divertedFile = (community: string, kind: 'csv' | 'xlsx', query: DivertedQuery) =>
  addressOf(`${DIVERTED}.${kind}`, { community }, asked(query))

const BALANCE = '/api/v1/communities/{community}/reports/balance' as const
export type BalanceQuery = QueryOf<`${typeof BALANCE}/`, 'get'>

export const balance = (community: string, query: BalanceQuery) =>
  get(`${BALANCE}/`, { community }, query)
export const balanceFile = (community: string, kind: 'csv' | 'xlsx', query: BalanceQuery) =>
  addressOf(`${BALANCE}.${kind}`, { community }, query)
export const paper = (community: string, days: { from?: string; to?: string }) =>
  addressOf(`${DIVERTED}.pdf`, { community }, days)
/** The lots and transformations of these days, as other systems of traceability read them. */
export const events = (community: string, days: { from?: string; to?: string }) =>
  addressOf('/api/v1/communities/{community}/reports/events.jsonld', { community }, days)
const OPEN_DATA = '/api/v1/communities/{community}/reports/open-data.zip' as const
export type Licence = QueryOf<typeof OPEN_DATA, 'get'>['licence']
/** What may be published of a year, as one file for a portal. */
export const openData = (community: string, year: number, licence: Licence) =>
  addressOf(OPEN_DATA, { community }, { year, licence })

const JOINED = '/api/v1/communities/{community}/reports/joined' as const
export const joined = (community: string, query: QueryOf<`${typeof JOINED}/`, 'get'>) =>
  get(`${JOINED}/`, { community }, query)
export const othersPlaces = (community: string) => get(`${JOINED}/places/`, { community })
export const markOthersPlace = (
  key: string,
  community: string,
  place: string,
  body: BodyOf<`${typeof JOINED}/places/{place}/`, 'put'>,
) => put(key, `${JOINED}/places/{place}/`, { community, place }, body)

const SCENARIO = '/api/v1/communities/{community}/reports/scenario' as const
export const scenario = (community: string, days: { from?: string; to?: string }) =>
  get(`${SCENARIO}/`, { community }, days)
export const stateFactor = (
  key: string,
  community: string,
  code: string,
  body: BodyOf<`${typeof SCENARIO}/factors/{code}/`, 'put'>,
) => put(key, `${SCENARIO}/factors/{code}/`, { community, code }, body)
export const quality = (community: string, days: { from?: string; to?: string }) =>
  get('/api/v1/communities/{community}/reports/quality/', { community }, days)
