/** Numbers, masses, days and times as the locale writes them. */
import { locale } from './index'

const made = new Map<string, Intl.NumberFormat | Intl.DateTimeFormat>()

function numbers(options: Intl.NumberFormatOptions): Intl.NumberFormat {
  const name = 'n' + JSON.stringify(options)
  const kept = made.get(name) ?? new Intl.NumberFormat(locale(), options)
  made.set(name, kept)
  return kept as Intl.NumberFormat
}

function dates(options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const name = 'd' + JSON.stringify(options)
  const kept = made.get(name) ?? new Intl.DateTimeFormat(locale(), options)
  made.set(name, kept)
  return kept as Intl.DateTimeFormat
}

export function number(value: number, digits_max = 0): string {
  return numbers({ maximumFractionDigits: digits_max }).format(value)
}

/** How a unit is written beside a figure: `kg`, `l`. */
export function unitSign(unit: 'kilogram' | 'liter' | 'kilometer'): string {
  const parts = numbers({ style: 'unit', unit }).formatToParts(2)
  return parts.find((part) => part.type === 'unit')?.value ?? unit
}

/** Grams, to the gram: `850 g`, `12.345 kg`. */
export function mass(mass_g: number): string {
  if (Math.abs(mass_g) < 1000) return numbers({ style: 'unit', unit: 'gram' }).format(mass_g)
  const options = { style: 'unit', unit: 'kilogram', maximumFractionDigits: 3 } as const
  return numbers({ ...options, minimumFractionDigits: 1 }).format(mass_g / 1000)
}

/** Grams in whole columns, always in kilograms with three places, so that they line up. */
export function massInColumn(mass_g: number): string {
  return numbers({ minimumFractionDigits: 3, maximumFractionDigits: 3 }).format(mass_g / 1000)
}

/** A mass that is only expected or estimated, with no more digits than it is worth. */
export function roughMass(mass_g: number): string {
  const digits = { maximumSignificantDigits: 2 } as const
  if (mass_g < 1000) return numbers({ style: 'unit', unit: 'gram', ...digits }).format(mass_g)
  return numbers({ style: 'unit', unit: 'kilogram', ...digits }).format(mass_g / 1000)
}

export function volume(volume_ml: number): string {
  const options = { style: 'unit', unit: 'liter', maximumFractionDigits: 0 } as const
  return numbers(options).format(volume_ml / 1000)
}

export function distance(distance_m: number): string {
  if (distance_m < 1000) {
    return numbers({ style: 'unit', unit: 'meter', maximumSignificantDigits: 2 }).format(distance_m)
  }
  const options = { style: 'unit', unit: 'kilometer', maximumFractionDigits: 1 } as const
  return numbers(options).format(distance_m / 1000)
}

/** Seconds as hours and minutes: `2 hr 5 min`. */
export function duration(duration_s: number): string {
  const minutes = Math.round(duration_s / 60)
  const hour = numbers({ style: 'unit', unit: 'hour' }).format(Math.floor(minutes / 60))
  const minute = numbers({ style: 'unit', unit: 'minute' }).format(minutes % 60)
  return minutes < 60 ? minute : minutes % 60 === 0 ? hour : `${hour} ${minute}`
}

/** A share as the API writes it: `"0.02"` is `2%`. */
export function share(fraction: number | string, digits_max = 1): string {
  return numbers({ style: 'percent', maximumFractionDigits: digits_max }).format(Number(fraction))
}

export function money(amount: string | number, currency: string): string {
  return numbers({ style: 'currency', currency }).format(Number(amount))
}

/** A difference, which says whether it is more or less: `+1.4 km`, `−0.50 €`. */
export function signed(value: number, said: (size: number) => string): string {
  const sign = value > 0 ? '+' : value < 0 ? '−' : ''
  return sign + said(Math.abs(value))
}

/** A calendar day `YYYY-MM-DD`, which has no time zone. */
export function day(iso: string): string {
  return dates({ weekday: 'short', day: 'numeric', month: 'short', timeZone: 'UTC' }).format(
    new Date(iso + 'T00:00Z'),
  )
}

export function dayInYear(iso: string): string {
  return dates({ day: 'numeric', month: 'short', year: 'numeric', timeZone: 'UTC' }).format(
    new Date(iso + 'T00:00Z'),
  )
}

/** A month `YYYY-MM`. */
export function month(iso: string): string {
  return dates({ month: 'short', year: 'numeric', timeZone: 'UTC' }).format(
    new Date(iso.slice(0, 7) + '-01T00:00Z'),
  )
}

/** A month for the axis of a chart, the year only where it begins. */
export function monthOnAxis(iso: string): string {
  const options = iso.slice(5, 7) === '01' ? ({ year: 'numeric' } as const) : undefined
  return dates({ timeZone: 'UTC', ...(options ?? { month: 'short' }) }).format(
    new Date(iso.slice(0, 7) + '-01T00:00Z'),
  )
}

/** The time of day of a moment, by the community's clock. */
export function clock(moment: string, timezone: string): string {
  const options = { hour: '2-digit', minute: '2-digit', timeZone: timezone } as const
  return dates(options).format(new Date(moment))
}

/** A time of any day, such as 09:00, as the language writes it. */
export function timeOfDay(written: string): string {
  return clock(`1970-01-01T${written}Z`, 'UTC')
}

/** The day of a moment, by the community's clock. */
export function dayOfMoment(moment: string, timezone: string): string {
  const options = { weekday: 'short', day: 'numeric', month: 'short' } as const
  return dates({ ...options, timeZone: timezone }).format(new Date(moment))
}

/** The name of a weekday, 0 is Monday. */
export function weekday(index: number, form: 'long' | 'short' = 'long'): string {
  // 1 January 2024 was a Monday.
  return dates({ weekday: form, timeZone: 'UTC' }).format(new Date(Date.UTC(2024, 0, 1 + index)))
}

/** A list of words: `caps, tubs and lids`. */
export function list(
  words: readonly string[],
  type: 'conjunction' | 'disjunction' = 'conjunction',
) {
  return new Intl.ListFormat(locale(), { type }).format(words)
}

/** How the locale writes a decimal: a point or a comma. */
export function decimalSign(): string {
  return (
    numbers({ minimumFractionDigits: 1 })
      .formatToParts(1.5)
      .find((p) => p.type === 'decimal')?.value ?? '.'
  )
}

/** A figure as it is typed over: `0.4` is `0,4` where the locale writes a comma. */
export function typed(figure: string | number): string {
  return String(figure).replace('.', decimalSign())
}

/** An amount of money as it is typed over: `"0.4000"` is `0,40`, and `"0.0350"` is `0,035`. */
export function typedMoney(amount: string | number): string {
  const digits = { minimumFractionDigits: 2, maximumFractionDigits: 4 } as const
  return numbers({ ...digits, useGrouping: false }).format(Number(amount))
}
