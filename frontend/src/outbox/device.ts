/** The device's store, opened when first used, and whether it has room for a day's work. */
import type { Keeper } from './keeper'

/** `denied`: nothing outlives this page; `tight`: hardly any room is left. */
export type Room = 'unknown' | 'good' | 'tight' | 'denied'

const ROOM_BYTES_MIN = 5_000_000

let opened: Promise<Keeper> | null = null

/** Open the store once; on a device that keeps nothing, one that lasts as long as the page. */
export function store(): Promise<Keeper> {
  opened ??= open()
  return opened
}

async function open(): Promise<Keeper> {
  try {
    const { Store } = await import('./store')
    const kept = new Store()
    await kept.tryOut()
    return kept
  } catch {
    const { PageStore } = await import('./pageStore')
    return new PageStore()
  }
}

/** Tell how much room there is, and ask the browser not to throw away what is kept. */
export async function roomOf(): Promise<Room> {
  if (!(await store()).lasts) return 'denied'
  // Without TLS a browser has no word on this; there the test writing above has to do.
  if (!('storage' in navigator)) return 'good'
  await navigator.storage.persist().catch(() => false)
  const known: StorageEstimate = await navigator.storage.estimate().catch(() => ({}))
  const { quota = Infinity, usage = 0 } = known
  return quota - usage < ROOM_BYTES_MIN ? 'tight' : 'good'
}
