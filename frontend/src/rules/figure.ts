/** Figures that people type, with a point or a comma. */

const TYPED = /^-?\d{1,9}(?:[.,]\d{0,4})?$/

/** Return the number typed, or null for what is not one with at most so many decimals. */
export function numberOfTyped(typed: string, decimals_max: number): number | null {
  const text = typed.trim().replace(',', '.')
  if (!TYPED.test(text)) return null
  const [, part = ''] = text.split('.')
  return part.length > decimals_max ? null : Number(text)
}

/** Return per cent as the API takes a share: `70` is `"0.7"`; no float is used beyond a digit. */
export function shareOfPercent(percent: number): string {
  return String(Number((percent / 100).toFixed(5)))
}
