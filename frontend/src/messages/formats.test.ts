import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest'
import { loadPart, loadMessages, t } from '.'
import {
  day,
  duration,
  mass,
  money,
  number,
  roughMass,
  share,
  timeOfDay,
  typed,
  typedMoney,
} from './formats'

/** A browser of this language, as far as words and figures ask for one. */
async function browserOf(tag: string): Promise<{ lang: string }> {
  const root = { lang: '' }
  vi.stubGlobal('navigator', { languages: [tag] })
  vi.stubGlobal('localStorage', { getItem: () => null })
  vi.stubGlobal('document', { documentElement: root })
  await loadMessages()
  await loadPart('driving')
  return root
}

/** The spaces within a figure are narrow or do not break; which, is for the locale to say. */
function plain(text: string): string {
  return text.replace(/[\u00a0\u202f]/g, ' ')
}

describe('a German browser', () => {
  let root: { lang: string }
  beforeAll(async () => {
    root = await browserOf('de-AT')
  })
  afterAll(() => vi.unstubAllGlobals())

  it('is told so', () => expect(root.lang).toBe('de'))
  it('reads its own sentences', () => expect(t('driving.stops', { count: 2 })).toBe('2 Halte'))
  it('ends a sentence once that ends in a short form', () => {
    expect(t('fill.last', { day: 'Mi., 25. Nov.' })).toBe('Zuletzt gemeldet am Mi., 25. Nov.')
  })
  it('reads a plural of one', () => expect(t('driving.stops', { count: 1 })).toBe('1 Halt'))

  // CLDR 44, de: decimal comma, point between thousands, a space before the per cent sign.
  it.each([
    [() => mass(12_345), '12,345 kg'],
    [() => mass(850), '850 g'],
    [() => roughMass(1_260), '1,3 kg'],
    [() => share('0.025'), '2,5 %'],
    [() => duration(7_500), '2 Std. 5 Min.'],
    [() => day('2026-03-02'), 'Mo., 2. März'],
    [() => timeOfDay('14:30'), '14:30'],
    [() => typed('0.40'), '0,40'],
    [() => typedMoney('0.4000'), '0,40'],
    [() => typedMoney(0.035), '0,035'],
    [() => typedMoney('1234.5000'), '1234,50'],
  ])('writes %s as %s', (shown, expected) => expect(plain(shown())).toBe(expected))

  it('writes money with a comma', () => expect(money('12.5', 'EUR')).toContain('12,50'))
  it('parts thousands', () => expect(number(1_234_567)).not.toBe('1234567'))
})
