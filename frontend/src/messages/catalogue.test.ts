import IntlMessageFormat from 'intl-messageformat'
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import first from './en'
import account from './en/account.json'
import agreeing from './en/agreeing.json'
import reporting from './en/reporting.json'
import working from './en/working'
import workshop from './en/workshop.json'

const en = { ...first, ...account, ...agreeing, ...reporting, ...working, ...workshop }
const SOURCE = join(import.meta.dirname, '..')

function sources(folder: string): string[] {
  return readdirSync(folder, { recursive: true, encoding: 'utf8' })
    .filter((name) => /\.(svelte|ts)$/.test(name) && !/\.test\.ts$|schema\.d\.ts$/.test(name))
    .map((name) => readFileSync(join(folder, name), 'utf8'))
}

/** A key is written whole ('a.b') or as a family (`a.${kind}`), never put together otherwise. */
function keysIn(source: string): { whole: string[]; families: RegExp[] } {
  const whole = [...source.matchAll(/'([a-z_]+\.[a-z0-9_.]+)'/g)].map((m) => m[1] ?? '')
  const families = [...source.matchAll(/\bt\(`([^`]*\$\{[^`]+)`/g)].map((m) => m[1] ?? '')
  return { whole, families: families.map(familyOf) }
}

function familyOf(template: string): RegExp {
  const parts = template.split(/\$\{[^}]+\}/).map((part) => part.replace(/\./g, '\\.'))
  return new RegExp(`^${parts.join('[a-z0-9_]+')}$`)
}

const keys = Object.keys(en)
const used = sources(SOURCE).map(keysIn)
const whole = new Set(used.flatMap((u) => u.whole))
const families = used.flatMap((u) => u.families)

describe('the English catalogue', () => {
  it('has every key that a screen uses', () => {
    const called = sources(SOURCE).flatMap((s) =>
      [...s.matchAll(/\bt\(\s*'([^']+)'/g)].map((m) => m[1] ?? ''),
    )
    expect(called.length).toBeGreaterThan(50)
    expect(called.filter((key) => !keys.includes(key))).toEqual([])
  })

  it('has no key that nobody uses', () => {
    const unused = keys.filter(
      (key) => !whole.has(key) && !families.some((family) => family.test(key)),
    )
    expect(unused).toEqual([])
  })

  it.each(Object.entries(en))('%s is a sound message', (_key, text) => {
    expect(text.trim()).toBe(text)
    expect(text).not.toBe('')
    expect(() => new IntlMessageFormat(text, 'en', undefined, { ignoreTag: true })).not.toThrow()
  })
})
