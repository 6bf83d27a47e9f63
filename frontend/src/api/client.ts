/** Reads. Writes go through the outbox, so that each happens once. */
import { language } from '../messages'
import { counted } from './calm'
import { noConnection, problemOf } from './problem'
import type { paths } from './schema'

type Method = 'get' | 'post' | 'put' | 'patch' | 'delete'
type Content<T> = T extends { content: { 'application/json': infer Body } } ? Body : undefined
type Parameters<P extends keyof paths, M extends Method> = paths[P][M] extends {
  parameters: infer Found
}
  ? Found
  : never

/** The paths that know a method. */
export type PathWith<M extends Method> = {
  [P in keyof paths]: paths[P][M] extends { responses: unknown } ? P : never
}[keyof paths]

/** What fills the `{names}` of a path. */
export type PathValues<P extends keyof paths, M extends Method> =
  Parameters<P, M> extends { path: infer Values } ? Values : Record<string, never>

export type QueryOf<P extends keyof paths, M extends Method> =
  Parameters<P, M> extends { query?: infer Query } ? Exclude<Query, undefined> : never

export type BodyOf<P extends keyof paths, M extends Method> = paths[P][M] extends {
  requestBody?: infer Body
}
  ? Content<Exclude<Body, undefined>>
  : undefined

/** What comes back when it went well. */
export type ReplyOf<P extends keyof paths, M extends Method> = paths[P][M] extends {
  responses: infer Replies
}
  ? Replies extends { 200: infer Reply }
    ? Content<Reply>
    : Replies extends { 201: infer Reply }
      ? Content<Reply>
      : Replies extends { 202: infer Reply }
        ? Content<Reply>
        : undefined
  : never

type Value = string | number | boolean | null | undefined

/** Fill a path's `{names}` and add the query: a list as often as it is long, nothing for empty. */
export function addressOf(path: string, values: object = {}, query: object = {}): string {
  const known = values as Record<string, Value>
  const filled = path.replace(/\{(\w+)\}/g, (_, name: string) => {
    const value = known[name]
    if (value === undefined || value === null) throw new Error(`${path} needs ${name}`)
    return encodeURIComponent(value)
  })
  const search = new URLSearchParams()
  for (const [name, given] of Object.entries(query as Record<string, Value | Value[]>)) {
    for (const value of Array.isArray(given) ? given : [given]) {
      if (value !== undefined && value !== null && value !== '') search.append(name, String(value))
    }
  }
  const asked = search.toString()
  return asked ? `${filled}?${asked}` : filled
}

export async function get<P extends PathWith<'get'>>(
  path: P,
  values: PathValues<P, 'get'>,
  query?: QueryOf<P, 'get'>,
): Promise<ReplyOf<P, 'get'>> {
  return (await getAddress(addressOf(path, values as object, query as object))) as ReplyOf<P, 'get'>
}

/** Read an address that the server gave, such as that of a next page. */
export async function getAddress(address: string, signal?: AbortSignal): Promise<unknown> {
  const headers = { Accept: 'application/json' }
  const response = await reach(address, { headers, ...(signal ? { signal } : {}) })
  return contentOf(response)
}

/** Read a reply to its end; one that breaks off is as good as none. */
export async function contentOf(response: Response): Promise<unknown> {
  try {
    return await response.json()
  } catch {
    throw noConnection()
  }
}

/** Fetch with the session; raises Problem for a refusal or a lost connection. */
export async function reach(address: string, init: RequestInit = {}): Promise<Response> {
  let response: Response
  try {
    const headers = new Headers(init.headers)
    headers.set('Accept-Language', language())
    response = await counted(fetch(address, { credentials: 'same-origin', ...init, headers }))
  } catch {
    throw noConnection()
  }
  if (!response.ok) throw await problemOf(response)
  return response
}

/** Django wants its cookie back as a header, to know that the request comes from this app. */
export function csrfHeader(): Record<string, string> {
  const token = /(?:^|; )csrftoken=([^;]+)/.exec(document.cookie)?.[1]
  return token ? { 'X-CSRFToken': token } : {}
}
