import { expect, it } from 'vitest'
import { dayAfter, daysFrom } from './days'

it('days follow each other over the end of a month', () => {
  expect(daysFrom('2028-02-28', 3)).toEqual(['2028-02-28', '2028-02-29', '2028-03-01'])
  expect(dayAfter('2026-01-01', -1)).toBe('2025-12-31')
})
