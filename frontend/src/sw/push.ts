/** What the server pushes is shown, and a tap on it opens the screen it is about. */

export interface Pushed {
  id: string
  title: string
  body: string
  /** A path within the app, such as `/places/…/visits`. */
  link: string
}

/** Read a message; null for what is not one of ours. */
export function pushedFrom(text: string | undefined): Pushed | null {
  let said: unknown
  try {
    said = JSON.parse(text ?? '')
  } catch {
    return null
  }
  if (typeof said !== 'object' || said === null) return null
  const { id, title, body, link } = said as Record<string, unknown>
  const parts = [id, title, body, link]
  if (!parts.every((part) => typeof part === 'string')) return null
  return { id, title, body, link } as Pushed
}

/** The address of a screen in this app: nothing that is pushed leads anywhere else. */
export function screenOf(link: unknown): string {
  return typeof link === 'string' && /^\/(?!\/)/.test(link) ? `/#${link}` : '/#/'
}
