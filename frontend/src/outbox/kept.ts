/** Actions as they are kept on the device, and which of them goes out next. */
import type { FieldProblem } from '../api/problem'
import { comesAfter, type Deed, type DeedState } from '../rules/deeds'

export interface Refusal {
  status: number
  code: string
  detail: string
  fields: readonly FieldProblem[]
}

export interface KeptAction {
  /** Ascends in the order in which things were done. */
  readonly id: number
  /** The Idempotency-Key: made at the moment of the action, the same with every try. */
  readonly key: string
  /** When it happened, ISO 8601 in UTC. */
  readonly at: string
  /** The id of the person who did it: nobody else's session sends it. */
  readonly by: string
  readonly lane: string
  /** The place, container or route by its name, for the list. */
  readonly about: string
  readonly deed: Deed
  /** The request as it is sent, kept whole: a later version of the app sends the same one. */
  readonly address: string
  readonly body: unknown
  /** A picture that goes with it, until it has arrived. */
  readonly photo?: Blob | null
  readonly state: DeedState
  /** Why it needs the person. */
  readonly refusal: Refusal | null
  /** ISO 8601 in UTC. */
  readonly arrived_at: string | null
}

/** How an action is shown: also what is on its way now, and what waits behind a refused one. */
export type Shown = DeedState | 'on_its_way' | 'waits'

/** What has not arrived yet, first things first. */
export function waiting(actions: readonly KeptAction[]): KeptAction[] {
  return actions.filter(({ state }) => state !== 'arrived').sort((a, b) => a.id - b.id)
}

/** The queues in which nothing earlier may wait when an action is sent. */
function lanesOf({ lane, deed }: KeptAction): string[] {
  const other = comesAfter(deed)
  return other === null ? [lane] : [lane, other]
}

/**
 * Return the action to send now, or null: the first of a person's own that is first in its lanes,
 * where none of these is held back; one with a picture, which takes long, only when nothing else
 * can go. A refused action holds its lane until it is settled.
 */
export function nextToSend(
  actions: readonly KeptAction[],
  by: string,
  heldLanes: ReadonlySet<string>,
): KeptAction | null {
  const due = waiting(actions)
  const isFirst = (lane: string, { id }: KeptAction): boolean =>
    !heldLanes.has(lane) && !due.some((other) => other.lane === lane && other.id < id)
  const free = due.filter(
    (action) =>
      action.state === 'kept' &&
      action.by === by &&
      lanesOf(action).every((lane) => isFirst(lane, action)),
  )
  return free.find(({ photo }) => !photo) ?? free[0] ?? null
}

export function shownAs(
  action: KeptAction,
  actions: readonly KeptAction[],
  sendingId: number | null,
): Shown {
  if (action.state !== 'kept') return action.state
  if (action.id === sendingId) return 'on_its_way'
  const lanes = lanesOf(action)
  const isBehind = actions.some(
    ({ id, lane, state }) => state === 'needs_you' && lanes.includes(lane) && id < action.id,
  )
  return isBehind ? 'waits' : 'kept'
}
