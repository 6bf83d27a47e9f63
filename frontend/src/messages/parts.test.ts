import { existsSync, readFileSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { describe, expect, it } from 'vitest'
import first from './en'
import account from './en/account.json'
import agreeing from './en/agreeing.json'
import reporting from './en/reporting.json'
import working from './en/working'
import workshop from './en/workshop.json'

const SOURCE = join(import.meta.dirname, '..')
const PART_OF = new Map(
  Object.entries({ first, account, agreeing, reporting, working, workshop }).flatMap(
    ([part, words]) => Object.keys(words).map((key) => [key, part] as const),
  ),
)
/** What has been loaded once a screen of this kind is shown. */
const LOADED: Record<string, string[]> = {
  screen: ['first'],
  account: ['first', 'account'],
  agreeing: ['first', 'working', 'agreeing'],
  reporting: ['first', 'working', 'reporting'],
  working: ['first', 'working'],
  workshop: ['first', 'working', 'workshop'],
}

/** The file and all that it imports, now or later, but for other screens through the router. */
function reachedFrom(file: string, found = new Set<string>()): Set<string> {
  if (found.has(file) || file.endsWith('routes.ts')) return found
  found.add(file)
  for (const [, name = ''] of readFileSync(file, 'utf8').matchAll(
    /(?:from|import)\s*\(?\s*'(\.[^']+)'/g,
  )) {
    const base = join(dirname(file), name)
    const whole = [base, `${base}.ts`].find((path) => /\.\w+$/.test(path) && existsSync(path))
    if (whole) reachedFrom(whole, found)
  }
  return found
}

function keysNamedIn(file: string): string[] {
  const source = readFileSync(file, 'utf8')
  return [...source.matchAll(/'([a-z_]+\.[a-z0-9_.]+)'/g)]
    .map(([, key = '']) => key)
    .filter((key) => PART_OF.has(key))
}

/** For each family written as `a.${kind}`, the parts in which one of it stands. */
function familiesIn(file: string): string[][] {
  const source = readFileSync(file, 'utf8')
  return [...source.matchAll(/\bt\(`([^`]*\$\{[^`]+)`/g)].map(([, template = '']) => {
    const fixed = template.split(/\$\{[^}]+\}/).map((part) => part.replace(/\./g, '\\.'))
    const family = new RegExp(`^${fixed.join('[a-z0-9_]+')}$`)
    return [...PART_OF].filter(([key]) => family.test(key)).map(([, part]) => part)
  })
}

const SCREENS = [
  ...readFileSync(join(SOURCE, 'routes.ts'), 'utf8').matchAll(
    /(screen|account|agreeing|reporting|working|workshop)\(\s*\(\) => import\('\.\/([^']+)'/g,
  ),
].map(([, kind = '', path = '']) => ({ kind, path }))

describe('the words of a screen are there when it is shown', () => {
  it('knows the screens', () => expect(SCREENS.length).toBeGreaterThan(50))

  it.each([...SCREENS, { kind: 'screen', path: 'App.svelte' }])('$path', ({ kind, path }) => {
    const loaded = LOADED[kind] ?? []
    for (const file of reachedFrom(join(SOURCE, path))) {
      const missing = keysNamedIn(file).filter((key) => !loaded.includes(PART_OF.get(key) ?? ''))
      expect(missing, file).toEqual([])
      for (const parts of familiesIn(file)) {
        expect(parts.some((part) => loaded.includes(part)) || parts.length === 0, file).toBe(true)
      }
    }
  })
})
