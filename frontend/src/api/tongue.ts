/** Tells the server in which language somebody reads here, so that their mails are written in it. */
import { language } from '../messages'
import { newKey, patch } from '../outbox/action'
import { Problem } from './problem'

const TOLD = 'millrace.language_told'

/** Tell it once for each change; when it does not arrive, the next start tells it again. */
export async function tellLanguage(user_id: string): Promise<void> {
  const now = `${user_id} ${language()}`
  // English is what the server begins with.
  const before = localStorage.getItem(TOLD) ?? `${user_id} en`
  if (before === now) return
  try {
    await patch(newKey(), '/api/v1/account/', {}, { language: language() })
    localStorage.setItem(TOLD, now)
  } catch (error) {
    if (!(error instanceof Problem)) throw error
  }
}
