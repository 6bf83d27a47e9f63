/** How many notices wait unread in the community acted in. */
import { notices } from './notices'
import { Problem } from './problem'

/** More than this are not counted: it is many. */
export const COUNTED_MAX = 9
const FRESH_MS = 30_000

class Unread {
  count = $state(0)
  #slug = ''
  #asked_ms = -Infinity

  /** Ask again where that was some time ago, or for another community. */
  async look(slug: string): Promise<void> {
    if (slug === this.#slug && performance.now() - this.#asked_ms < FRESH_MS) return
    await this.ask(slug)
  }

  async ask(slug: string): Promise<void> {
    this.#slug = slug
    this.#asked_ms = performance.now()
    try {
      const page = await notices(slug, { unread: true, page_size: COUNTED_MAX + 1 })
      if (slug === this.#slug) this.count = page.results.length
    } catch (error) {
      // A count is a courtesy: without a connection the last one stays.
      if (!(error instanceof Problem)) throw error
    }
  }
}

export const unread = new Unread()
