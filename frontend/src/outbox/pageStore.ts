/** Keeps actions for as long as the page is open, where the device does not let us keep more. */
import type { Keeper, NewAction, Seen } from './keeper'
import type { KeptAction } from './kept'

export class PageStore implements Keeper {
  readonly lasts = false
  #actions: KeptAction[] = []
  #last = 0
  readonly #seen = new Map<string, Seen>()
  readonly #heard: ((actions: KeptAction[]) => void)[] = []

  add(action: NewAction): Promise<number> {
    const id = ++this.#last
    this.#become([...this.#actions, { ...action, id }])
    return Promise.resolve(id)
  }

  actions(): Promise<KeptAction[]> {
    return Promise.resolve(this.#actions)
  }

  change(id: number, news: Partial<NewAction>): Promise<void> {
    this.#become(this.#actions.map((kept) => (kept.id === id ? { ...kept, ...news } : kept)))
    return Promise.resolve()
  }

  remove(ids: number[]): Promise<void> {
    this.#become(this.#actions.filter(({ id }) => !ids.includes(id)))
    return Promise.resolve()
  }

  watch(heard: (actions: KeptAction[]) => void): void {
    this.#heard.push(heard)
    heard(this.#actions)
  }

  keepSeen(seen: Seen): Promise<void> {
    this.#seen.set(seen.name, seen)
    return Promise.resolve()
  }

  seen(name: string): Promise<Seen | undefined> {
    return Promise.resolve(this.#seen.get(name))
  }

  forgetSeen(): Promise<void> {
    this.#seen.clear()
    return Promise.resolve()
  }

  #become(actions: KeptAction[]): void {
    this.#actions = actions
    for (const heard of this.#heard) heard(actions)
  }
}
