import { describe, expect, it } from 'vitest'
import { wishedLanguage } from './languages'

describe('the language shown', () => {
  it.each([
    [['de-AT', 'en'], 'de'],
    [['fr-FR', 'de', 'en'], 'de'],
    [['en-GB', 'de'], 'en'],
    [['', 'DE'], 'de'],
    [['fr'], 'en'],
    [[], 'en'],
    [['constructor', 'de'], 'de'],
  ])('of %j is %s', (tags, language) => {
    expect(wishedLanguage(tags)).toBe(language)
  })
})
