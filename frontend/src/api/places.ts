import { patch, post } from '../outbox/action'
import { addressOf, get, type BodyOf, type QueryOf } from './client'
import { all } from './pages'
import type { ListedContainer, NewPlace, PlaceFields, PlaceKind } from './types'

const C = '/api/v1/communities/{community}'
const PLACE = `${C}/places/{place_id}` as const

export const offers = (
  community: string,
  query: { longitude: number; latitude: number; kind: PlaceKind },
) => get(`${C}/offers/`, { community }, query)

export const places = (community: string, query?: QueryOf<`${typeof C}/places/`, 'get'>) =>
  all(`${C}/places/`, { community }, query)
export const place = (community: string, place_id: string) =>
  get(`${PLACE}/`, { community, place_id })

export const registerPlace = (key: string, community: string, body: NewPlace) =>
  post(key, `${C}/places/`, { community }, body)
export const changePlace = (key: string, community: string, place_id: string, body: PlaceFields) =>
  patch(key, `${PLACE}/`, { community, place_id }, body)
export const admitPlace = (key: string, community: string, place_id: string) =>
  post(key, `${PLACE}/admit/`, { community, place_id })
export const refusePlace = (key: string, community: string, place_id: string, reason: string) =>
  post(key, `${PLACE}/refuse/`, { community, place_id }, { reason })

export const cardAddress = (community: string, place_id: string) =>
  addressOf(`${PLACE}/card/`, { community, place_id })
export const labelsAddress = (community: string, place_id: string) =>
  addressOf(`${PLACE}/labels/`, { community, place_id })

export async function containerByTag(
  community: string,
  tag: string,
): Promise<ListedContainer | null> {
  const page = await get(`${C}/containers/`, { community }, { tag })
  return page.results[0] ?? null
}

export const publicMap = (community: string) => get(`${C}/public-map/`, { community })

export const previewImport = (key: string, community: string, file: File) => {
  const form = new FormData()
  form.set('file', file)
  return post(key, `${C}/place-imports/`, { community }, form)
}
export const saveImport = (key: string, community: string, import_id: string) =>
  post(key, `${C}/place-imports/{import_id}/save/`, { community, import_id })

/** All containers in use that one may see, with what is expected in each. */
export const containers = (community: string) =>
  all(`${C}/containers/`, { community }, { retired: false })

export const makeAgreement = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/agreements/`, 'post'>,
) => post(key, `${C}/agreements/`, { community }, body)
export const moveAgreement = (
  key: string,
  community: string,
  agreement_id: string,
  rule_version_id: string,
) =>
  post(
    key,
    `${C}/agreements/{agreement_id}/move/`,
    { community, agreement_id },
    { rule_version_id },
  )
export const endAgreement = (
  key: string,
  community: string,
  agreement_id: string,
  body: BodyOf<`${typeof C}/agreements/{agreement_id}/end/`, 'post'>,
) => post(key, `${C}/agreements/{agreement_id}/end/`, { community, agreement_id }, body)
export const addContainers = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/containers/`, 'post'>,
) => post(key, `${C}/containers/`, { community }, body)
export const retireContainer = (key: string, community: string, container_id: string) =>
  post(key, `${C}/containers/{container_id}/retire/`, { community, container_id })
