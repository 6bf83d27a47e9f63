/** Which kinds of notices a person of a role is ever sent. */
import type { NoticeKind, Role } from '../api/types'

const OF_ROLE: Record<Role, readonly NoticeKind[]> = {
  contact: [
    'pickup_booked',
    'pickup_moved',
    'pickup_called_off',
    'pickup_on_its_way',
    'pickup_done',
    'pickup_missed',
    'feedback',
    'rules_changed',
    'place_admitted',
    'place_refused',
  ],
  driver: [],
  maker: ['pickup_asked'],
  organiser: ['week_summary'],
}

export function kindsFor(roles: readonly Role[]): ReadonlySet<NoticeKind> {
  return new Set(roles.flatMap((role) => OF_ROLE[role]))
}
