import { describe, expect, it } from 'vitest'
import { draftOf, emptyPrice, leftOver, priceQuestion, withMeasured } from './priceDraft'

describe('a price that is asked for', () => {
  it('takes pieces of a day from the stages that have a time', () => {
    const empty = emptyPrice()
    const stages = empty.stages.map((stage) =>
      stage.name === 'press' ? { ...stage, duration_min: 10 } : stage,
    )
    const question = priceQuestion({ ...empty, day_rate: 150, stages })
    expect(question.stages).toEqual([
      { name: 'press', duration_s: 600, pieces: 1, is_attended: true },
    ])
    expect(question).toMatchObject({ day_rate: '150', day_s: 28_800, pieces_per_day: null })
    expect(question.over_share).toBe('0.3')
  })

  it('takes them as said where they are said', () => {
    const question = priceQuestion({ ...emptyPrice(), by: 'pieces', pieces_per_day: 12 })
    expect(question).toMatchObject({ pieces_per_day: '12', stages: [] })
  })
})

describe('a price that was kept', () => {
  it('is opened as it was typed, so that asked again it is the same question', () => {
    const stages = emptyPrice().stages.map((stage) =>
      stage.name === 'press' ? { ...stage, duration_min: 7.5, is_attended: false } : stage,
    )
    const byTimes = { ...emptyPrice(), day_rate: 150, stages, packaging: 0.6, yield_percent: 92.5 }
    const byPieces = { ...emptyPrice(), day_rate: 90, by: 'pieces' as const, pieces_per_day: 12 }
    const compared = { ...byPieces, piece_mass_g: 900, new_material_per_kg: 1.4, over_percent: 29 }
    for (const draft of [byTimes, byPieces, compared]) {
      expect(draftOf(priceQuestion(draft))).toEqual(draft)
    }
  })
})

describe('times that were measured', () => {
  const wash = { name: 'wash' as const, duration_s: 3_756, pieces: 4, is_attended: true }
  const measured = [{ ...wash, is_whole: false }]

  it('are filled in to a tenth of a minute', () => {
    const { stages } = withMeasured(emptyPrice(), measured)
    expect(stages.filter((stage) => stage.duration_min !== null)).toEqual([
      { name: 'wash', duration_min: 62.6, pieces: 4, is_attended: true },
    ])
  })

  it('leave alone what was typed', () => {
    const typed = emptyPrice()
    for (const stage of typed.stages) stage.duration_min = 5
    expect(withMeasured(typed, measured)).toEqual(typed)
  })
})

describe('what is left over', () => {
  it('is another share of the price than of the cost, as in docs/rules/pricing.md', () => {
    const over = leftOver({ unit_cost: '20.08', unit_price: '28.69' })
    expect(over.margin).toBeCloseTo(0.3, 3)
    expect(over.markup).toBeCloseTo(0.429, 3)
    expect(leftOver({ unit_cost: '20.08', unit_price: '26.11' }).markup).toBeCloseTo(0.3, 2)
  })
})
