/** Mass is whole grams everywhere; people type kilograms. */

const TYPED_KG = /^\d{0,6}(?:[.,]\d{0,3})?$/

/** Return the grams of typed kilograms, or null for what is not a mass. Exact: no float is used. */
export function gramsOfTypedKg(typed: string): number | null {
  const text = typed.trim()
  if (!TYPED_KG.test(text) || !/\d/.test(text)) return null
  const [whole = '', part = ''] = text.replace(',', '.').split('.')
  return Number(whole || '0') * 1000 + Number(part.padEnd(3, '0'))
}

/** Return grams as kilograms to type over: `1250` is `1.25`. */
export function typedKgOfGrams(mass_g: number, decimal = '.'): string {
  const part = String(mass_g % 1000)
    .padStart(3, '0')
    .replace(/0+$/, '')
  const whole = String(Math.trunc(mass_g / 1000))
  return part ? whole + decimal + part : whole
}

/** Return gross less tare, or null while either is missing or nothing would be left. */
export function netOf(gross_g: number | null, tare_g: number | null): number | null {
  if (gross_g === null || tare_g === null || gross_g <= tare_g) return null
  return gross_g - tare_g
}
