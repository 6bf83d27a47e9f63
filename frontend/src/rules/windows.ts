/** When one can come: weekly windows, as typed and as shown. */
import type { AccessWindow, CalendarSpan } from '../api/types'

const WORKDAYS = [0, 1, 2, 3, 4]

export const PRESETS = {
  school_day: windows(WORKDAYS, '08:00', '15:00'),
  mornings: windows(WORKDAYS, '08:00', '12:00'),
  afternoons: windows(WORKDAYS, '13:00', '17:00'),
  shop_hours: windows([0, 1, 2, 3, 4, 5], '09:00', '18:00'),
} as const

export type Preset = keyof typeof PRESETS

function windows(weekdays: number[], opens: string, closes: string): AccessWindow[] {
  return weekdays.map((weekday) => ({ weekday, opens, closes }))
}

/** Times without the seconds that a server may add. */
export function shortTime(time: string): string {
  return time.slice(0, 5)
}

/** Windows of the same times, with all their weekdays, in the order of the week. */
export function byTimes(all: readonly AccessWindow[]): { weekdays: number[]; times: string }[] {
  const found = new Map<string, number[]>()
  for (const { weekday, opens, closes } of [...all].sort((a, b) => a.weekday - b.weekday)) {
    const times = `${shortTime(opens)}–${shortTime(closes)}`
    found.set(times, [...(found.get(times) ?? []), weekday])
  }
  return [...found].map(([times, weekdays]) => ({ times, weekdays }))
}

/** Weekdays as runs: `[0,1,2,4]` is `[[0,2],[4,4]]`. */
export function runs(weekdays: readonly number[]): [number, number][] {
  const found: [number, number][] = []
  for (const weekday of weekdays) {
    const last = found.at(-1)
    if (last && last[1] === weekday - 1) last[1] = weekday
    else found.push([weekday, weekday])
  }
  return found
}

export type WindowFault = 'no_window' | 'closes_first' | 'span_order' | 'span_open'

/** What is wrong with the times, before they are sent. */
export function windowFault(
  all: readonly AccessWindow[],
  spans: readonly CalendarSpan[],
): WindowFault | null {
  if (all.length === 0) return 'no_window'
  if (all.some((w) => !w.opens || !w.closes || w.opens >= w.closes)) return 'closes_first'
  if (spans.some((s) => !s.first_day || !s.last_day)) return 'span_open'
  if (spans.some((s) => s.first_day > s.last_day)) return 'span_order'
  return null
}
