import { patch, post } from '../outbox/action'
import { readOrRecall } from '../outbox/seen'
import { get, type BodyOf, type QueryOf } from './client'
import { all } from './pages'
import type { Item, Resin, Rules } from './types'

const C = '/api/v1/communities/{community}'

export interface Catalogue {
  resins: Map<string, Resin>
  items: Map<string, Item>
}

let catalogueRead: Promise<Catalogue> | null = null

/** The resins and items that are known here, read once. */
export function catalogue(): Promise<Catalogue> {
  catalogueRead ??= readCatalogue().catch((error: unknown) => {
    catalogueRead = null
    throw error
  })
  return catalogueRead
}

async function readCatalogue(): Promise<Catalogue> {
  const [resins, items] = await Promise.all([
    readOrRecall('resins', () => get('/api/v1/resins/', {})),
    readOrRecall('items', () => get('/api/v1/items/', {})),
  ])
  return {
    resins: new Map(resins.map((resin) => [resin.symbol, resin])),
    items: new Map(items.map((item) => [item.slug, item])),
  }
}

/** The rules of a version; the server always sends all parts of them. */
export function rulesOf(version: { rules: unknown }): Rules {
  return version.rules as Rules
}

export const streams = (community: string, query?: QueryOf<`${typeof C}/streams/`, 'get'>) =>
  all(`${C}/streams/`, { community }, query)
export const stream = (community: string, stream_id: string) =>
  get(`${C}/streams/{stream_id}/`, { community, stream_id })
export const createStream = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/streams/`, 'post'>,
) => post(key, `${C}/streams/`, { community }, body)
export const changeStream = (
  key: string,
  community: string,
  stream_id: string,
  body: BodyOf<`${typeof C}/streams/{stream_id}/`, 'patch'>,
) => patch(key, `${C}/streams/{stream_id}/`, { community, stream_id }, body)
export const publishRules = (
  key: string,
  community: string,
  stream_id: string,
  body: BodyOf<`${typeof C}/streams/{stream_id}/rule-versions/`, 'post'>,
) => post(key, `${C}/streams/{stream_id}/rule-versions/`, { community, stream_id }, body)
