import fc from 'fast-check'
import { expect, it } from 'vitest'
import { tagOfCode, tagOfTyped } from './tag'

it.each(['k7 42', 'K7-042', ' k7-42 ', 'K7042', 'k7–042'])('%s is meant as K7-042', (typed) => {
  expect(tagOfTyped(typed)).toBe('K7-042')
})

it('a tag of another form stays as it was typed, in capitals', () => {
  expect(tagOfTyped('blue drum')).toBe('BLUE DRUM')
})

it('the code on a label leads to its tag, wherever the app is served', () => {
  expect(tagOfCode('https://isle.example/#/t/K7-042')).toBe('K7-042')
  expect(tagOfCode('http://127.0.0.1:8000/#/t/k7-042')).toBe('K7-042')
  expect(tagOfCode('K7-042')).toBe('K7-042')
})

it.each(['https://isle.example/', 'https://isle.example/#/passport/t/x', 'WIFI:S:school;;', ''])(
  'the code %s is of something else',
  (read) => expect(tagOfCode(read)).toBeNull(),
)

it('whatever tag there is, its label is read as that tag', () => {
  const tag = fc
    .tuple(fc.constantFrom(...'CHKMQRWY'), fc.nat(9), fc.integer({ min: 1, max: 9_999 }))
    .map(([letter, digit, number]) => `${letter}${digit}-${String(number).padStart(3, '0')}`)
  fc.assert(
    fc.property(
      tag,
      fc.constantFrom('https://isle.example/', 'http://[::1]:8000/'),
      (made, address) => {
        expect(tagOfTyped(made)).toBe(made)
        expect(tagOfCode(`${address}#/t/${made}`)).toBe(made)
      },
    ),
  )
})
