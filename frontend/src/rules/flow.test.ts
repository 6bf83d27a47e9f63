import { describe, expect, it } from 'vitest'
import { bandPath } from './flow'

const canvas = { scale: 0.5, y: (layer: number) => layer * 100, bar: 20 }

describe('a band of the flow', () => {
  it('leaves below its source and ends on top of its target', () => {
    const band = {
      source_name: 'a',
      target_name: 'b',
      mass_g: 1,
      width: 40,
      layers: [0, 1],
      xs: [0, 100],
    }
    expect(bandPath(band, canvas)).toBe(
      'M0 20C0 60 50 60 50 100L50 100L70 100L70 100C70 60 20 60 20 20L20 20Z',
    )
  })

  it('goes straight down beside the bars that it passes', () => {
    const band = {
      source_name: 'a',
      target_name: 'c',
      mass_g: 1,
      width: 40,
      layers: [0, 1, 2],
      xs: [0, 100, 0],
    }
    expect(bandPath(band, canvas)).toContain('50 100L50 120')
  })

  it('is never thinner than a pixel', () => {
    const band = {
      source_name: 'a',
      target_name: 'b',
      mass_g: 1,
      width: 0.01,
      layers: [0, 1],
      xs: [0, 0],
    }
    expect(bandPath(band, canvas)).toContain('L1 20')
  })
})
