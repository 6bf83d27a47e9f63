/** Who is signed in, and in which community and role they are acting now. */
import { forgetSeen, readOrRecall, remember } from '../outbox/seen'
import * as people from './people'
import { tellLanguage } from './tongue'
import type { Community, Membership, Session } from './types'

const KEPT = 'millrace.acting_as'
const LAST_USER = 'millrace.last_user'
/** A signal that is there in name only: what was kept is shown instead. */
const ANSWER_MS_MAX = 8_000

function nameOf(membership: Membership): string {
  return [membership.community.slug, membership.role, membership.organisation?.id ?? ''].join(' ')
}

/** What was asked for before anybody waits for it; its failure is heard of by whoever does. */
function ahead<T>(asked: Promise<T>): Promise<T> {
  asked.catch(() => undefined)
  return asked
}

class Here {
  session = $state.raw<Session>({ user: null, memberships: [] })
  /** The role acted in; null before one is chosen. */
  membership = $state.raw<Membership | null>(null)
  /** The community of that role, once it was read. */
  community = $state.raw<Community | null>(null)

  #session: Promise<Session> | null = null
  #read: { slug: string; community: Promise<Community> } | null = null

  /** Ask at once for what every screen waits for, while its code is on its way. */
  begin(): void {
    this.#session = ahead(people.session(AbortSignal.timeout(ANSWER_MS_MAX)))
    const slug = localStorage.getItem(KEPT)?.split(' ')[0]
    if (slug) this.#read = { slug, community: ahead(people.community(slug)) }
  }

  /** The role acted in last on this device, which is most likely the one of now. */
  get lastRole(): string | undefined {
    return localStorage.getItem(KEPT)?.split(' ')[1]
  }

  /** Take over a session and, where it is clear, the role to act in. */
  async enter(session: Session): Promise<void> {
    await this.#keep(session)
    this.session = session
    const kept = localStorage.getItem(KEPT)
    const { memberships } = session
    const found = memberships.find((m) => nameOf(m) === kept)
    const only = memberships.length === 1 ? memberships[0] : undefined
    await this.actAs(found ?? only ?? null)
  }

  /** Nothing that one person read is left for the next. */
  async #keep(session: Session): Promise<void> {
    if (!session.user) return
    const before = localStorage.getItem(LAST_USER)
    if (before !== null && before !== session.user.id) await forgetSeen()
    localStorage.setItem(LAST_USER, session.user.id)
    void remember('session', session)
    void tellLanguage(session.user.id)
  }

  async actAs(membership: Membership | null): Promise<void> {
    if (membership) {
      if (this.community?.slug !== membership.community.slug) {
        const { slug } = membership.community
        const begun = this.#read?.slug === slug ? this.#read.community : null
        this.#read = null
        const read = () => begun ?? people.community(slug)
        this.community = await readOrRecall(`community ${slug}`, read)
      }
      localStorage.setItem(KEPT, nameOf(membership))
    } else {
      this.community = null
    }
    this.membership = membership
  }

  async refresh(): Promise<void> {
    const begun = this.#session
    this.#session = null
    const read = () => begun ?? people.session(AbortSignal.timeout(ANSWER_MS_MAX))
    // One that has run out does not take the place of the kept one: the route can still be driven.
    await this.enter(await readOrRecall('session', read, ({ user }) => user !== null))
  }

  async signOut(): Promise<void> {
    await people.signOut()
    const { stopPush } = await import('./push')
    await stopPush()
    await this.forget()
  }

  /** The session is over, here as there: what was read goes from this device. */
  async forget(): Promise<void> {
    localStorage.removeItem(KEPT)
    await forgetSeen()
    await this.enter({ user: null, memberships: [] })
  }

  /** The slug of the community acted in; screens of a role are only reached with one. */
  get slug(): string {
    return this.community?.slug ?? ''
  }

  get timezone(): string {
    return this.community?.timezone ?? 'UTC'
  }

  get currency(): string {
    return this.community?.currency ?? 'XXX'
  }
}

export const here = new Here()
