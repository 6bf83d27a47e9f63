/** The device's own database. Loaded when first used: the first screen does not wait for it. */
import { Dexie, liveQuery, type Table } from 'dexie'
import type { Keeper, NewAction, Seen } from './keeper'
import type { KeptAction } from './kept'

export class Store implements Keeper {
  readonly lasts = true
  readonly #db: Dexie
  readonly #actions: Table<KeptAction, number, NewAction>
  readonly #seen: Table<Seen, string>

  constructor(name = 'millrace') {
    this.#db = new Dexie(name)
    this.#db.version(1).stores({ actions: '++id', seen: 'name' })
    this.#actions = this.#db.table('actions')
    this.#seen = this.#db.table('seen')
  }

  add(action: NewAction): Promise<number> {
    // Dexie writes the id into what it is given.
    return this.#actions.add({ ...action })
  }

  actions(): Promise<KeptAction[]> {
    return this.#actions.orderBy('id').toArray()
  }

  change(id: number, news: Partial<NewAction>): Promise<unknown> {
    return this.#actions.update(id, news)
  }

  remove(ids: number[]): Promise<unknown> {
    return this.#actions.bulkDelete(ids)
  }

  /** Hears also of changes that another tab makes. */
  watch(heard: (actions: KeptAction[]) => void): void {
    liveQuery(() => this.actions()).subscribe(heard)
  }

  keepSeen(seen: Seen): Promise<unknown> {
    return this.#seen.put(seen)
  }

  seen(name: string): Promise<Seen | undefined> {
    return this.#seen.get(name)
  }

  forgetSeen(): Promise<unknown> {
    return this.#seen.clear()
  }

  /** Write and read something: the only sure sign that this device keeps things. Rejects if not. */
  async tryOut(): Promise<void> {
    const name = 'try-out'
    await this.keepSeen({ name, at: new Date().toISOString(), value: 'x'.repeat(10_000) })
    if (!(await this.seen(name))) throw new Error('what was kept is not there')
    await this.#seen.delete(name)
  }

  close(): void {
    this.#db.close()
  }
}
