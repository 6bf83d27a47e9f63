/** What the columns of a file of earlier weights mean, while they are being chosen. */
import type { HistoryColumns } from '../api/lots'
import type { GuessedColumns, HistoryImport } from '../api/types'

/** A draft of the columns: every choice as text, as its field holds it; empty is not chosen. */
export interface HistoryDraft {
  header: string
  day: string
  place: string
  mass: string
  stream: string
  maker_id: string
  default_stream_id: string
  unit: HistoryColumns['unit']
  decimal: HistoryColumns['decimal']
  day_order: HistoryColumns['day_order']
  saved_as: HistoryColumns['saved_as']
  scale_id: string
  /** What a name in the file means, by the name. */
  places: Record<string, string>
  streams: Record<string, string>
}

export function draftOf(columns: GuessedColumns): HistoryDraft {
  const chosen = (column?: number | null) =>
    column === undefined || column === null ? '' : String(column)
  return {
    header: String(columns.header),
    day: chosen(columns.day),
    place: chosen(columns.place),
    mass: chosen(columns.mass),
    stream: chosen(columns.stream),
    maker_id: columns.maker_id ?? '',
    default_stream_id: columns.default_stream_id ?? '',
    unit: columns.unit,
    decimal: columns.decimal ?? '.',
    day_order: columns.day_order,
    saved_as: columns.saved_as,
    scale_id: columns.scale_id ?? '',
    places: meanings(columns.places),
    streams: meanings(columns.streams),
  }
}

/** The columns as they are sent, or the fields that are still to be chosen. */
export function columnsOf(draft: HistoryDraft): HistoryColumns | (keyof HistoryDraft)[] {
  const needed = ['maker_id', 'day', 'place', 'mass'] as const
  const missing = needed.filter((name) => draft[name] === '')
  if (missing.length) return [...missing]
  return {
    header: Number(draft.header),
    day: Number(draft.day),
    place: Number(draft.place),
    mass: Number(draft.mass),
    stream: draft.stream === '' ? null : Number(draft.stream),
    maker_id: draft.maker_id,
    default_stream_id: draft.default_stream_id || null,
    unit: draft.unit,
    decimal: draft.decimal,
    day_order: draft.day_order,
    saved_as: draft.saved_as,
    scale_id: draft.saved_as === 'weighed' ? draft.scale_id || null : null,
    places: listed(draft.places),
    streams: listed(draft.streams),
  }
}

/** The columns of the row of names, to choose from. */
export function namesIn(found: HistoryImport, header: string): string[] {
  const rows = found.sample
  const width = Math.max(0, ...rows.map((row) => row.length))
  const names = rows[Number(header)] ?? []
  return Array.from({ length: width }, (_, index) => names[index] ?? '')
}

function meanings(list: { text: string; id: string }[]): Record<string, string> {
  return Object.fromEntries(list.map(({ text, id }) => [text, id]))
}

function listed(names: Record<string, string>): { text: string; id: string }[] {
  return Object.entries(names)
    .filter(([, id]) => id)
    .map(([text, id]) => ({ text, id }))
}
