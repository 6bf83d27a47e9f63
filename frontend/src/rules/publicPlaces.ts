/** The places of the public map, each as precisely as it agreed to, told in as few lines as can be. */
import type { PublicPlace } from '../api/types'

export interface PlacesTold {
  place: PublicPlace['properties']
  /** How many places this is true of. */
  count: number
}

/** Named places first, one by one; the others by district and kind, with how many there are. */
export function told(features: PublicPlace[]): PlacesTold[] {
  const lines = new Map<string, PlacesTold>()
  for (const { properties } of features) {
    const { name, address, district, kind } = properties
    const key = JSON.stringify([name, address, district, kind])
    const line = lines.get(key) ?? { place: properties, count: 0 }
    lines.set(key, { ...line, count: line.count + 1 })
  }
  return [...lines.values()].sort((a, b) => Number(!a.place.name) - Number(!b.place.name))
}
