import { expect, test } from 'vitest'
import { pushedFrom, screenOf } from './push'

const SAID = { id: '1', title: 'A visit', body: 'On Monday', link: '/places/1/visits' }

test('a message of ours is read whole', () => {
  expect(pushedFrom(JSON.stringify(SAID))).toEqual(SAID)
  expect(pushedFrom(JSON.stringify({ ...SAID, more: 1 }))).toEqual(SAID)
})

test.each([undefined, '', 'no JSON', 'null', '7', '[]', '{}', '{"title": "A visit"}'])(
  'what is none is left: %s',
  (text) => {
    expect(pushedFrom(text)).toBeNull()
  },
)

test('a tap opens a screen of this app and nothing else', () => {
  expect(screenOf('/places/1/visits')).toBe('/#/places/1/visits')
  for (const link of ['https://elsewhere.example', '//elsewhere.example', '', undefined, 7]) {
    expect(screenOf(link)).toBe('/#/')
  }
})
