/** What is typed of a price, and the question that it asks. */
import type { MeasuredTime, Price, PriceQuestion, Stage } from '../api/workshop'
import { shareOfPercent } from './figure'

export const STAGES: readonly Stage[] = [
  'collect',
  'sort',
  'wash',
  'shred',
  'melt',
  'press',
  'finish',
  'pack',
]

export interface StageDraft {
  name: Stage
  duration_min: number | null
  pieces: number | null
  is_attended: boolean
}

type KeptStage = NonNullable<PriceQuestion['stages']>[number]

export interface PriceDraft {
  day_rate: number | null
  overhead_per_day: number | null
  day_hours: number | null
  by: 'times' | 'pieces'
  stages: StageDraft[]
  pieces_per_day: number | null
  yield_percent: number | null
  material: number | null
  energy_kwh: number | null
  energy_price_per_kwh: number | null
  consumables: number | null
  packaging: number | null
  over: 'margin' | 'markup'
  over_percent: number | null
  piece_mass_g: number | null
  new_material_per_kg: number | null
}

export function emptyPrice(): PriceDraft {
  return {
    day_rate: null,
    overhead_per_day: null,
    day_hours: 8,
    by: 'times',
    stages: STAGES.map((name) => ({ name, duration_min: null, pieces: 1, is_attended: true })),
    pieces_per_day: null,
    yield_percent: 100,
    material: null,
    energy_kwh: null,
    energy_price_per_kwh: null,
    consumables: null,
    packaging: null,
    over: 'margin',
    over_percent: 30,
    piece_mass_g: null,
    new_material_per_kg: null,
  }
}

/** Return what was typed for a question that was kept, to be changed and asked again. */
export function draftOf(asked: PriceQuestion): PriceDraft {
  const timed = new Map((asked.stages ?? []).map((stage) => [stage.name, stage]))
  const given = asked.pieces_per_day ?? null
  return {
    day_rate: Number(asked.day_rate),
    overhead_per_day: typed(asked.overhead_per_day),
    day_hours: (asked.day_s ?? 28_800) / 3600,
    by: given === null ? 'times' : 'pieces',
    stages: emptyPrice().stages.map((empty) => stageOf(empty, timed.get(empty.name))),
    pieces_per_day: given === null ? null : Number(given),
    yield_percent: percentOf(asked.yield_share, 1),
    material: typed(asked.material),
    energy_kwh: typed(asked.energy_kwh),
    energy_price_per_kwh: typed(asked.energy_price_per_kwh),
    consumables: typed(asked.consumables),
    packaging: typed(asked.packaging),
    over: asked.over ?? 'margin',
    over_percent: percentOf(asked.over_share, 0),
    piece_mass_g: asked.piece_mass_g ?? null,
    new_material_per_kg: typed(asked.new_material_per_kg),
  }
}

/** Fill in what was measured, where nothing was typed yet. */
export function withMeasured(draft: PriceDraft, measured: readonly MeasuredTime[]): PriceDraft {
  const timed = new Map(measured.map((stage) => [stage.name, stage]))
  const stages = draft.stages.map((stage) =>
    stage.duration_min === null ? stageOf(stage, timed.get(stage.name)) : stage,
  )
  return { ...draft, stages }
}

function stageOf(empty: StageDraft, kept: KeptStage | undefined): StageDraft {
  if (!kept) return empty
  return {
    name: empty.name,
    // Times are typed in minutes, with one decimal.
    duration_min: Math.round(kept.duration_s / 6) / 10,
    pieces: kept.pieces ?? 1,
    is_attended: kept.is_attended ?? true,
  }
}

/** What costs nothing was left empty. */
function typed(value: string | null | undefined): number | null {
  return Number(value ?? 0) || null
}

function percentOf(share: string | undefined, otherwise: number): number {
  return Number((100 * Number(share ?? otherwise)).toFixed(3))
}

function amount(value: number | null): string {
  return String(value ?? 0)
}

/** Stages without a time are left out: they take none. */
export function timedStages(draft: PriceDraft): StageDraft[] {
  return draft.stages.filter((stage) => stage.duration_min !== null)
}

export function priceQuestion(draft: PriceDraft): PriceQuestion {
  const timed = draft.by === 'times' ? timedStages(draft) : []
  return {
    day_rate: amount(draft.day_rate),
    overhead_per_day: amount(draft.overhead_per_day),
    day_s: Math.round((draft.day_hours ?? 0) * 3600),
    stages: timed.map((stage) => ({
      name: stage.name,
      duration_s: Math.round((stage.duration_min ?? 0) * 60),
      pieces: stage.pieces ?? 1,
      is_attended: stage.is_attended,
    })),
    pieces_per_day: draft.by === 'pieces' ? amount(draft.pieces_per_day) : null,
    yield_share: shareOfPercent(draft.yield_percent ?? 0),
    material: amount(draft.material),
    energy_kwh: amount(draft.energy_kwh),
    energy_price_per_kwh: amount(draft.energy_price_per_kwh),
    consumables: amount(draft.consumables),
    packaging: amount(draft.packaging),
    over: draft.over,
    over_share: shareOfPercent(draft.over_percent ?? 0),
    piece_mass_g: draft.piece_mass_g,
    new_material_per_kg:
      draft.new_material_per_kg === null ? null : amount(draft.new_material_per_kg),
  }
}

/** What is left over, as a share of the price (margin) and as a share of the cost (markup). */
export function leftOver(price: Pick<Price, 'unit_cost' | 'unit_price'>): {
  margin: number
  markup: number
} {
  const [cost, asked] = [Number(price.unit_cost), Number(price.unit_price)]
  return { margin: (asked - cost) / asked, markup: (asked - cost) / cost }
}
