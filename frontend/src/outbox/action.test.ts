import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { Problem } from '../api/problem'
import { newKey, send } from './action'

const sent: { key: string | null; body: unknown }[] = []
let replies: (Response | 'lost')[] = []

function answer(_address: string, init: RequestInit): Promise<Response> {
  sent.push({ key: new Headers(init.headers).get('Idempotency-Key'), body: init.body })
  const reply = replies.shift()
  return reply && reply !== 'lost' ? Promise.resolve(reply) : Promise.reject(new TypeError('lost'))
}

function json(status: number, body: unknown): Response {
  return new Response(JSON.stringify(body), { status })
}

beforeEach(() => {
  vi.useFakeTimers()
  vi.stubGlobal('fetch', answer)
  vi.stubGlobal('document', { cookie: 'csrftoken=abc' })
  sent.length = 0
})
afterEach(() => vi.useRealTimers())

async function posting(): Promise<unknown> {
  const action = {
    key: 'k1',
    method: 'POST',
    address: '/api/v1/things/',
    body: { mass_g: 5 },
  } as const
  const result = send(action).catch((e: unknown) => e)
  await vi.runAllTimersAsync()
  return result
}

describe('a write', () => {
  it('is sent again under the same key and body when the connection was lost', async () => {
    replies = ['lost', 'lost', json(201, { id: 7 })]
    expect(await posting()).toEqual({ id: 7 })
    expect(sent).toHaveLength(3)
    expect(new Set(sent.map((s) => `${s.key} ${String(s.body)}`)).size).toBe(1)
  })

  it('is sent again when the server was being restarted', async () => {
    replies = [json(503, {}), json(200, { id: 7 })]
    expect(await posting()).toEqual({ id: 7 })
  })

  it('is not sent again when it was refused', async () => {
    const errors = [{ field: 'mass_g', detail: 'Too much.', mend: 'Weigh again.' }]
    replies = [json(422, { code: 'invalid_input', detail: 'Not usable.', errors })]
    const problem = (await posting()) as Problem
    expect(problem).toBeInstanceOf(Problem)
    expect([problem.status, problem.code, problem.fields]).toEqual([422, 'invalid_input', errors])
    expect(sent).toHaveLength(1)
  })

  it('says after the last try that there is no connection', async () => {
    replies = []
    expect(((await posting()) as Problem).isConnection).toBe(true)
    expect(sent).toHaveLength(4)
  })
})

it('keys ascend in the order they were made', () => {
  const keys = Array.from({ length: 200 }, newKey)
  expect([...keys].sort()).toEqual(keys)
})
