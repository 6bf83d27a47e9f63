/** A scale with Bluetooth, by the standard Weight Scale Service. */
import {
  measurementOf,
  WEIGHT_MEASUREMENT,
  WEIGHT_SCALE_SERVICE,
  type ScaleSays,
} from '../rules/weightScale'

// As much of Web Bluetooth as is used here; TypeScript does not know it.
interface Characteristic extends EventTarget {
  readonly value?: DataView
  startNotifications(): Promise<unknown>
}
interface Device extends EventTarget {
  readonly name?: string
  readonly gatt?: {
    connect(): Promise<{
      getPrimaryService(service: number): Promise<{
        getCharacteristic(characteristic: number): Promise<Characteristic>
      }>
    }>
    disconnect(): void
  }
}
interface Bluetooth {
  requestDevice(wish: { filters: { services: number[] }[] }): Promise<Device>
}

function bluetooth(): Bluetooth | undefined {
  return (navigator as { bluetooth?: Bluetooth }).bluetooth
}

export function bluetoothIsThere(): boolean {
  return bluetooth() !== undefined
}

/**
 * Let the person choose a scale and listen to it. Rejects where they choose none, or where it does
 * not answer. Returns how to let go of it.
 */
export async function listenToScale(
  heard: (says: ScaleSays) => void,
  gone: () => void,
): Promise<() => void> {
  const device = await bluetooth()?.requestDevice({
    filters: [{ services: [WEIGHT_SCALE_SERVICE] }],
  })
  if (!device?.gatt) throw new Error('no scale was chosen')
  const { gatt } = device
  device.addEventListener('gattserverdisconnected', gone)
  const service = await (await gatt.connect()).getPrimaryService(WEIGHT_SCALE_SERVICE)
  const measurement = await service.getCharacteristic(WEIGHT_MEASUREMENT)
  measurement.addEventListener('characteristicvaluechanged', () => {
    if (measurement.value) heard(measurementOf(measurement.value))
  })
  await measurement.startNotifications()
  return () => {
    device.removeEventListener('gattserverdisconnected', gone)
    gatt.disconnect()
  }
}
