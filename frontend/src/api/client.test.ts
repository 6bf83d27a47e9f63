import { expect, it } from 'vitest'
import { addressOf } from './client'

it('names in a path are filled and made safe', () => {
  expect(addressOf('/a/{id}/b/{tag}/', { id: 7, tag: 'x/y z' })).toBe('/a/7/b/x%2Fy%20z/')
})

it('a missing name is a mistake of ours', () => {
  expect(() => addressOf('/a/{id}/', {})).toThrow('needs id')
})

it('a query repeats lists and leaves out what is empty', () => {
  expect(addressOf('/a/', {}, { status: ['asked', 'planned'], q: '', kind: undefined, n: 0 })).toBe(
    '/a/?status=asked&status=planned&n=0',
  )
})
