/** What reads a code from a picture: the browser itself where it can, or a reader of ours. */

export interface CodeReader {
  /** Return what a code in the camera's picture says, or null where there is none. */
  read(video: HTMLVideoElement): Promise<string | null>
}

/** The browser's own, of the Barcode Detection API; TypeScript does not know it. */
interface Detector {
  detect(picture: HTMLVideoElement): Promise<{ rawValue: string }[]>
}
interface DetectorClass {
  new (options: { formats: string[] }): Detector
  getSupportedFormats(): Promise<string[]>
}

export async function codeReader(): Promise<CodeReader> {
  return (await ownReader()) ?? (await import('./wasmReader')).wasmReader()
}

/** Have on the device what reading codes needs, for where there is no signal. */
export async function readerTakenAlong(): Promise<void> {
  if (!cameraIsThere() || (await ownReader())) return
  await (await import('./wasmReader')).binary()
}

/** A camera is only lent to pages that came safely. */
export function cameraIsThere(): boolean {
  return 'mediaDevices' in navigator
}

async function ownReader(): Promise<CodeReader | null> {
  const Made = (window as { BarcodeDetector?: DetectorClass }).BarcodeDetector
  // Some browsers have the class and, without a service of the device, no format.
  const formats = await Made?.getSupportedFormats().catch((): string[] => [])
  if (!Made || !formats?.includes('qr_code')) return null
  const detector = new Made({ formats: ['qr_code'] })
  return { read: async (video) => (await detector.detect(video))[0]?.rawValue ?? null }
}
