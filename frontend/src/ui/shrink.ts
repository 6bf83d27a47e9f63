/** Draws a photo anew and smaller, so that nothing but the picture is left of the file. */
import { fitted, PHOTO_BYTES_MAX, QUALITIES, SIDE_PX_MAX, type Size } from '../rules/photo'

/**
 * Return a photo as a small JPEG of at most 1 MB. Where it was taken, when and by what device is in
 * the file that the camera wrote and not in what is drawn. Rejects for what is not a picture.
 */
export async function shrunk(file: Blob): Promise<Blob> {
  const picture = await createImageBitmap(file, { imageOrientation: 'from-image' })
  try {
    for (let side_px = SIDE_PX_MAX; ; side_px /= 2) {
      const canvas = drawn(picture, fitted(picture, side_px))
      for (const quality of QUALITIES) {
        const blob = await jpeg(canvas, quality)
        if (blob.size <= PHOTO_BYTES_MAX) return blob
      }
    }
  } finally {
    picture.close()
  }
}

function drawn(picture: ImageBitmap, { width, height }: Size): HTMLCanvasElement {
  const canvas = document.createElement('canvas')
  canvas.width = width
  canvas.height = height
  const pen = canvas.getContext('2d')
  if (!pen) throw new Error('this browser does not draw')
  // What is see-through would turn black.
  pen.fillStyle = 'white'
  pen.fillRect(0, 0, width, height)
  pen.drawImage(picture, 0, 0, width, height)
  return canvas
}

function jpeg(canvas: HTMLCanvasElement, quality: number): Promise<Blob> {
  return new Promise((done, fail) =>
    canvas.toBlob(
      (blob) => (blob ? done(blob) : fail(new Error('this browser writes no JPEG'))),
      'image/jpeg',
      quality,
    ),
  )
}
