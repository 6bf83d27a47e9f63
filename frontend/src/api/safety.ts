/** Shared devices of places, machines that are told, and the trail of who saw and changed what. */
import { newKey, post, put } from '../outbox/action'
import { contentOf, get, reach, type BodyOf, type QueryOf, type ReplyOf } from './client'
import { all } from './pages'

const C = '/api/v1/communities/{community}'

export const counters = (community: string, place: string) =>
  all(`${C}/counters/`, { community }, { place })
export const makeCounter = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/counters/`, 'post'>,
) => post(key, `${C}/counters/`, { community }, body)
export const revokeCounter = (key: string, community: string, counter_id: string) =>
  post(key, `${C}/counters/{counter_id}/revoke/`, { community, counter_id })

export type CounterScreen = ReplyOf<`${typeof C}/counter/`, 'get'>

/** A shared device is nobody: it shows its link's secret, and no session goes with it. */
function shown(token: string): RequestInit {
  return {
    credentials: 'omit',
    headers: { Accept: 'application/json', Authorization: `Counter ${token}` },
  }
}

export async function counterScreen(community: string, token: string): Promise<CounterScreen> {
  const response = await reach(`/api/v1/communities/${community}/counter/`, shown(token))
  return (await contentOf(response)) as CounterScreen
}

export async function reportAtCounter(
  community: string,
  token: string,
  body: { container_id: string; percent: number },
  key = newKey(),
): Promise<void> {
  const { headers, ...rest } = shown(token)
  await reach(`/api/v1/communities/${community}/counter/fill-reports/`, {
    ...rest,
    method: 'POST',
    headers: { ...headers, 'Content-Type': 'application/json', 'Idempotency-Key': key },
    body: JSON.stringify(body),
  })
}

export const webhooks = (community: string) => all(`${C}/webhooks/`, { community })
export const makeWebhook = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/webhooks/`, 'post'>,
) => post(key, `${C}/webhooks/`, { community }, body)
export const stopWebhook = (key: string, community: string, webhook_id: string) =>
  post(key, `${C}/webhooks/{webhook_id}/stop/`, { community, webhook_id })
export const tryWebhook = (key: string, community: string, webhook_id: string) =>
  post(key, `${C}/webhooks/{webhook_id}/try/`, { community, webhook_id })
export const deliveries = (
  community: string,
  webhook_id: string,
  query: QueryOf<`${typeof C}/webhooks/{webhook_id}/deliveries/`, 'get'>,
) => get(`${C}/webhooks/{webhook_id}/deliveries/`, { community, webhook_id }, query)

export type TrailQuery = QueryOf<`${typeof C}/trail/`, 'get'>
export const trail = (community: string, query: TrailQuery) =>
  get(`${C}/trail/`, { community }, query)
export type TrailEntry = ReplyOf<`${typeof C}/trail/`, 'get'>['results'][number]

export const settings = (community: string) => get(`${C}/settings/`, { community })
export const changeSettings = (
  key: string,
  community: string,
  body: BodyOf<`${typeof C}/settings/`, 'put'>,
) => put(key, `${C}/settings/`, { community }, body)
