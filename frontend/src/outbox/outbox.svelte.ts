/** What people do where there may be no signal: kept first, then sent, and shown until settled. */
import * as people from '../api/people'
import { Problem } from '../api/problem'
import { here } from '../api/session.svelte'
import { t } from '../messages'
import { laneOf, type Deed } from '../rules/deeds'
import { newKey, sendOnce } from './action'
import { deliver, type Outcome } from './deliver'
import { roomOf, store, type Room } from './device'
import { waiting, type KeptAction, type Refusal } from './kept'
import { requestOf } from './requests'

const FIRST_WAIT_MS = 1_000
const LONGEST_WAIT_MS = 60_000
const ANSWER_MS_MAX = 30_000
/** A megabyte at 100 kbit/s, and some. */
const PHOTO_ANSWER_MS_MAX = 120_000
/** How long what has arrived stays in the list. */
const TOLD_MS = 24 * 3_600_000

class Outbox {
  actions = $state.raw<KeptAction[]>([])
  sendingId = $state<number | null>(null)
  room = $state<Room>('unknown')
  /** The session has ended while actions wait for it. */
  signedOut = $state(false)
  /** Counts the times after which the server knows more than what was read from it. */
  arrivals = $state(0)
  readonly waiting = $derived(waiting(this.actions))
  readonly needYou = $derived(this.waiting.filter(({ state }) => state === 'needs_you'))
  #busy = false
  #askedAgain = false
  #wait_ms = FIRST_WAIT_MS
  #timer: ReturnType<typeof setTimeout> | undefined

  /** Take up what is kept from before, and send it whenever there may be a signal again. */
  async start(): Promise<void> {
    window.addEventListener('online', () => this.wake())
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'visible') this.wake()
    })
    this.room = await roomOf()
    const kept = await store()
    await kept.remove(longTold(await kept.actions()))
    kept.watch((actions) => (this.actions = actions))
    this.wake()
  }

  /** Keep what was done under its key; raises Problem where the device has no room for it. */
  async keep(key: string, deed: Deed, about: string, photo: Blob | null = null): Promise<void> {
    const at = new Date().toISOString()
    const action = {
      key,
      at,
      by: here.session.user?.id ?? '',
      lane: laneOf(deed),
      about,
      deed,
      ...requestOf(here.slug, deed, at),
      photo,
      state: 'kept',
      refusal: null,
      arrived_at: null,
    } as const
    await this.#write((kept) => kept.add(action))
  }

  /** Put what was done right; it keeps its moment and its place in the order. */
  async mend(refused: KeptAction, deed: Deed): Promise<void> {
    // Under the old key the server holds something else, which did arrive.
    const key = refused.refusal?.code === 'different_body' ? newKey() : refused.key
    const request = requestOf(here.slug, deed, refused.at)
    const news = { key, deed, ...request, state: 'kept', refusal: null } as const
    await this.#write((kept) => kept.change(refused.id, news))
  }

  /** Send a refused action again as it is, after what it stumbled over was put right elsewhere. */
  async tryAgain({ id }: KeptAction): Promise<void> {
    await this.#write((kept) => kept.change(id, { state: 'kept', refusal: null }))
  }

  async discard({ id }: KeptAction): Promise<void> {
    await this.#write((kept) => kept.remove([id]))
  }

  /** Send now what waits. */
  wake(): void {
    clearTimeout(this.#timer)
    this.#wait_ms = FIRST_WAIT_MS
    void this.#send()
  }

  async #write(
    change: (kept: Awaited<ReturnType<typeof store>>) => Promise<unknown>,
  ): Promise<void> {
    try {
      await change(await store())
    } catch {
      this.room = 'denied'
      throw new Problem({ status: 0, code: 'no_room', detail: t('outbox.no_room') })
    }
    this.wake()
  }

  async #send(): Promise<void> {
    this.#askedAgain = true
    if (this.#busy) return
    this.#busy = true
    let outcome: Outcome = 'all_sent'
    try {
      while (this.#askedAgain) {
        this.#askedAgain = false
        outcome = await alone(() => this.#deliver())
      }
    } finally {
      this.#busy = false
    }
    if (outcome === 'try_later') this.#sendLater()
  }

  /** A gentle knocking that grows slower; a signal that comes back starts it anew. */
  #sendLater(): void {
    clearTimeout(this.#timer)
    this.#timer = setTimeout(() => void this.#send(), this.#wait_ms)
    this.#wait_ms = Math.min(2 * this.#wait_ms, LONGEST_WAIT_MS)
  }

  async #deliver(): Promise<Outcome> {
    const kept = await store()
    const isIdle = !(await kept.actions()).some(({ state }) => state === 'kept')
    this.signedOut = this.signedOut && !isIdle
    if (isIdle) return 'all_sent'
    const by = await whoIsIn()
    if (by === 'unreachable') return 'try_later'
    this.signedOut = by === null
    if (by === null) return 'signed_out'
    let arrived = 0
    const outcome = await deliver(
      {
        actions: () => kept.actions(),
        send: (action) => this.#try(action),
        arrived: ({ id }) => {
          arrived += 1
          // The picture is with the server now, and its room is wanted here.
          const arrived_at = new Date().toISOString()
          return kept.change(id, { state: 'arrived', arrived_at, photo: null })
        },
        refused: ({ id }, refusal: Refusal) => kept.change(id, { state: 'needs_you', refusal }),
      },
      by,
    )
    if (arrived) {
      this.arrivals += 1
      this.#wait_ms = FIRST_WAIT_MS
    }
    this.signedOut = outcome === 'signed_out'
    return outcome
  }

  async #try(action: KeptAction): Promise<void> {
    this.sendingId = action.id
    try {
      const { key, address, photo } = action
      const body = photo ? formOf(action.body, photo) : action.body
      const patience_ms = photo ? PHOTO_ANSWER_MS_MAX : ANSWER_MS_MAX
      await sendOnce({ key, method: 'POST', address, body }, AbortSignal.timeout(patience_ms))
    } finally {
      this.sendingId = null
    }
  }
}

function formOf(body: unknown, photo: Blob): FormData {
  const form = new FormData()
  for (const [name, value] of Object.entries(body as Record<string, string>)) {
    form.append(name, value)
  }
  form.append('file', photo, 'photo.jpg')
  return form
}

/** Who the server takes us for: the id of a person, null for nobody. */
async function whoIsIn(): Promise<string | null | 'unreachable'> {
  try {
    const session = await people.session(AbortSignal.timeout(ANSWER_MS_MAX))
    return session.user?.id ?? null
  } catch {
    return 'unreachable'
  }
}

/** Let one tab send at a time, so that the order holds between tabs as well. */
async function alone(send: () => Promise<Outcome>): Promise<Outcome> {
  return 'locks' in navigator ? await navigator.locks.request('millrace.outbox', send) : send()
}

function longTold(actions: readonly KeptAction[]): number[] {
  const since = Date.now() - TOLD_MS
  return actions
    .filter(({ arrived_at }) => arrived_at && Date.parse(arrived_at) < since)
    .map(({ id }) => id)
}

export const outbox = new Outbox()
