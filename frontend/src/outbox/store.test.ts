import 'fake-indexeddb/auto'
import { IDBFactory } from 'fake-indexeddb'
import { openDB } from 'idb'
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
  globalThis.indexedDB = new IDBFactory()
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

it('what an earlier version of the app kept is there, and what comes after counts on', async () => {
  // As the library of before made it: for its version 1, the database's version 10.
  const before = await openDB('millrace', 10, {
    upgrade(db) {
      db.createObjectStore('actions', { keyPath: 'id', autoIncrement: true })
      db.createObjectStore('seen', { keyPath: 'name' })
    },
  })
  const first = Number(await before.add('actions', ACTION))
  await before.put('seen', { name: 'route', at: ACTION.at, value: { id: 'r' } })
  before.close()

  const kept = new Store()
  expect(await kept.add({ ...ACTION, key: 'k2' })).toBe(first + 1)
  expect((await kept.actions()).map(({ key }) => key)).toEqual(['k', 'k2'])
  expect((await kept.seen('route'))?.value).toEqual({ id: 'r' })
})

it('makes way for a newer version in another tab', async () => {
  const kept = new Store()
  await kept.add(ACTION)
  const newer = await openDB('millrace', 11)
  expect(await newer.count('actions')).toBe(1)
  newer.close()
})

it('hears of what another tab keeps', async () => {
  const [mine, other] = [new Store(), new Store()]
  const counts: number[] = []
  mine.watch((actions) => counts.push(actions.length))
  await other.add(ACTION)
  await vi.waitFor(() => expect(counts.at(-1)).toBe(1))
})

it('a device that keeps nothing is found out before work starts', async () => {
  const open = () => {
    throw new DOMException('denied', 'SecurityError')
  }
  vi.stubGlobal('indexedDB', { open })
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

it('never tells what was after what is, however long a read takes', async () => {
  const kept = new Store()
  const id = await kept.add(ACTION)
  const states: string[] = []
  const read = kept.actions.bind(kept)
  let late: (() => void) | undefined
  vi.spyOn(kept, 'actions').mockImplementation(async () => {
    const found = await read()
    if (!late && states.length) await new Promise<void>((go) => (late = go))
    return found
  })
  kept.watch((actions) => states.push(...actions.map(({ state }) => state)))
  await vi.waitFor(() => expect(states).toEqual(['kept']))
  await kept.change(id, { state: 'needs_you' })
  await vi.waitFor(() => expect(late).toBeDefined())
  await kept.change(id, { state: 'arrived' })
  await vi.waitFor(() => expect(states).toEqual(['kept', 'arrived']))
  late?.()
  await new Promise((go) => setTimeout(go))
  expect(states).toEqual(['kept', 'arrived'])
})
