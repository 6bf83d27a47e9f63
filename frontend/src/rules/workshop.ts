/** What the workshop's screens need to know of processes before the server is asked. */
import type { ProcessKind, Stock, StockState } from '../api/workshop'

export const PROCESSES = ['wash', 'delabel', 'sort', 'shred'] as const

/** From which states a process takes, as docs/rules/yield.md says. */
const TAKES_FROM: Record<ProcessKind, readonly StockState[]> = {
  wash: ['collected', 'sorted'],
  delabel: ['collected', 'washed', 'sorted'],
  sort: ['collected', 'washed'],
  shred: ['collected', 'washed', 'sorted', 'offcut'],
}

/** What can go into a batch without being washed or described first. */
export const CHARGEABLE: readonly StockState[] = ['washed', 'sorted', 'shredded', 'offcut']

/** What a process can take, first what it is mostly there for. */
export function stockFor(kind: ProcessKind, rows: readonly Stock[]): Stock[] {
  return TAKES_FROM[kind].flatMap((state) => rows.filter((row) => row.state === state))
}

export function processesOf(state: StockState): ProcessKind[] {
  return PROCESSES.filter((kind) => TAKES_FROM[kind].includes(state))
}

/** Lots of one stream that nobody has worked on yet. */
export interface Unworked {
  stream: Stock['stream']
  lots: number
  mass_g: number
}

/** Return what lies there as collected, stream by stream, the most first. */
export function unworkedOf(stock: readonly Stock[]): Unworked[] {
  const by = new Map<string, Unworked>()
  for (const { state, stream, mass_g } of stock) {
    if (state !== 'collected') continue
    const so_far = by.get(stream.id) ?? { stream, lots: 0, mass_g: 0 }
    by.set(stream.id, { stream, lots: so_far.lots + 1, mass_g: so_far.mass_g + mass_g })
  }
  return [...by.values()].sort((a, b) => b.mass_g - a.mass_g)
}

/** Worked lots that are alike: one state, stream, plastic and colour. */
export interface Heap {
  key: string
  first: Stock
  rows: Stock[]
  mass_g: number
}

/** Return what was worked on, like to like, in the order in which it comes. */
export function heapsOf(stock: readonly Stock[]): Heap[] {
  const by = new Map<string, Heap>()
  for (const row of stock) {
    if (row.state === 'collected') continue
    const key = [row.state, row.stream.id, row.resin, row.colour?.id ?? ''].join(' ')
    const heap = by.get(key) ?? { key, first: row, rows: [], mass_g: 0 }
    heap.rows.push(row)
    heap.mass_g += row.mass_g
    by.set(key, heap)
  }
  return [...by.values()]
}

/** A lot can lie in several states at once: both name what is chosen. */
export function stockKey(row: Pick<Stock, 'state' | 'lot'>): string {
  return `${row.lot.id} ${row.state}`
}

/** Return what neither came out nor is residue, negative if more came out than went in. */
export function lossOf(in_g: number, out_g: number, residue_g: number): number {
  return in_g - out_g - residue_g
}

/** Return the grams together; what is not typed yet counts as none. */
export function sumOf(masses_g: readonly (number | null)[]): number {
  return masses_g.reduce<number>((sum_g, mass_g) => sum_g + (mass_g ?? 0), 0)
}
