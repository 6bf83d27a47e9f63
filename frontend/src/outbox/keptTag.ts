/** Where a tag leads without a signal: among the places that were read on this device. */
import { containerByTag } from '../api/places'
import type { Place, PlaceRow } from '../api/types'
import { seenAs } from './names'
import { isOutOfReach, recall } from './seen'

/** Return the id of the place whose container has this tag, or null; raises Problem. */
export async function placeOfTag(community: string, tag: string): Promise<string | null> {
  try {
    return (await containerByTag(community, tag))?.place.id ?? null
  } catch (error) {
    const kept = isOutOfReach(error) ? await keptPlaceOf(community, tag) : null
    if (!kept) throw error
    return kept
  }
}

async function keptPlaceOf(community: string, tag: string): Promise<string | null> {
  const rows = (await recall(seenAs.places(community)))?.value as PlaceRow[] | undefined
  for (const { id } of rows ?? []) {
    const place = (await recall(seenAs.place(community, id)))?.value as Place | undefined
    const tags = place?.agreements.flatMap(({ containers }) => containers.map((c) => c.tag)) ?? []
    if (tags.includes(tag)) return id
  }
  return null
}
