import { untrack } from 'svelte'
import { isOutOfReach, recall, remember } from '../outbox/seen'
import { Problem } from './problem'

/** Something read from the server: its data, or why there is none, or neither yet. */
export class Resource<T> {
  data = $state.raw<T | null>(null)
  problem = $state.raw<Problem | null>(null)
  /** When the data was read, where the server is out of reach and the device has it; ISO 8601. */
  seenAt = $state<string | null>(null)
  readonly #load: () => Promise<T>
  readonly #nameOf: () => string | null
  #name: string | null = null
  #turn = 0

  constructor(load: () => Promise<T>, nameOf: () => string | null = () => null) {
    this.#load = load
    this.#nameOf = nameOf
  }

  /** Load anew; what is shown stays until the new data is there. */
  async reload(): Promise<void> {
    const turn = ++this.#turn
    this.problem = null
    const name = this.#nameOf()
    if (name !== this.#name) this.data = this.seenAt = null
    this.#name = name
    // What is shown is not what it is loaded by: to follow it would be to load it without end.
    if (name && untrack(() => this.data) === null) void this.#showSeen(name, turn)
    try {
      const data = await this.#load()
      if (name) void remember(name, data)
      if (turn !== this.#turn) return
      this.data = data
      this.seenAt = null
    } catch (error) {
      if (!(error instanceof Problem)) throw error
      const at = name && isOutOfReach(error) ? await this.#showSeen(name, turn) : null
      if (turn !== this.#turn) return
      this.seenAt = at
      if (!at) this.problem = error
    }
  }

  /** Show what was seen last; return when that was, or null where the device does not have it. */
  async #showSeen(name: string, turn: number): Promise<string | null> {
    const seen = await recall(name)
    if (seen && turn === this.#turn && this.data === null) this.data = seen.value as T
    return seen?.at ?? null
  }
}

/**
 * Make a resource of a screen: loaded at once, and again when what `load` reads changes. With a
 * name it is also kept on the device, to be shown where there is no signal.
 */
export function resource<T>(load: () => Promise<T>, nameOf?: () => string): Resource<T> {
  const made = new Resource(load, nameOf)
  $effect(() => {
    void made.reload()
  })
  return made
}
