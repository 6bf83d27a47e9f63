/** Words: one catalogue for each language, ICU MessageFormat, chosen before the app is mounted. */
import type { MessageFormatElement } from '@formatjs/icu-messageformat-parser'
import { IntlMessageFormat } from 'intl-messageformat'
import type en from './en'
import type account from './en/account.json'
import type agreeing from './en/agreeing.json'
import type reporting from './en/reporting.json'
import type working from './en/working'
import type workshop from './en/workshop.json'

type FirstKey = keyof typeof en
type FurtherKey =
  | keyof typeof account
  | keyof typeof agreeing
  | keyof typeof reporting
  | keyof typeof working
  | keyof typeof workshop
export type MessageKey = FirstKey | FurtherKey
export type Values = Record<string, string | number | Date>
/** Sentences without values are texts; the others come parsed from the build. */
type Message = string | MessageFormatElement[]
type Catalogue<Key extends string> = Record<Key, Message>
type Words = Catalogue<MessageKey>

const CATALOGUES: Record<string, () => Promise<{ default: Catalogue<FirstKey> }>> = {
  en: () => import('./en'),
}
/** Words that nobody's first screen needs come with the screens that say them. */
type Part = 'account' | 'agreeing' | 'reporting' | 'working' | 'workshop'
const FURTHER: Record<string, Record<Part, () => Promise<{ default: Partial<Words> }>>> = {
  en: {
    account: () => import('./en/account.json'),
    agreeing: () => import('./en/agreeing.json'),
    reporting: () => import('./en/reporting.json'),
    working: () => import('./en/working'),
    workshop: () => import('./en/workshop.json'),
  },
}
const KEPT = 'millrace.language'

let language = 'en'
let catalogue: Partial<Words>
const parsed = new Map<MessageKey, IntlMessageFormat>()

/** Load the words of the language the person chose, or that their browser asks for first. */
export async function loadMessages(): Promise<void> {
  language = chosenLanguage()
  const load = CATALOGUES[language]
  if (!load) throw new Error(`there is no catalogue for ${language}`)
  catalogue = (await load()).default
  document.documentElement.lang = language
}

/** Load what some screens say, before the first of them is shown. */
export async function loadFurther(part: Part): Promise<void> {
  const words = await FURTHER[language]?.[part]()
  catalogue = { ...catalogue, ...words?.default }
}

function chosenLanguage(): string {
  const wished = [localStorage.getItem(KEPT) ?? '', ...navigator.languages]
  return wished.map((tag) => tag.split('-')[0] ?? '').find((tag) => tag in CATALOGUES) ?? 'en'
}

/** The locale for numbers and dates: the browser's own where it is of the language shown. */
export function locale(): string {
  return navigator.languages.find((tag) => tag.startsWith(language)) ?? language
}

/** Return the sentence of a key. Values fill its `{names}`; plurals follow the language. */
export function t(key: MessageKey, values?: Values): string {
  const written = catalogue[key] ?? key
  if (typeof written === 'string' && !written.includes('{')) return written
  let message = parsed.get(key)
  if (!message) {
    message = new IntlMessageFormat(written, locale(), undefined, { ignoreTag: true })
    parsed.set(key, message)
  }
  return String(message.format(values))
}
