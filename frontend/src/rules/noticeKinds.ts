/** Which kinds of notices a person of a role is ever sent. */
import type { NoticeKind, Role } from '../api/types'

const SENT_TO: Record<NoticeKind, readonly Role[]> = {
  pickup_booked: ['contact'],
  pickup_moved: ['contact'],
  pickup_called_off: ['contact'],
  pickup_on_its_way: ['contact'],
  pickup_done: ['contact'],
  pickup_missed: ['contact'],
  feedback: ['contact'],
  rules_changed: ['contact'],
  place_admitted: ['contact'],
  place_refused: ['contact'],
  pickup_asked: ['maker'],
  week_summary: ['organiser'],
  webhook_disabled: ['maker', 'organiser'],
}

export function isSentTo(roles: readonly Role[], kind: NoticeKind): boolean {
  return SENT_TO[kind].some((role) => roles.includes(role))
}
