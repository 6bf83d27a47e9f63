/** What was last read, kept on this device so that its screens open without a signal. */
import { Problem } from '../api/problem'
import { store } from './device'
import type { Seen } from './keeper'

/** Keep what was read; a device that has no room for it just does not. */
export async function remember(name: string, value: unknown): Promise<void> {
  const at = new Date().toISOString()
  await (await store()).keepSeen({ name, at, value }).catch(() => undefined)
}

export async function recall(name: string): Promise<Seen | null> {
  return (await (await store()).seen(name).catch(() => undefined)) ?? null
}

/** Nothing of one person stays for the next. */
export async function forgetSeen(): Promise<void> {
  await (await store()).forgetSeen()
}

/** Read something and keep it; what was kept stands in where the server cannot be reached. */
export async function readOrRecall<T>(
  name: string,
  read: () => Promise<T>,
  isWorthKeeping: (value: T) => boolean = () => true,
): Promise<T> {
  try {
    const value = await read()
    if (isWorthKeeping(value)) void remember(name, value)
    return value
  } catch (error) {
    const seen = isOutOfReach(error) ? await recall(name) : null
    if (!seen) throw error
    return seen.value as T
  }
}

export function isOutOfReach(error: unknown): boolean {
  return error instanceof Problem && (error.isConnection || error.status >= 500)
}
