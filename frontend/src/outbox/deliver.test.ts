import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { noConnection, Problem } from '../api/problem'
import { deliver, type Outcome } from './deliver'
import type { Deed } from '../rules/deeds'
import { shownAs, type KeptAction } from './kept'
import { PageStore } from './pageStore'

type Fate = 'arrives' | 'is_lost' | 'reply_lost' | 'fails' | 'ends_session' | 'is_refused'

const DEED = { kind: 'start_route', route_id: 'r' } as const

/** A phone with things kept on it, and a server that sees each key once. */
function phone(kept: { lane: string; by?: string; deed?: Deed; photo?: Blob }[]) {
  const store = new PageStore()
  const server: string[] = []
  const sent: string[] = []
  const ready = Promise.all(
    kept.map(({ lane, by = 'me', deed = DEED, photo }, index) =>
      store.add({
        key: `k${index}`,
        at: '2026-05-04T09:00:00Z',
        by,
        lane,
        about: 'Hill School',
        deed,
        ...(photo ? { photo } : {}),
        address: '/api/v1/x/',
        body: {},
        state: 'kept',
        refusal: null,
        arrived_at: null,
      }),
    ),
  )
  function meet({ key }: KeptAction, fate: Fate): void {
    sent.push(key)
    if (fate === 'is_lost') throw noConnection()
    if (fate === 'fails') throw new Problem({ status: 500, code: 'http_500', detail: '' })
    if (fate === 'ends_session') throw new Problem({ status: 401, code: 'x', detail: '' })
    if (fate === 'is_refused') throw new Problem({ status: 409, code: 'wrong_state', detail: 'No' })
    if (!server.includes(key)) server.push(key)
    if (fate === 'reply_lost') throw noConnection()
  }
  async function send(fateOf: (action: KeptAction) => Fate): Promise<Outcome> {
    await ready
    return deliver(
      {
        actions: () => store.actions(),
        send: (action) => Promise.resolve().then(() => meet(action, fateOf(action))),
        arrived: ({ id }) => store.change(id, { state: 'arrived' }),
        refused: ({ id }, refusal) => store.change(id, { state: 'needs_you', refusal }),
      },
      'me',
    )
  }
  return { store, server, sent, send }
}

const lanes = (...names: string[]) => names.map((lane) => ({ lane }))

describe('what is kept', () => {
  it('arrives in the order in which it was done', async () => {
    const { send, server } = phone(lanes('a', 'b', 'a', 'a', 'b'))
    expect(await send(() => 'arrives')).toBe('all_sent')
    expect(server).toEqual(['k0', 'k1', 'k2', 'k3', 'k4'])
  })

  it('waits for the signal, and what comes after it too', async () => {
    const { send, server, sent } = phone(lanes('a', 'a', 'b'))
    expect(await send(() => 'is_lost')).toBe('try_later')
    expect([server, sent]).toEqual([[], ['k0']])
  })

  it('is held up by a fault of the server on its own route only', async () => {
    const { send, server } = phone(lanes('a', 'a', 'b'))
    const outcome = await send(({ lane }) => (lane === 'a' ? 'fails' : 'arrives'))
    expect([outcome, server]).toEqual(['try_later', ['k2']])
  })

  it('waits for signing in', async () => {
    const { send, store } = phone(lanes('a'))
    expect(await send(() => 'ends_session')).toBe('signed_out')
    expect((await store.actions())[0]?.state).toBe('kept')
  })

  it('is never sent in the name of another person', async () => {
    const { send, server } = phone([{ lane: 'a', by: 'you' }, { lane: 'a' }, { lane: 'b' }])
    await send(() => 'arrives')
    expect(server).toEqual(['k2'])
  })

  it('stays with its reason when refused, and what builds on it waits', async () => {
    const { send, server, store } = phone(lanes('a', 'a', 'b'))
    await send(({ key }) => (key === 'k0' ? 'is_refused' : 'arrives'))
    const kept = await store.actions()
    expect(server).toEqual(['k2'])
    expect(kept[0]?.refusal).toMatchObject({ status: 409, code: 'wrong_state', detail: 'No' })
    expect(kept.map((action) => shownAs(action, kept, null))).toEqual([
      'needs_you',
      'waits',
      'arrived',
    ])
    await store.remove([1])
    await send(() => 'arrives')
    expect(server).toEqual(['k2', 'k1'])
  })

  it('with a picture goes after what was done before it, and holds up nothing', async () => {
    const deed = { kind: 'photo', route_id: 'r', line_id: 'l' } as const
    const picture = { lane: 'photos of l', deed, photo: new Blob(['x']) }
    const { send, server, sent } = phone([
      { lane: 'route r' },
      picture,
      picture,
      { lane: 'route r' },
    ])
    await send(({ key }) => (key === 'k1' ? 'is_refused' : 'arrives'))
    expect(server).toEqual(['k0', 'k3'])
    expect(sent).toEqual(['k0', 'k3', 'k1'])
  })

  it('with a picture waits for what it builds on', async () => {
    const deed = { kind: 'photo', route_id: 'r', line_id: 'l' } as const
    const { send, sent, store } = phone([{ lane: 'route r' }, { lane: 'photos of l', deed }])
    await send(() => 'is_refused')
    expect(sent).toEqual(['k0'])
    const kept = await store.actions()
    expect(kept.map((action) => shownAs(action, kept, null))).toEqual(['needs_you', 'waits'])
  })

  it('arrives once and in order, whatever goes wrong on the way', async () => {
    const fate = fc.constantFrom<Fate>('arrives', 'is_lost', 'reply_lost', 'fails', 'ends_session')
    const kept = fc.array(fc.constantFrom('a', 'b', 'c'), { minLength: 1, maxLength: 8 })
    await fc.assert(
      fc.asyncProperty(kept, fc.array(fate, { maxLength: 30 }), async (names, fates) => {
        const { send, server, store } = phone(lanes(...names))
        let outcome: Outcome = 'try_later'
        while (outcome !== 'all_sent') outcome = await send(() => fates.shift() ?? 'arrives')
        for (const name of ['a', 'b', 'c']) {
          const done = names.flatMap((lane, index) => (lane === name ? [`k${index}`] : []))
          expect(server.filter((key) => done.includes(key))).toEqual(done)
        }
        expect(server).toHaveLength(names.length)
        expect((await store.actions()).every(({ state }) => state === 'arrived')).toBe(true)
      }),
    )
  })
})
