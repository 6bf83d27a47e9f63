/**
 * What a scale says by the Bluetooth Weight Scale Service, 0x181D, in its Weight Measurement
 * characteristic, 0x2A9D (Bluetooth SIG, Weight Scale Service 1.0, section 3.2, and the
 * characteristic's fields in the GATT Specification Supplement, written down here from memory):
 * one byte of flags, then the weight as an unsigned number of 16 bits, the low byte first. What
 * may follow (moment, user, body mass index) is of no use here and is not read.
 */

export const WEIGHT_SCALE_SERVICE = 0x181d
export const WEIGHT_MEASUREMENT = 0x2a9d

const IMPERIAL = 0b1
/** In SI units one step is 0.005 kg. */
const STEP_G = 5
/** In imperial units one step is 0.01 lb; the pound is 0.45359237 kg exactly (NIST SP 811, B.8). */
const STEP_LB_G = 4.5359237
/** The scale could not weigh: it moved, or too much lies on it. */
const UNSUCCESSFUL = 0xffff

export type ScaleSays =
  | { kind: 'mass'; mass_g: number }
  | { kind: 'unsuccessful' }
  /** Not a measurement by the specification. */
  | { kind: 'unreadable' }

/** Return what a measurement says, in whole grams. */
export function measurementOf(bytes: DataView): ScaleSays {
  if (bytes.byteLength < 3) return { kind: 'unreadable' }
  const steps = bytes.getUint16(1, true)
  if (steps === UNSUCCESSFUL) return { kind: 'unsuccessful' }
  const isImperial = (bytes.getUint8(0) & IMPERIAL) === IMPERIAL
  return { kind: 'mass', mass_g: isImperial ? Math.round(steps * STEP_LB_G) : steps * STEP_G }
}
