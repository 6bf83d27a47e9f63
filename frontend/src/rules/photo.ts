/** How large a photo is sent. */

/** The longer side of a photo in pixels: enough to read a label, little enough for a slow line. */
export const SIDE_PX_MAX = 1_600
export const PHOTO_BYTES_MAX = 1_000_000
/** How finely it is drawn, tried from the first on until it is small enough. */
export const QUALITIES = [0.82, 0.7, 0.55, 0.4]

export interface Size {
  width: number
  height: number
}

/** Return the size that fits within a square of `side_px`, in proportion; never enlarged. */
export function fitted({ width, height }: Size, side_px = SIDE_PX_MAX): Size {
  const scale = Math.min(1, side_px / Math.max(width, height))
  return {
    width: Math.max(1, Math.round(width * scale)),
    height: Math.max(1, Math.round(height * scale)),
  }
}
