/** What keeps actions, and what was last read. */
import type { KeptAction } from './kept'

export type NewAction = Omit<KeptAction, 'id'>

export interface Seen {
  name: string
  /** When it was read, ISO 8601 in UTC. */
  at: string
  value: unknown
}

export interface Keeper {
  /** Whether it outlives the page. */
  readonly lasts: boolean
  /** Keep an action; rejects where there is no room for it. */
  add(action: NewAction): Promise<number>
  actions(): Promise<KeptAction[]>
  change(id: number, news: Partial<NewAction>): Promise<unknown>
  remove(ids: number[]): Promise<unknown>
  /** Hear of the actions now and after each change. */
  watch(heard: (actions: KeptAction[]) => void): void
  keepSeen(seen: Seen): Promise<unknown>
  seen(name: string): Promise<Seen | undefined>
  forgetSeen(): Promise<unknown>
}
