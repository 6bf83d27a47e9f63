/** Words: one catalogue for each language, ICU MessageFormat, chosen before the app is mounted. */
import type { MessageFormatElement } from '@formatjs/icu-messageformat-parser'
import { IntlMessageFormat } from 'intl-messageformat'
import type en from './en'
import type workshop from './en/workshop.json'

type Everyday = keyof typeof en
type OfWorkshop = keyof typeof workshop
export type MessageKey = Everyday | OfWorkshop
export type Values = Record<string, string | number | Date>
/** Sentences without values are texts; the others come parsed from the build. */
type Message = string | MessageFormatElement[]
type Words<Key extends MessageKey> = Promise<{ default: Record<Key, Message> }>
interface Catalogue {
  everyday: () => Words<Everyday>
  /** Words that only the workshop's screens need, loaded with the first of them. */
  workshop: () => Words<OfWorkshop>
}

const CATALOGUES: Record<string, Catalogue> = {
  en: { everyday: () => import('./en'), workshop: () => import('./en/workshop.json') },
}
const KEPT = 'millrace.language'

let language = 'en'
let words: Partial<Record<MessageKey, Message>> = {}
const parsed = new Map<MessageKey, IntlMessageFormat>()

/** Load the words of the language the person chose, or that their browser asks for first. */
export async function loadMessages(): Promise<void> {
  language = chosenLanguage()
  words = (await catalogue().everyday()).default
  document.documentElement.lang = language
}

export async function loadWorkshopMessages(): Promise<void> {
  words = { ...words, ...(await catalogue().workshop()).default }
}

function catalogue(): Catalogue {
  const found = CATALOGUES[language]
  if (!found) throw new Error(`there is no catalogue for ${language}`)
  return found
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
  const written = words[key]
  if (written === undefined) throw new Error(`the words of ${key} are not loaded`)
  if (typeof written === 'string' && !written.includes('{')) return written
  let message = parsed.get(key)
  if (!message) {
    message = new IntlMessageFormat(written, locale(), undefined, { ignoreTag: true })
    parsed.set(key, message)
  }
  return String(message.format(values))
}
