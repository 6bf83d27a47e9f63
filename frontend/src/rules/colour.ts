/** Colours as the screens need them: a spot of a photo, and how a measured colour looks. */

export type Three = [number, number, number]

/** A spot of a photo in 8-bit sRGB: its mean, and the standard deviation of its pixels. */
export interface Spot {
  rgb: Three
  spread: Three
}

const CHANNELS = [0, 1, 2] as const

/** Return mean and spread of pixels that lie as a canvas gives them: red, green, blue, alpha. */
export function spotOf(pixels: ArrayLike<number>): Spot {
  const count = pixels.length / 4
  const sum: Three = [0, 0, 0]
  const squares: Three = [0, 0, 0]
  for (let at = 0; at < pixels.length; at += 4) {
    for (const channel of CHANNELS) {
      const value = pixels[at + channel] ?? 0
      sum[channel] += value
      squares[channel] += value * value
    }
  }
  const rgb = sum.map((whole) => whole / count) as Three
  const spread = squares.map((whole, channel) => {
    const mean = rgb[channel as 0 | 1 | 2]
    return Math.sqrt(Math.max(0, whole / count - mean * mean))
  }) as Three
  return { rgb: rgb.map(tenths) as Three, spread: spread.map(tenths) as Three }
}

/** Keep a point on the photo; its parts are shares of width and height. */
export function movedBy(point: { x: number; y: number }, dx: number, dy: number) {
  return { x: within(point.x + dx), y: within(point.y + dy) }
}

/**
 * Return how a colour in L*a*b* (D65) looks, as CSS writes it; what a screen cannot show is brought
 * to the nearest edge. Matrix and curve of sRGB: IEC 61966-2-1.
 */
export function cssOfLab(lab: Three): string {
  const [lightness, a, b] = lab
  const fy = (lightness + 16) / 116
  const x = 0.95047 * unbent(fy + a / 500)
  const y = unbent(fy)
  const z = 1.08883 * unbent(fy - b / 200)
  const linear: Three = [
    3.2406 * x - 1.5372 * y - 0.4986 * z,
    -0.9689 * x + 1.8758 * y + 0.0415 * z,
    0.0557 * x - 0.204 * y + 1.057 * z,
  ]
  return `rgb(${linear.map(eightBit).join(' ')})`
}

function unbent(f: number): number {
  return f > 6 / 29 ? f ** 3 : 3 * (6 / 29) ** 2 * (f - 4 / 29)
}

function eightBit(linear: number): number {
  const shown = linear <= 0.0031308 ? 12.92 * linear : 1.055 * linear ** (1 / 2.4) - 0.055
  return Math.round(255 * within(shown))
}

function within(share: number): number {
  return Math.min(1, Math.max(0, share))
}

function tenths(value: number): number {
  return Math.round(value * 10) / 10
}
