/** Signing in by a code sent to one's address. */
import { call, isPending, refusal } from './allauth'
import { Problem } from './problem'

/** Send a code to an address that has an account. */
export async function requestCode(email: string): Promise<void> {
  const reply = await call('POST', '/auth/code/request', { email })
  if (reply.status !== 200 && !isPending(reply)) throw refusal(reply)
}

/** Send a code to a new address, which has no account yet. */
export async function signUp(email: string): Promise<void> {
  const reply = await call('POST', '/auth/signup', { email })
  if (reply.status !== 200 && !isPending(reply)) throw refusal(reply)
}

export async function confirmCode(code: string): Promise<void> {
  const reply = await call('POST', '/auth/code/confirm', { code })
  if (reply.status !== 200) throw refusal(reply)
}

export async function confirmAddress(code: string): Promise<void> {
  const reply = await call('POST', '/auth/email/verify', { key: code })
  if (reply.status === 200) return
  const problem = refusal(reply)
  const fields = problem.fields.map((f) => ({ ...f, field: f.field === 'key' ? 'code' : f.field }))
  throw new Problem({ status: problem.status, code: problem.code, detail: problem.message, fields })
}
