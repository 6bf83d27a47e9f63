import { describe, expect, it } from 'vitest'
import type { Stock, StockState } from '../api/workshop'
import { heapsOf, lossOf, processesOf, stockKey, stockFor, sumOf, unworkedOf } from './workshop'

describe('what can be done with stock', () => {
  it('is washed as it was collected, and shredded from then on', () => {
    expect(processesOf('collected')).toEqual(['wash', 'delabel', 'sort', 'shred'])
    expect(processesOf('washed')).toEqual(['delabel', 'sort', 'shred'])
    expect(processesOf('shredded')).toEqual([])
    expect(processesOf('offcut')).toEqual(['shred'])
  })

  it('is counted by stream as long as nobody has worked on it', () => {
    const row = (stream: string, state: Stock['state'], mass_g: number): Stock => ({
      lot: { id: stream + state + mass_g, code: 'L' },
      stream: { id: stream, name: stream },
      state,
      mass_g,
      resin: '',
      forming: 'unknown',
      colour: null,
    })
    const stock = [
      row('caps', 'collected', 300),
      row('jugs', 'collected', 900),
      row('caps', 'collected', 200),
      row('caps', 'washed', 5_000),
    ]
    expect(unworkedOf(stock).map(({ stream, lots, mass_g }) => [stream.id, lots, mass_g])).toEqual([
      ['jugs', 1, 900],
      ['caps', 2, 500],
    ])
  })

  it('lies in heaps of like lots once it was worked on', () => {
    const row = (code: string, state: Stock['state'], mass_g: number): Stock => ({
      lot: { id: code, code },
      stream: { id: 'caps', name: 'caps' },
      state,
      mass_g,
      resin: 'PE-HD',
      forming: 'injection',
      colour: null,
    })
    const heaps = heapsOf([
      row('a', 'sorted', 300),
      row('b', 'offcut', 40),
      row('c', 'sorted', 200),
      row('d', 'collected', 900),
    ])
    expect(heaps.map((heap) => [heap.first.state, heap.rows.length, heap.mass_g])).toEqual([
      ['sorted', 2, 500],
      ['offcut', 1, 40],
    ])
  })

  it('is told apart by lot and state', () => {
    const lot = { id: 'a', code: 'L-A' }
    expect(stockKey({ lot, state: 'washed' })).not.toBe(stockKey({ lot, state: 'sorted' }))
  })
})

describe('what is lost', () => {
  it('is what is left over, as in docs/rules/yield.md', () => {
    expect(lossOf(8_000, 7_600, 250)).toBe(150)
    expect(lossOf(1_000, 1_020, 0)).toBe(-20)
  })

  it('counts what is not typed yet as nothing', () => {
    expect(sumOf([3_000, null, 1_000])).toBe(4_000)
  })
})

describe('what a process can take', () => {
  const row = (state: StockState) => ({ state }) as Stock

  it('begins with what it is mostly there for, and leaves out what it cannot take', () => {
    const rows = (['shredded', 'sorted', 'collected', 'washed'] as const).map(row)
    expect(stockFor('wash', rows).map(({ state }) => state)).toEqual(['collected', 'sorted'])
    expect(stockFor('sort', rows).map(({ state }) => state)).toEqual(['collected', 'washed'])
  })
})
