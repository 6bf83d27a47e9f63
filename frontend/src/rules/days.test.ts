import { expect, it } from 'vitest'
import { dayAfter, daysFrom, firstFree } from './days'

it('days follow each other over the end of a month', () => {
  expect(daysFrom('2028-02-28', 3)).toEqual(['2028-02-28', '2028-02-29', '2028-03-01'])
  expect(dayAfter('2026-01-01', -1)).toBe('2025-12-31')
})

it('the first day that is not taken is free, and none where all are', () => {
  const days = daysFrom('2026-03-02', 3)
  expect(firstFree(days, [])).toEqual(['2026-03-02'])
  expect(firstFree(days, ['2026-03-02', '2026-03-04'])).toEqual(['2026-03-03'])
  expect(firstFree(days, days)).toEqual([])
})
