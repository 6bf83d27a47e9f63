/** Sends what is kept, in order, until all has arrived or it is better to try again later. */
import { Problem } from '../api/problem'
import { nextToSend, type KeptAction, type Refusal } from './kept'

/** What the sender needs of the world around it. */
export interface Surroundings {
  /** All kept actions, read anew before each one is sent. */
  actions(): Promise<KeptAction[]>
  /** Send one; raises Problem. */
  send(action: KeptAction): Promise<unknown>
  arrived(action: KeptAction): Promise<unknown>
  /** Not possible as it is: a person has to settle it. */
  refused(action: KeptAction, refusal: Refusal): Promise<unknown>
}

export type Outcome = 'all_sent' | 'try_later' | 'signed_out'

// Too slow, too early, too many: the same request may well be taken later.
const PASSING = new Set([408, 425, 429])

/** Send what this person has kept. A refused action or a fault of the server holds its lane only. */
export async function deliver(world: Surroundings, by: string): Promise<Outcome> {
  const heldLanes = new Set<string>()
  for (;;) {
    const action = nextToSend(await world.actions(), by, heldLanes)
    if (!action) return heldLanes.size ? 'try_later' : 'all_sent'
    try {
      await world.send(action)
    } catch (error) {
      if (!(error instanceof Problem)) throw error
      if (error.status === 401) return 'signed_out'
      if (error.isConnection) return 'try_later'
      if (isPassing(error)) heldLanes.add(action.lane)
      else await world.refused(action, refusalOf(error))
      continue
    }
    await world.arrived(action)
  }
}

// A form token that has run out is renewed with the next look at the session.
function isPassing({ status, code }: Problem): boolean {
  return status >= 500 || PASSING.has(status) || code === 'csrf_failed'
}

export function refusalOf({ status, code, message, fields }: Problem): Refusal {
  return { status, code, detail: message, fields }
}

export function problemOfRefusal({ status, code, detail, fields }: Refusal): Problem {
  return new Problem({ status, code, detail, fields: [...fields] })
}
