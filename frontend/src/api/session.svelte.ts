/** Who is signed in, and in which community and role they are acting now. */
import * as people from './people'
import type { Community, Membership, Session } from './types'

const KEPT = 'millrace.acting_as'

function nameOf(membership: Membership): string {
  return [membership.community.slug, membership.role, membership.organisation?.id ?? ''].join(' ')
}

class Here {
  session = $state.raw<Session>({ user: null, memberships: [] })
  /** The role acted in; null before one is chosen. */
  membership = $state.raw<Membership | null>(null)
  /** The community of that role, once it was read. */
  community = $state.raw<Community | null>(null)

  /** Take over a session and, where it is clear, the role to act in. */
  async enter(session: Session): Promise<void> {
    this.session = session
    const kept = localStorage.getItem(KEPT)
    const { memberships } = session
    const found = memberships.find((m) => nameOf(m) === kept)
    const only = memberships.length === 1 ? memberships[0] : undefined
    await this.actAs(found ?? only ?? null)
  }

  async actAs(membership: Membership | null): Promise<void> {
    if (membership) {
      if (this.community?.slug !== membership.community.slug) {
        this.community = await people.community(membership.community.slug)
      }
      localStorage.setItem(KEPT, nameOf(membership))
    } else {
      this.community = null
    }
    this.membership = membership
  }

  async refresh(): Promise<void> {
    await this.enter(await people.session())
  }

  async signOut(): Promise<void> {
    await people.signOut()
    localStorage.removeItem(KEPT)
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
