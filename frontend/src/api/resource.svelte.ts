import { Problem } from './problem'

/** Something read from the server: its data, or why there is none, or neither yet. */
export class Resource<T> {
  data = $state.raw<T | null>(null)
  problem = $state.raw<Problem | null>(null)
  readonly #load: () => Promise<T>
  #turn = 0

  constructor(load: () => Promise<T>) {
    this.#load = load
  }

  /** Load anew; what is shown stays until the new data is there. */
  async reload(): Promise<void> {
    const turn = ++this.#turn
    this.problem = null
    try {
      const data = await this.#load()
      if (turn === this.#turn) this.data = data
    } catch (error) {
      if (!(error instanceof Problem)) throw error
      if (turn === this.#turn) this.problem = error
    }
  }
}

/** Make a resource of a screen: loaded at once, and again when what `load` reads changes. */
export function resource<T>(load: () => Promise<T>): Resource<T> {
  const made = new Resource(load)
  $effect(() => {
    void made.reload()
  })
  return made
}
