/** Which languages there are, and which of them is wished for. */

/** Each by its own name, as somebody looks for it who reads no other. */
export const LANGUAGES = { en: 'English', de: 'Deutsch' } as const
export type Language = keyof typeof LANGUAGES

/** The first of the wished languages that there is; `de-AT` is served by `de`. */
export function wishedLanguage(tags: readonly string[]): Language {
  const spoken = tags.map((tag) => tag.toLowerCase().split('-')[0] ?? '')
  return spoken.find((tag): tag is Language => Object.hasOwn(LANGUAGES, tag)) ?? 'en'
}

/** The language of a built file of words, by its name, or none for any other file. */
export function languageOfFile(url: string): string | undefined {
  return /\/catalogue-([a-z]+)-/.exec(url)?.[1]
}
