/**
 * A write with its key, which is made before the first try and goes with every further one, so
 * that the server does it once however often it is sent. What must outlive the screen is kept in
 * the outbox, which sends by `sendOnce`.
 */
import { v7 as uuidv7 } from 'uuid'
import {
  addressOf,
  contentOf,
  csrfHeader,
  reach,
  type BodyOf,
  type PathValues,
  type PathWith,
  type ReplyOf,
} from '../api/client'
import { Problem } from '../api/problem'

export interface Action {
  readonly key: string
  readonly method: 'POST' | 'PUT' | 'PATCH' | 'DELETE'
  readonly address: string
  readonly body: unknown
}

const WAITS_MS = [400, 1500, 4000]
const PASSING = new Set([502, 503, 504])

/** UUIDv7: ascending in time, so that kept actions replay in the order they were made. */
export function newKey(): string {
  return uuidv7()
}

/** Send an action; a lost connection or a passing fault of the server is tried again. */
export async function send<T>(action: Action): Promise<T> {
  for (const wait_ms of WAITS_MS) {
    try {
      return await sendOnce<T>(action)
    } catch (error) {
      if (!isPassing(error)) throw error
      await new Promise((resolve) => setTimeout(resolve, wait_ms))
    }
  }
  return sendOnce<T>(action)
}

/** Send an action one time; `signal` gives up on it, as if the connection were lost. */
export async function sendOnce<T>(
  { key, method, address, body }: Action,
  signal?: AbortSignal,
): Promise<T> {
  const asForm = body instanceof FormData
  const response = await reach(address, {
    method,
    headers: {
      Accept: 'application/json',
      'Idempotency-Key': key,
      ...(asForm ? {} : { 'Content-Type': 'application/json' }),
      ...csrfHeader(),
    },
    body: asForm ? body : JSON.stringify(body ?? {}),
    ...(signal ? { signal } : {}),
  })
  return (response.status === 204 ? undefined : await contentOf(response)) as T
}

function isPassing(error: unknown): boolean {
  return error instanceof Problem && (error.isConnection || PASSING.has(error.status))
}

/** Post under a key that the caller has kept. */
export function post<P extends PathWith<'post'>>(
  key: string,
  path: P,
  values: PathValues<P, 'post'>,
  body?: BodyOf<P, 'post'> | FormData,
): Promise<ReplyOf<P, 'post'>> {
  return send({ key, method: 'POST', address: addressOf(path, values as object), body })
}

/** Change part of a thing under a key that the caller has kept. */
export function patch<P extends PathWith<'patch'>>(
  key: string,
  path: P,
  values: PathValues<P, 'patch'>,
  body: BodyOf<P, 'patch'>,
): Promise<ReplyOf<P, 'patch'>> {
  return send({ key, method: 'PATCH', address: addressOf(path, values as object), body })
}

/** Set a thing whole under a key that the caller has kept. */
export function put<P extends PathWith<'put'>>(
  key: string,
  path: P,
  values: PathValues<P, 'put'>,
  body: BodyOf<P, 'put'>,
): Promise<ReplyOf<P, 'put'>> {
  return send({ key, method: 'PUT', address: addressOf(path, values as object), body })
}
