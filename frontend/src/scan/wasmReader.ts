/** Reads codes with ZXing in WebAssembly, where the browser has no reader of its own. */
import { prepareZXingModule, readBarcodes } from 'zxing-wasm/reader'
import address from 'zxing-wasm/reader/zxing_reader.wasm?url'
import type { CodeReader } from './reader'

const KEPT_IN = 'millrace.reader'
/** The longer side of what is looked at: a label at arm's length has pixels enough. */
const SIDE_PX = 800

/** Return the reader's program, from the device where it was fetched before. */
export async function binary(): Promise<ArrayBuffer> {
  const kept = await caches.match(address)
  if (kept) return kept.arrayBuffer()
  const fetched = await fetch(address)
  if (!fetched.ok) throw new Error(`the reader was not to be had: ${fetched.status}`)
  // The one of an earlier version makes room.
  await caches.delete(KEPT_IN)
  await (await caches.open(KEPT_IN)).put(address, fetched.clone())
  return fetched.arrayBuffer()
}

export async function wasmReader(): Promise<CodeReader> {
  const wasmBinary = await binary()
  await prepareZXingModule({ overrides: { wasmBinary }, fireImmediately: true })
  const canvas = document.createElement('canvas')
  const pen = canvas.getContext('2d', { willReadFrequently: true })
  if (!pen) throw new Error('this browser does not draw')
  return {
    async read(video) {
      const scale = Math.min(1, SIDE_PX / Math.max(video.videoWidth, video.videoHeight))
      canvas.width = Math.round(video.videoWidth * scale)
      canvas.height = Math.round(video.videoHeight * scale)
      if (!canvas.width || !canvas.height) return null
      pen.drawImage(video, 0, 0, canvas.width, canvas.height)
      const picture = pen.getImageData(0, 0, canvas.width, canvas.height)
      const [code] = await readBarcodes(picture, { formats: ['QRCode'], maxNumberOfSymbols: 1 })
      return code?.text ?? null
    },
  }
}
