import { describe, expect, it } from 'vitest'
import { FIRST_RULES, formOfRules, percentOfShare, rulesOfForm, shareOfPercent } from './rulesForm'

describe('per cent', () => {
  it.each([
    ['2', '0.02'],
    ['0,5', '0.005'],
    ['10', '0.1'],
    ['100', '1'],
    ['0', '0'],
    ['12.25', '0.1225'],
  ])('%s per cent is a share of %s, exactly', (percent, share) => {
    expect(shareOfPercent(percent)).toBe(share)
    expect(percentOfShare(share)).toBe(percent.replace(',', '.'))
  })
  it('is shown as the locale writes it', () => {
    expect(percentOfShare('0.005', ',')).toBe('0,5')
    expect(shareOfPercent(percentOfShare('0.1225', ','))).toBe('0.1225')
  })
  it('what is no number goes to the server as it was typed', () => {
    expect(shareOfPercent('a little')).toBe('a little')
  })
})

describe('rules in a form', () => {
  it('come out as they went in', () => {
    const rules = { ...FIRST_RULES, resins: ['PE-HD'], items: ['bottle-cap'], smallest_g: 2000 }
    expect(rulesOfForm(formOfRules(rules))).toEqual(rules)
  })
  it('none ticked means any', () => {
    expect(rulesOfForm({ ...formOfRules(FIRST_RULES), colours: [] }).colours).toBe('any')
  })
})
