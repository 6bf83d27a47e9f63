import { describe, expect, it } from 'vitest'
import { onwardOf } from './onward'

describe('after signing in', () => {
  it('one goes on to the screen one came from', () => {
    expect(onwardOf('/register/isle')).toBe('/register/isle')
    expect(onwardOf(null)).toBe('/')
  })

  it.each([
    'https://192.0.2.1/',
    '//192.0.2.1/',
    '/\\192.0.2.1/',
    'javascript:alert(1)',
    '#//192.0.2.1/',
    ' /places',
    '',
  ])('nobody is led elsewhere: %s', (address) => {
    expect(onwardOf(address)).toBe('/')
  })
})
