import { expect, it } from 'vitest'
import { lastMonthsEnd } from './closing'

it.each([
  ['2026-11-25', '2026-10-31'],
  ['2026-01-01', '2025-12-31'],
  ['2024-03-31', '2024-02-29'],
])('on %s the month to close ends on %s', (today, end) => {
  expect(lastMonthsEnd(today)).toBe(end)
})
