const TYPED = /^[-−]?\d{1,3}(?:[.,]\d+)?$/

/** Return typed decimal degrees, or null for what is none or lies outside of ±limit. */
export function degreesOfTyped(typed: string, limit: number): number | null {
  const text = typed.trim()
  if (!TYPED.test(text)) return null
  const value = Number(text.replace('−', '-').replace(',', '.'))
  return Math.abs(value) <= limit ? value : null
}
