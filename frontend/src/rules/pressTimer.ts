/** When to do what at the press, worked out from the plan alone, so that it needs no connection. */

export interface TimerPlan {
  melt: { s: number }
  hold: { s: number }
  press_at_s: readonly number[]
}

/** What is under the press, as it is kept on this device. */
export interface RunningPress {
  pressing_id: string
  batch_id: string
  name: string
  set_c: number
  plan: TimerPlan
  /** Moments in ms since 1970: a phone that slept still knows how long it was. */
  melt_began_ms: number | null
  hold_began_ms: number | null
}

export interface Due {
  kind: 'wait' | 'melting' | 'melted' | 'press' | 'cooled'
  /** Seconds since this part began. */
  passed_s: number
  /** Seconds until what is next; 0 when it is now. */
  left_s: number
  /** Which pressing again comes next, from 1; 0 where none does. */
  next_press: number
}

function since(began_ms: number, now_ms: number): number {
  return Math.max(0, Math.floor((now_ms - began_ms) / 1000))
}

export function dueNow(running: RunningPress, now_ms: number): Due {
  const { plan, melt_began_ms, hold_began_ms } = running
  if (hold_began_ms !== null) return holding(plan, since(hold_began_ms, now_ms))
  if (melt_began_ms === null) return { kind: 'wait', passed_s: 0, left_s: 0, next_press: 0 }
  const passed_s = since(melt_began_ms, now_ms)
  const left_s = Math.max(0, plan.melt.s - passed_s)
  return { kind: left_s > 0 ? 'melting' : 'melted', passed_s, left_s, next_press: 0 }
}

function holding(plan: TimerPlan, passed_s: number): Due {
  if (passed_s >= plan.hold.s) return { kind: 'cooled', passed_s, left_s: 0, next_press: 0 }
  const next = plan.press_at_s.findIndex((at_s) => at_s > passed_s)
  const until_s = plan.press_at_s[next] ?? plan.hold.s
  return { kind: 'press', passed_s, left_s: until_s - passed_s, next_press: next + 1 }
}

/** How many times to press so far, for noticing that it is time once more. */
export function pressesDue(plan: TimerPlan, passed_s: number): number {
  return plan.press_at_s.filter((at_s) => at_s <= passed_s).length
}

/** Seconds on a clock: `4:05`, `1:04:05`. */
export function clockOf(duration_s: number): string {
  const pad = (part: number) => String(part).padStart(2, '0')
  const hours = Math.floor(duration_s / 3600)
  const minutes = Math.floor((duration_s % 3600) / 60)
  return (hours ? [hours, pad(minutes)] : [minutes]).concat(pad(duration_s % 60)).join(':')
}
