import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { measurementOf } from './weightScale'

/** The fields of a Weight Measurement, after the Weight Scale Service 1.0 of the Bluetooth SIG. */
interface Fields {
  imperial?: boolean
  steps: number
  /** What may follow, with the flag that announces it. */
  moment?: boolean
  user?: boolean
  bodyMass?: boolean
}

function bytesOf({ imperial, steps, moment, user, bodyMass }: Fields): DataView {
  const flags =
    (imperial ? 1 : 0) | (moment ? 0b10 : 0) | (user ? 0b100 : 0) | (bodyMass ? 0b1000 : 0)
  const rest = [
    ...(moment ? [0xea, 0x07, 3, 2, 8, 15, 0] : []),
    ...(user ? [0xff] : []),
    ...(bodyMass ? [0xe6, 0x00, 0xa4, 0x06] : []),
  ]
  return new DataView(Uint8Array.of(flags, steps & 0xff, steps >> 8, ...rest).buffer)
}

describe('a scale that speaks the Weight Scale Service', () => {
  it('says 7.845 kg in steps of 5 g', () => {
    expect(measurementOf(bytesOf({ steps: 1569 }))).toEqual({ kind: 'mass', mass_g: 7845 })
  })

  it('says 10.00 lb in steps of 0.01 lb, which is 4536 g', () => {
    const said = measurementOf(bytesOf({ imperial: true, steps: 1000 }))
    expect(said).toEqual({ kind: 'mass', mass_g: 4536 })
  })

  it('says 0xFFFF when it could not weigh, whatever its units', () => {
    for (const imperial of [false, true]) {
      expect(measurementOf(bytesOf({ imperial, steps: 0xffff }))).toEqual({ kind: 'unsuccessful' })
    }
  })

  it('is not guessed at when it breaks off', () => {
    for (const length of [0, 1, 2]) {
      expect(measurementOf(new DataView(new ArrayBuffer(length)))).toEqual({ kind: 'unreadable' })
    }
  })

  it('is understood to the step, whatever follows the weight', () => {
    const fields = fc.record({
      imperial: fc.boolean(),
      steps: fc.integer({ min: 0, max: 0xfffe }),
      moment: fc.boolean(),
      user: fc.boolean(),
      bodyMass: fc.boolean(),
    })
    fc.assert(
      fc.property(fields, (said) => {
        const read = measurementOf(bytesOf(said))
        if (read.kind !== 'mass') throw new Error(read.kind)
        expect(Number.isInteger(read.mass_g)).toBe(true)
        // Back into the scale's own steps, which are larger than the rounding.
        const step_g = said.imperial ? 4.5359237 : 5
        expect(Math.round(read.mass_g / step_g)).toBe(said.steps)
      }),
    )
  })

  it('is read where its bytes stand in a larger buffer', () => {
    const inner = bytesOf({ steps: 300 })
    const larger = new Uint8Array(8)
    larger.set(new Uint8Array(inner.buffer), 4)
    expect(measurementOf(new DataView(larger.buffer, 4, 3))).toEqual({ kind: 'mass', mass_g: 1500 })
  })
})
