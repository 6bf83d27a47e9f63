import 'fake-indexeddb/auto'
import { IDBFactory } from 'fake-indexeddb'
import { Dexie } from 'dexie'
import { afterEach, describe, expect, it, vi } from 'vitest'
import type { NewAction } from './keeper'
import { PageStore } from './pageStore'
import { Store } from './store'

const ACTION: NewAction = {
  key: 'k',
  at: '2026-05-04T09:00:00Z',
  by: 'me',
  lane: 'route r',
  about: 'Hill School',
  deed: { kind: 'start_route', route_id: 'r' },
  address: '/api/v1/x/',
  body: { at: '2026-05-04T09:00:00Z' },
  state: 'kept',
  refusal: null,
  arrived_at: null,
}

afterEach(() => {
  Dexie.dependencies.indexedDB = new IDBFactory()
  vi.resetModules()
  vi.unstubAllGlobals()
})

describe.each([
  ['the device', () => new Store()],
  ['an open page', () => new PageStore()],
])('%s', (_name, open) => {
  it('keeps things in the order in which they were done, and changes and drops single ones', async () => {
    const kept = open()
    const first = await kept.add(ACTION)
    const second = await kept.add({ ...ACTION, key: 'k2' })
    await kept.change(first, { state: 'arrived' })
    expect(await kept.actions()).toEqual([
      { ...ACTION, id: first, state: 'arrived' },
      { ...ACTION, key: 'k2', id: second },
    ])
    expect(second).toBeGreaterThan(first)
    await kept.remove([first])
    expect((await kept.actions()).map(({ key }) => key)).toEqual(['k2'])
  })

  it('gives no number twice, also after the last was dropped', async () => {
    const kept = open()
    const first = await kept.add(ACTION)
    await kept.remove([first])
    expect(await kept.add(ACTION)).toBeGreaterThan(first)
  })

  it('keeps what was seen until it is told to forget it', async () => {
    const kept = open()
    await kept.keepSeen({ name: 'route', at: '2026-05-04T09:00:00Z', value: { id: 'r' } })
    expect((await kept.seen('route'))?.value).toEqual({ id: 'r' })
    await kept.forgetSeen()
    expect(await kept.seen('route')).toBeUndefined()
  })

  it('tells of each change', async () => {
    const kept = open()
    const counts: number[] = []
    kept.watch((actions) => counts.push(actions.length))
    await vi.waitFor(() => expect(counts).toEqual([0]))
    await kept.add(ACTION)
    await vi.waitFor(() => expect(counts).toEqual([0, 1]))
  })
})

it('what is kept is there again after the app was closed', async () => {
  const before = new Store()
  await before.add(ACTION)
  before.close()
  expect((await new Store().actions()).map(({ key }) => key)).toEqual(['k'])
})

it('a device that keeps nothing is found out before work starts', async () => {
  const broken = {
    open: () => {
      throw new DOMException('denied', 'SecurityError')
    },
  }
  vi.doMock('./store', async (original) => {
    const real = await original<typeof import('./store')>()
    Dexie.dependencies.indexedDB = broken as unknown as IDBFactory
    return real
  })
  const { roomOf, store } = await import('./device')
  expect(await roomOf()).toBe('denied')
  expect((await store()).lasts).toBe(false)
})

it.each([
  [100_000_000, 'good'],
  [1_000_000, 'tight'],
])('with %i bytes to go there is %s room', async (quota, room) => {
  const storage = {
    persist: () => Promise.resolve(true),
    estimate: () => Promise.resolve({ quota, usage: 0 }),
  }
  vi.stubGlobal('navigator', { storage })
  const { roomOf } = await import('./device')
  expect(await roomOf()).toBe(room)
})
