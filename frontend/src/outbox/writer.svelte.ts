import { Problem } from '../api/problem'
import { newKey } from './action'

/** One button's or form's write: whether it is on its way, and why it was refused. */
export class Writer {
  busy = $state(false)
  problem = $state.raw<Problem | null>(null)
  /** Counts refusals, so that the same one twice is noticed twice. */
  refusals = $state(0)
  #key: string | null = null

  /**
   * Do the write under a key that is kept until it has arrived: pressing again after a lost
   * connection sends the same action. Returns whether it arrived.
   */
  async run(write: (key: string) => Promise<unknown>): Promise<boolean> {
    if (this.busy) return false
    this.busy = true
    this.problem = null
    this.#key ??= newKey()
    try {
      await write(this.#key)
      this.#key = null
      return true
    } catch (error) {
      if (!(error instanceof Problem)) throw error
      // The earlier try did arrive, with other content: what is typed now is a new action.
      if (error.code === 'different_body') this.#key = null
      this.refuse(error)
      return false
    } finally {
      this.busy = false
    }
  }

  /** Show why it cannot be sent, found here or by the server. */
  refuse(problem: Problem): void {
    this.problem = problem
    this.refusals += 1
  }
}
