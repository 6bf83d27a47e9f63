import { describe, expect, it } from 'vitest'
import { clockOf, dueNow, pressesDue, type RunningPress } from './pressTimer'

const running: RunningPress = {
  pressing_id: 'p',
  batch_id: 'b',
  name: 'Tile',
  set_c: 170,
  plan: { melt: { s: 600 }, hold: { s: 900 }, press_at_s: [0, 240, 540] },
  melt_began_ms: 1_000_000,
  hold_began_ms: null,
}
const pressing: RunningPress = { ...running, hold_began_ms: 2_000_000 }
const after = (s: number) => 2_000_000 + s * 1000

describe('the timer at the press', () => {
  it('waits until melting is begun', () => {
    expect(dueNow({ ...running, melt_began_ms: null }, 5_000_000).kind).toBe('wait')
  })

  it('counts down to melted through', () => {
    expect(dueNow(running, 1_100_000)).toMatchObject({ kind: 'melting', left_s: 500 })
    expect(dueNow(running, 1_600_000)).toMatchObject({ kind: 'melted', left_s: 0 })
  })

  it('says when to press again, the last time until it is cool', () => {
    expect(dueNow(pressing, after(10))).toMatchObject({ kind: 'press', left_s: 230, next_press: 2 })
    expect(dueNow(pressing, after(300))).toMatchObject({ left_s: 240, next_press: 3 })
    expect(dueNow(pressing, after(600))).toMatchObject({ left_s: 300, next_press: 0 })
    expect(dueNow(pressing, after(900)).kind).toBe('cooled')
  })

  it('knows how long it was after the phone slept', () => {
    expect(pressesDue(running.plan, 0)).toBe(1)
    expect(pressesDue(running.plan, 541)).toBe(3)
  })

  it('writes time as a clock does', () => {
    expect([5, 245, 3845].map(clockOf)).toEqual(['0:05', '4:05', '1:04:05'])
  })
})
