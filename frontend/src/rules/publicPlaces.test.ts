import { describe, expect, it } from 'vitest'
import type { PublicPlace } from '../api/types'
import { told } from './publicPlaces'

function place(kind: string, name = '', district = 'Nether Quill'): PublicPlace {
  const properties = { kind, name, district, address: '', precision: name ? 'exact' : 'district' }
  return { type: 'Feature', geometry: null, properties }
}

describe('the places of the public map', () => {
  it('those that gave their name come first, one by one', () => {
    const lines = told([place('cafe'), place('school', 'Quill School')])
    expect(lines.map((line) => line.place.name)).toEqual(['Quill School', ''])
  })

  it('those that did not are counted by district and kind', () => {
    const lines = told([place('cafe'), place('cafe'), place('cafe', '', 'Port Sorrel')])
    expect(lines.map((line) => [line.place.district, line.count])).toEqual([
      ['Nether Quill', 2],
      ['Port Sorrel', 1],
    ])
  })
})
