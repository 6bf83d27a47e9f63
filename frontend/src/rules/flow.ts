/** The picture of a flow as paths: each band curves from bar to bar, through what it passes. */
import type { FlowPicture } from '../api/types'

export type Bar = FlowPicture['bars'][number]
export type Band = FlowPicture['bands'][number]
export type BarName =
  | 'collected'
  | 'on_the_way'
  | 'store'
  | 'prepared'
  | 'making'
  | 'products'
  | 'earlier'
  | 'passed_on'
  | 'returned'
  | 'residue'
  | 'loss'

export interface Canvas {
  /** Pixels for each of the picture's thousand parts. */
  scale: number
  /** The top of a layer, in pixels. */
  y: (layer: number) => number
  /** The height of a bar, in pixels. */
  bar: number
}

export function nameOf(bar: Bar): BarName {
  return bar.name as BarName
}

/** The outline of a band, at least a pixel wide: down its left edge, and up its right one. */
export function bandPath(band: Band, canvas: Canvas): string {
  const width = Math.max(band.width * canvas.scale, 1)
  const stops = band.layers.map((layer, index) => {
    const x = (band.xs[index] ?? 0) * canvas.scale
    const top = canvas.y(layer)
    const isFirst = index === 0
    const isLast = index === band.layers.length - 1
    return { x, in: top, out: isLast ? top : top + canvas.bar, isFirst }
  })
  const down = stops.flatMap((stop, index) => {
    const next = stops[index + 1]
    const through = stop.isFirst ? [`M${stop.x} ${stop.out}`] : [`L${stop.x} ${stop.out}`]
    return next ? [...through, curve(stop.x, stop.out, next.x, next.in)] : through
  })
  const up = [...stops].reverse().flatMap((stop, index, all) => {
    const next = all[index + 1]
    const x = stop.x + width
    const through = [`L${x} ${stop.out}`, ...(stop.isFirst ? [] : [`L${x} ${stop.in}`])]
    return next ? [...through, curve(x, stop.in, next.x + width, next.out)] : through
  })
  return [...down, ...up, 'Z'].join('')
}

function curve(x1: number, y1: number, x2: number, y2: number): string {
  const middle = (y1 + y2) / 2
  return `C${x1} ${middle} ${x2} ${middle} ${x2} ${y2}`
}
