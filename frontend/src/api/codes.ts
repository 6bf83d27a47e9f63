/** Signing in by a code sent to one's address: django-allauth's headless API. */
import { csrfHeader } from './client'
import { noConnection, Problem, type FieldProblem } from './problem'

const BASE = '/_allauth/browser/v1/auth'

interface Reply {
  status: number
  data?: { flows?: { id: string; is_pending?: boolean }[] }
  errors?: { code: string; message: string; param?: string }[]
}

async function call(path: string, body: object): Promise<Reply> {
  let response: Response
  try {
    response = await fetch(BASE + path, {
      method: 'POST',
      credentials: 'same-origin',
      headers: { 'Content-Type': 'application/json', ...csrfHeader() },
      body: JSON.stringify(body),
    })
  } catch {
    throw noConnection()
  }
  const reply = ((await response.json().catch(() => null)) ?? {}) as Partial<Reply>
  return { ...reply, status: response.status }
}

function refusal(reply: Reply): Problem {
  const fields: FieldProblem[] = (reply.errors ?? [])
    .filter((error) => error.param)
    .map((error) => ({ field: error.param ?? '', detail: error.message, mend: '' }))
  const detail = (reply.errors ?? []).find((error) => !error.param)?.message ?? ''
  return new Problem({ status: reply.status, code: `http_${reply.status}`, detail, fields })
}

/** 401 says: on its way to being signed in, a further step is pending. */
function isPending(reply: Reply): boolean {
  return reply.status === 401 && (reply.data?.flows ?? []).some((flow) => flow.is_pending)
}

/** Send a code to an address that has an account. */
export async function requestCode(email: string): Promise<void> {
  const reply = await call('/code/request', { email })
  if (reply.status !== 200 && !isPending(reply)) throw refusal(reply)
}

/** Send a code to a new address, which has no account yet. */
export async function signUp(email: string): Promise<void> {
  const reply = await call('/signup', { email })
  if (reply.status !== 200 && !isPending(reply)) throw refusal(reply)
}

export async function confirmCode(code: string): Promise<void> {
  const reply = await call('/code/confirm', { code })
  if (reply.status !== 200) throw refusal(reply)
}

export async function confirmAddress(code: string): Promise<void> {
  const reply = await call('/email/verify', { key: code })
  if (reply.status === 200) return
  const problem = refusal(reply)
  const fields = problem.fields.map((f) => ({ ...f, field: f.field === 'key' ? 'code' : f.field }))
  throw new Problem({ status: problem.status, code: problem.code, detail: problem.message, fields })
}
