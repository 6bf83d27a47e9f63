import { post, put } from '../outbox/action'
import { addressOf, get, type BodyOf, type QueryOf } from './client'
import { all } from './pages'

const C = '/api/v1/communities/{community}'
const LOT = `${C}/lots/{lot_id}` as const

export const feedback = (community: string, place_id: string) =>
  get(`${C}/places/{place_id}/feedback/`, { community, place_id })

export const scales = (community: string) => all(`${C}/scales/`, { community })
export const addScale = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/scales/`, 'post'>,
) => post(key, `${C}/scales/`, { community }, body)

export const lots = (community: string, query?: QueryOf<`${typeof C}/lots/`, 'get'>) =>
  get(`${C}/lots/`, { community }, query)
export const lot = (community: string, lot_id: string) => get(`${LOT}/`, { community, lot_id })
export const weighAgain = (
  key: string,
  community: string,
  lot_id: string,
  body: BodyOf<`${typeof LOT}/weigh/`, 'post'>,
) => post(key, `${LOT}/weigh/`, { community, lot_id }, body)
export const inspect = (
  key: string,
  community: string,
  lot_id: string,
  body: BodyOf<`${typeof LOT}/inspect/`, 'post'>,
) => post(key, `${LOT}/inspect/`, { community, lot_id }, body)
export const splitLot = (
  key: string,
  community: string,
  lot_id: string,
  body: BodyOf<`${typeof LOT}/split/`, 'post'>,
) => post(key, `${LOT}/split/`, { community, lot_id }, body)
export const mergeLots = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/lot-merges/`, 'post'>,
) => post(key, `${C}/lot-merges/`, { community }, body)
export const loseOfLot = (
  key: string,
  community: string,
  lot_id: string,
  body: BodyOf<`${typeof LOT}/lose/`, 'post'>,
) => post(key, `${LOT}/lose/`, { community, lot_id }, body)
export const passOnLot = (
  key: string,
  community: string,
  lot_id: string,
  body: BodyOf<`${typeof LOT}/pass-on/`, 'post'>,
) => post(key, `${LOT}/pass-on/`, { community, lot_id }, body)
export const reverseMovement = (
  key: string,
  community: string,
  movement_id: string,
  body: BodyOf<`${typeof C}/movements/{movement_id}/reverse/`, 'post'>,
) => post(key, `${C}/movements/{movement_id}/reverse/`, { community, movement_id }, body)

export const movements = (community: string, query?: QueryOf<`${typeof C}/movements/`, 'get'>) =>
  get(`${C}/movements/`, { community }, query)
export const balances = (community: string) => get(`${C}/balances/`, { community })

export const proofFile = (community: string, movement_id: string) =>
  addressOf(`${C}/movements/{movement_id}/proof/`, { community, movement_id })
export const seals = (community: string, query?: QueryOf<`${typeof C}/seals/`, 'get'>) =>
  get(`${C}/seals/`, { community }, query)
export const closePeriod = (key: string, community: string, last_day: string) =>
  post(key, `${C}/seals/`, { community }, { last_day })

const HISTORY = `${C}/history-imports/{import_id}` as const
export type HistoryColumns = BodyOf<`${typeof HISTORY}/`, 'put'>

export const histories = (community: string) => all(`${C}/history-imports/`, { community })
export const history = (community: string, import_id: string) =>
  get(`${HISTORY}/`, { community, import_id })
export const beginHistory = (key: string, community: string, file: File) => {
  const form = new FormData()
  form.set('file', file)
  return post(key, `${C}/history-imports/`, { community }, form)
}
export const mapHistory = (
  key: string,
  community: string,
  import_id: string,
  body: HistoryColumns,
) => put(key, `${HISTORY}/`, { community, import_id }, body)
export const saveHistory = (key: string, community: string, import_id: string) =>
  post(key, `${HISTORY}/save/`, { community, import_id })
export const undoHistory = (key: string, community: string, import_id: string, note: string) =>
  post(key, `${HISTORY}/undo/`, { community, import_id }, { note })
