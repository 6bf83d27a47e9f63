import { expect, it } from 'vitest'
import type { Expected } from '../api/types'
import { firstFull, likelyRange } from './expected'

const fullOn = (full_on: string | null) => ({ full_on }) as Expected

it('says no more than full, and nothing of a range where it surely is', () => {
  expect(likelyRange({ low_percent: 40, high_percent: 70 })).toEqual({ low: 0.4, high: 0.7 })
  expect(likelyRange({ low_percent: 80, high_percent: 130 })).toEqual({ low: 0.8, high: 1 })
  expect(likelyRange({ low_percent: 100, high_percent: 160 })).toBeNull()
})

it('a place is full when its first container is', () => {
  expect(firstFull([fullOn('2026-03-09'), null, fullOn('2026-03-05'), fullOn(null)])).toBe(
    '2026-03-05',
  )
  expect(firstFull([null, fullOn(null)])).toBeNull()
})
