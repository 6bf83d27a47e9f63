/** Reads. Writes go through the outbox, so that each happens once. */
import { noConnection, problemOf } from './problem'

export type PathValues = Record<string, string | number>
export type Query = Record<string, string | number | boolean | undefined | null>

/** Fill a path's `{names}` and add the query; empty values are left out. */
export function addressOf(path: string, values: PathValues = {}, query: Query = {}): string {
  const filled = path.replace(/\{(\w+)\}/g, (_, name: string) => {
    const value = values[name]
    if (value === undefined) throw new Error(`${path} needs ${name}`)
    return encodeURIComponent(value)
  })
  const search = new URLSearchParams()
  for (const [name, value] of Object.entries(query)) {
    if (value !== undefined && value !== null && value !== '') search.set(name, String(value))
  }
  return search.size ? `${filled}?${search}` : filled
}

export async function get<T>(path: string, values?: PathValues, query?: Query): Promise<T> {
  const response = await reach(addressOf(path, values, query), {
    headers: { Accept: 'application/json' },
  })
  return (await response.json()) as T
}

/** Fetch with the session; raises Problem for a refusal or a lost connection. */
export async function reach(address: string, init: RequestInit = {}): Promise<Response> {
  let response: Response
  try {
    response = await fetch(address, { credentials: 'same-origin', ...init })
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
