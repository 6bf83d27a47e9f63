import {
  isLiteralElement,
  isPluralElement,
  isPoundElement,
  isSelectElement,
  parse,
  TYPE,
  type MessageFormatElement,
} from '@formatjs/icu-messageformat-parser'
import { readdirSync, readFileSync } from 'node:fs'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { LANGUAGES } from './languages'

type File = Record<string, string>

const SOURCE = join(import.meta.dirname, '..')
const OTHERS = Object.keys(LANGUAGES).filter((language) => language !== 'en')

/** The files of a language by their names. */
function filesOf(language: string): Map<string, File> {
  const folder = join(import.meta.dirname, language)
  const names = readdirSync(folder).filter((name) => name.endsWith('.json'))
  return new Map(
    names.map((name) => [name, JSON.parse(readFileSync(join(folder, name), 'utf8')) as File]),
  )
}

const english = filesOf('en')
const en: File = Object.assign({}, ...english.values()) as File

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

function parsed(text: string): MessageFormatElement[] {
  return parse(text, { ignoreTag: true })
}

/** Every element of a message, those inside of plurals and choices, too. */
function elements(message: MessageFormatElement[]): MessageFormatElement[] {
  return message.flatMap((one) =>
    isPluralElement(one) || isSelectElement(one)
      ? [one, ...Object.values(one.options).flatMap((option) => elements(option.value))]
      : [one],
  )
}

/** What a screen has to hand in, and as what: `{count, plural}`, `{north, select: other yes}`. */
function argumentsOf(text: string): string[] {
  const found = elements(parsed(text)).flatMap((one) => {
    if (isLiteralElement(one) || isPoundElement(one)) return []
    const choices = isSelectElement(one) ? `: ${Object.keys(one.options).sort().join(' ')}` : ''
    const kind = one.type === TYPE.argument ? '' : `, ${TYPE[one.type]}${choices}`
    return [`{${one.value}${kind}}`]
  })
  return [...new Set(found)].sort()
}

/** The CLDR categories that a plural of this message leaves out. */
function missingPlurals(language: string, text: string): string[] {
  return elements(parsed(text))
    .filter(isPluralElement)
    .flatMap((one) => {
      const rules = new Intl.PluralRules(language, { type: one.pluralType ?? 'cardinal' })
      const needed = rules.resolvedOptions().pluralCategories
      return needed.filter((category) => !(category in one.options))
    })
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
    expect(
      called.filter((key) => !keys.includes(key)),
      'write these in src/messages/en/, and in every other language',
    ).toEqual([])
  })

  it('has no key that nobody uses', () => {
    const unused = keys.filter(
      (key) => !whole.has(key) && !families.some((family) => family.test(key)),
    )
    expect(unused, 'remove these from src/messages/, in every language').toEqual([])
  })

  it('has each key once', () => {
    const all = [...english.values()].flatMap((file) => Object.keys(file))
    expect(all.length, 'a key stands in two files of src/messages/en/: remove one').toBe(
      keys.length,
    )
  })
})

describe.each(OTHERS)('the catalogue of %s', (language) => {
  const files = filesOf(language)
  const words: File = Object.assign({}, ...files.values()) as File

  it.each([...english.keys()])('has the keys of %s, no more and no fewer', (name) => {
    const [there, here] = [english.get(name) ?? {}, files.get(name) ?? {}]
    const file = `src/messages/${language}/${name}`
    const missing = Object.keys(there).filter((key) => !(key in here))
    const unknown = Object.keys(here).filter((key) => !(key in there))
    expect(missing, `translate these in ${file}; docs/glossary.de.md has the words`).toEqual([])
    expect(unknown, `remove these from ${file}: English has none such`).toEqual([])
  })

  it('hands the same values in as English does', () => {
    const differing = keys
      .filter((key) => words[key] !== undefined)
      .filter((key) => String(argumentsOf(words[key] ?? '')) !== String(argumentsOf(en[key] ?? '')))
      .map((key) => `${key}: ${argumentsOf(en[key] ?? '').join(' ')}`)
    expect(
      differing,
      `in src/messages/${language}/ each of these needs the values named beside it`,
    ).toEqual([])
  })

  it('leaves no sentence in English', () => {
    const same = keys.filter((key) => words[key] === en[key] && en[key]?.match(/\p{L}{2,} \p{L}/u))
    expect(same, `translate these in src/messages/${language}/`).toEqual([])
  })
})

describe.each(Object.keys(LANGUAGES))('every message of %s', (language) => {
  const words = [...filesOf(language).values()].flatMap((file) => Object.entries(file))

  it.each(words)('%s is sound', (key, text) => {
    const place = `${key} in src/messages/${language}/`
    expect(text.trim(), `${place} begins or ends with a space, or is empty`).toBe(text || ' ')
    expect(
      () => parsed(text),
      `${place} is no ICU message: look for an unpaired brace`,
    ).not.toThrow()
    expect(missingPlurals(language, text), `${place} needs these plural forms`).toEqual([])
  })
})
