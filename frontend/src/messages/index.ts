/** Words: one catalogue for each language, ICU MessageFormat, chosen before the app is mounted. */
import type { MessageFormatElement } from '@formatjs/icu-messageformat-parser'
import { IntlMessageFormat } from 'intl-messageformat'
import type first from './en'
import type account from './en/account.json'
import type agreeing from './en/agreeing.json'
import type driving from './en/driving'
import type planning from './en/planning.json'
import type reporting from './en/reporting.json'
import type working from './en/working'
import type workshop from './en/workshop.json'
import { wishedLanguage, type Language } from './languages'

type Words = typeof first &
  typeof account &
  typeof agreeing &
  typeof driving &
  typeof planning &
  typeof reporting &
  typeof working &
  typeof workshop
export type MessageKey = keyof Words
export type Values = Record<string, string | number | Date>
/** Sentences without values are texts; the others come parsed from the build. */
type Message = string | MessageFormatElement[]
type Catalogue<Part> = () => Promise<{ default: Record<keyof Part, Message> }>

/** Words that nobody's first screen needs come with the screens that say them. */
interface Parts {
  first: Catalogue<typeof first>
  account: Catalogue<typeof account>
  agreeing: Catalogue<typeof agreeing>
  driving: Catalogue<typeof driving>
  planning: Catalogue<typeof planning>
  reporting: Catalogue<typeof reporting>
  working: Catalogue<typeof working>
  workshop: Catalogue<typeof workshop>
}
export type Part = keyof Parts

/** Only the language that is used is ever fetched. */
const CATALOGUES: Record<Language, Parts> = {
  en: {
    first: () => import('./en'),
    account: () => import('./en/account.json'),
    agreeing: () => import('./en/agreeing.json'),
    driving: () => import('./en/driving'),
    planning: () => import('./en/planning.json'),
    reporting: () => import('./en/reporting.json'),
    working: () => import('./en/working'),
    workshop: () => import('./en/workshop.json'),
  },
  de: {
    first: () => import('./de'),
    account: () => import('./de/account.json'),
    agreeing: () => import('./de/agreeing.json'),
    driving: () => import('./de/driving'),
    planning: () => import('./de/planning.json'),
    reporting: () => import('./de/reporting.json'),
    working: () => import('./de/working'),
    workshop: () => import('./de/workshop.json'),
  },
}
const KEPT = 'millrace.language'
// Of the parser's own kinds of parts, which it numbers: the parser is not part of the app.
const LITERAL = 0
const ARGUMENT = 1

let shown: Language = 'en'
const catalogue: Partial<Record<MessageKey, Message>> = {}
const parsed = new Map<MessageKey, IntlMessageFormat>()

/** Load the words of the language the person chose, or that their browser asks for first. */
export async function loadMessages(): Promise<void> {
  shown = wishedLanguage([localStorage.getItem(KEPT) ?? '', ...navigator.languages])
  await loadPart('first')
  document.documentElement.lang = shown
}

/** Load what some screens say, before the first of them is shown. */
export async function loadPart(part: Part): Promise<void> {
  Object.assign(catalogue, (await CATALOGUES[shown][part]()).default)
}

/** Change to a language and keep it on this device; throws when its words cannot be fetched. */
export async function chooseLanguage(to: Language): Promise<void> {
  await Promise.all(Object.values(CATALOGUES[to]).map((load: () => Promise<unknown>) => load()))
  localStorage.setItem(KEPT, to)
  // Screens hold sentences they have made already, so all of them begin anew.
  location.reload()
}

/** The language shown, which is also what the server is asked for. */
export function language(): Language {
  return shown
}

/** The locale for numbers and dates: the browser's own where it is of the language shown. */
export function locale(): string {
  return navigator.languages.find((tag) => tag.startsWith(shown)) ?? shown
}

/** Return the sentence of a key. Values fill its `{names}`; plurals follow the language. */
export function t(key: MessageKey, values?: Values): string {
  const written = catalogue[key] ?? key
  if (typeof written === 'string' && !written.includes('{')) return written
  const said = typeof written === 'string' ? null : filled(written, values)
  return endedOnce(said ?? formatted(key, written, values))
}

/** Fill in values that stand as they are: most sentences need no rules of their language. */
function filled(parts: MessageFormatElement[], values: Values = {}): string | null {
  const said = parts.map((part) => {
    if (part.type === LITERAL) return part.value
    const value = part.type === ARGUMENT ? values[part.value] : undefined
    return typeof value === 'string' || typeof value === 'number' ? String(value) : null
  })
  return said.includes(null) ? null : said.join('')
}

function formatted(key: MessageKey, written: Message, values?: Values): string {
  let message = parsed.get(key)
  if (!message) {
    message = new IntlMessageFormat(written, locale(), undefined, { ignoreTag: true })
    parsed.set(key, message)
  }
  return String(message.format(values))
}

/** The period of a short form, such as a month, ends the sentence, too. */
function endedOnce(sentence: string): string {
  return sentence.replace(/\.\.(?=\s|$)/g, '.')
}
