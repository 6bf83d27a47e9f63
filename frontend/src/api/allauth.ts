/** django-allauth's headless API, by which people sign in, and see to how they do. */
import { language } from '../messages'
import { csrfHeader } from './client'
import { noConnection, Problem, type FieldProblem } from './problem'

const BASE = '/_allauth/browser/v1'

interface Flow {
  id: string
  is_pending?: boolean
}

export interface Reply {
  status: number
  data?: unknown
  meta?: { is_authenticated?: boolean }
  errors?: { code: string; message: string; param?: string }[]
}

export async function call(
  method: 'GET' | 'POST' | 'PUT' | 'DELETE',
  path: string,
  body?: object,
): Promise<Reply> {
  let response: Response
  try {
    response = await fetch(BASE + path, {
      method,
      credentials: 'same-origin',
      headers: {
        Accept: 'application/json',
        'Accept-Language': language(),
        'Content-Type': 'application/json',
        ...csrfHeader(),
      },
      ...(body ? { body: JSON.stringify(body) } : {}),
    })
  } catch {
    throw noConnection()
  }
  const reply = ((await response.json().catch(() => null)) ?? {}) as Partial<Reply>
  return { ...reply, status: response.status }
}

/** Call what should just work, and return its data. */
export async function dataOf<T>(...asked: Parameters<typeof call>): Promise<T> {
  const reply = await call(...asked)
  if (reply.status !== 200) throw refusal(reply)
  return reply.data as T
}

export function refusal(reply: Reply): Problem {
  const fields: FieldProblem[] = (reply.errors ?? [])
    .filter((error) => error.param)
    .map((error) => ({ field: error.param ?? '', detail: error.message, mend: '' }))
  const detail = (reply.errors ?? []).find((error) => !error.param)?.message ?? ''
  return new Problem({ status: reply.status, code: codeOf(reply), detail, fields })
}

/** Signed in, but too long ago for this: whoever asks has to show again that it is they. */
export const SHOW_AGAIN = 'show_again'

function codeOf(reply: Reply): string {
  const again = reply.status === 401 && reply.meta?.is_authenticated
  return again ? SHOW_AGAIN : `http_${reply.status}`
}

/** 401 says: on its way to being signed in, a further step is pending. */
export function isPending(reply: Reply): boolean {
  const { flows } = (reply.data ?? {}) as { flows?: Flow[] }
  return reply.status === 401 && (flows ?? []).some((flow) => flow.is_pending)
}
