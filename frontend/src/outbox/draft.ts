/** What someone has typed and not yet sent, kept on this device under a name. */

const PREFIX = 'millrace.draft.'

export function keptDraft<T extends object>(name: string, empty: T): T {
  try {
    return { ...empty, ...(JSON.parse(localStorage.getItem(PREFIX + name) ?? '{}') as Partial<T>) }
  } catch {
    return empty
  }
}

/** Keep a draft; returns false where the device has no room or does not allow it. */
export function keepDraft(name: string, draft: object): boolean {
  try {
    localStorage.setItem(PREFIX + name, JSON.stringify(draft))
    return true
  } catch {
    return false
  }
}

export function dropDraft(name: string): void {
  localStorage.removeItem(PREFIX + name)
}
