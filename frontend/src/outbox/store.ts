/** The device's own database. */
import { openDB, type DBSchema, type IDBPDatabase } from 'idb'
import type { Keeper, NewAction, Seen } from './keeper'
import type { KeptAction } from './kept'

interface Shelves extends DBSchema {
  actions: { key: number; value: KeptAction }
  seen: { key: string; value: Seen }
}

/** Ten, since devices have it from a library that counted in tens. What is kept there stays. */
const VERSION = 10

export class Store implements Keeper {
  readonly lasts = true
  readonly #name: string
  readonly #heard: ((actions: KeptAction[]) => void)[] = []
  #asked = 0
  #told = 0
  /** Tells other tabs, and hears from them. */
  readonly #tabs: BroadcastChannel
  #opened: Promise<IDBPDatabase<Shelves>> | null = null

  constructor(name = 'millrace') {
    this.#name = name
    this.#tabs = new BroadcastChannel(`${name}.outbox`)
    this.#tabs.onmessage = () => void this.#tell()
  }

  async add(action: NewAction): Promise<number> {
    const doing = await this.#doing()
    // The database gives the number, one higher than any before.
    const id = await doing.store.add(action as KeptAction)
    await doing.done
    this.#changed()
    return id
  }

  async actions(): Promise<KeptAction[]> {
    return (await this.#open()).getAll('actions')
  }

  async change(id: number, news: Partial<NewAction>): Promise<void> {
    const doing = await this.#doing()
    const kept = await doing.store.get(id)
    if (kept) await doing.store.put({ ...kept, ...news })
    await doing.done
    this.#changed()
  }

  async remove(ids: number[]): Promise<void> {
    const doing = await this.#doing()
    await Promise.all([...ids.map((id) => doing.store.delete(id)), doing.done])
    this.#changed()
  }

  /** Hears also of changes that another tab makes. */
  watch(heard: (actions: KeptAction[]) => void): void {
    this.#heard.push(heard)
    void this.#tell()
  }

  async keepSeen(seen: Seen): Promise<void> {
    await (await this.#open()).put('seen', seen)
  }

  async seen(name: string): Promise<Seen | undefined> {
    return (await this.#open()).get('seen', name)
  }

  async forgetSeen(): Promise<void> {
    await (await this.#open()).clear('seen')
  }

  /** Write and read something: the only sure sign that this device keeps things. Rejects if not. */
  async tryOut(): Promise<void> {
    const name = 'try-out'
    await this.keepSeen({ name, at: new Date().toISOString(), value: 'x'.repeat(10_000) })
    if (!(await this.seen(name))) throw new Error('what was kept is not there')
    await (await this.#open()).delete('seen', name)
  }

  close(): void {
    void this.#opened?.then((db) => db.close())
    this.#opened = null
  }

  /** Open it once; anew after the browser, or a newer version in another tab, has closed it. */
  #open(): Promise<IDBPDatabase<Shelves>> {
    const isClosed = (): void => {
      this.#opened = null
    }
    this.#opened ??= openDB<Shelves>(this.#name, VERSION, {
      upgrade(db, before) {
        if (before >= VERSION) return
        db.createObjectStore('actions', { keyPath: 'id', autoIncrement: true })
        db.createObjectStore('seen', { keyPath: 'name' })
      },
      blocking: () => this.close(),
      terminated: isClosed,
    }).catch((error: unknown) => {
      isClosed()
      throw error
    })
    return this.#opened
  }

  /** Begin to change actions; done is what also outlives a battery that runs out. */
  async #doing() {
    return (await this.#open()).transaction('actions', 'readwrite', { durability: 'strict' })
  }

  #changed(): void {
    this.#tabs.postMessage('changed')
    void this.#tell()
  }

  /** Reads can end in another order than they began in: what is older is never told after newer. */
  async #tell(): Promise<void> {
    if (!this.#heard.length) return
    const asked = ++this.#asked
    const actions = await this.actions()
    if (asked < this.#told) return
    this.#told = asked
    for (const heard of this.#heard) heard(actions)
  }
}
