/** Tags of containers: as they are scanned, typed and compared. */

const IN_ADDRESS = /#\/t\/([^/?#\s]+)\s*$/
const TYPED = /^([A-Z]\d)[\s.\-–]*(\d{1,4})$/

/** Return a tag as it stands on its label: `k7 42` is `K7-042`; what has another form stays. */
export function tagOfTyped(typed: string): string {
  const text = typed.trim().toUpperCase()
  const [, letter, number = ''] = TYPED.exec(text) ?? []
  return letter ? `${letter}-${number.padStart(3, '0')}` : text
}

/** Return the tag that a label's code leads to, or null for a code of something else. */
export function tagOfCode(read: string): string | null {
  const [, inAddress] = IN_ADDRESS.exec(read) ?? []
  if (inAddress) return tagOfTyped(decodeURIComponent(inAddress))
  const tag = tagOfTyped(read)
  return TYPED.test(tag) ? tag : null
}
