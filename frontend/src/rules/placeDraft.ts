/** A place as it is being described, step by step, before it is sent. */
import type {
  AccessWindow,
  CalendarSpan,
  ContainerKind,
  NewPlace,
  OrganisationKind,
  PlaceKind,
} from '../api/types'
import { windowFault } from './windows'

export const STEPS = ['who', 'where', 'when', 'stream', 'container', 'check'] as const
export type Step = (typeof STEPS)[number]

export interface PlaceDraft {
  step: Step
  /** Set when an organisation already stands behind the person, by an invitation. */
  organisation_id: string
  organisation_name: string
  kind: PlaceKind | ''
  name: string
  contact_phone: string
  address: string
  longitude: number | null
  latitude: number | null
  district_id: string
  public_precision: 'exact' | 'street' | 'district' | 'hidden'
  access_notes: string
  windows: AccessWindow[]
  spans: CalendarSpan[]
  observes_public_holidays: boolean
  stream_id: string
  main_item: string
  container_kind: ContainerKind | ''
  container_volume_ml: number | null
  container_tare_g: number | null
  container_count: number
  starts_on: string
}

export const EMPTY_DRAFT: PlaceDraft = {
  step: 'who',
  organisation_id: '',
  organisation_name: '',
  kind: '',
  name: '',
  contact_phone: '',
  address: '',
  longitude: null,
  latitude: null,
  district_id: '',
  public_precision: 'hidden',
  access_notes: '',
  windows: [],
  spans: [],
  observes_public_holidays: true,
  stream_id: '',
  main_item: '',
  container_kind: '',
  container_volume_ml: null,
  container_tare_g: null,
  container_count: 1,
  starts_on: '',
}

export interface Missing {
  /** The field as the API names it, so that a local fault shows where the server's would. */
  field: string
  what: MissingWhat
}
export type MissingWhat =
  | 'organisation_name'
  | 'kind'
  | 'address'
  | 'point'
  | 'no_window'
  | 'closes_first'
  | 'span_order'
  | 'span_open'
  | 'stream'
  | 'main_item'
  | 'container_kind'
  | 'container_volume'
  | 'starts_on'

/** What a step still needs before one goes on. */
export function missingIn(step: Step, draft: PlaceDraft): Missing[] {
  switch (step) {
    case 'who':
      return needs([
        [
          draft.organisation_id || draft.organisation_name.trim(),
          'organisation.name',
          'organisation_name',
        ],
        [draft.kind, 'kind', 'kind'],
      ])
    case 'where':
      return needs([
        [draft.address.trim(), 'address', 'address'],
        [draft.longitude !== null && draft.latitude !== null, 'longitude', 'point'],
      ])
    case 'when': {
      const fault = windowFault(draft.windows, draft.spans)
      return fault ? [{ field: fault.startsWith('span') ? 'spans' : 'windows', what: fault }] : []
    }
    case 'stream':
      return needs([[draft.stream_id, 'agreement.stream_id', 'stream']])
    case 'container':
      return needs([
        [draft.main_item, 'agreement.main_item', 'main_item'],
        [draft.container_kind, 'agreement.containers[0].kind', 'container_kind'],
        [draft.container_volume_ml, 'agreement.containers[0].volume_ml', 'container_volume'],
        [draft.starts_on, 'agreement.starts_on', 'starts_on'],
      ])
    case 'check':
      return []
  }
}

function needs(list: [unknown, string, MissingWhat][]): Missing[] {
  return list.filter(([value]) => !value).map(([, field, what]) => ({ field, what }))
}

/** The first step that is not complete, or the last one. */
export function firstOpenStep(draft: PlaceDraft): Step {
  return STEPS.find((step) => missingIn(step, draft).length > 0) ?? 'check'
}

const ORGANISATION_KINDS: Record<PlaceKind, OrganisationKind> = {
  school: 'school',
  cafe: 'cafe',
  salon: 'salon',
  cleaner: 'cleaner',
  workshop: 'maker',
  other: 'other',
}

/** Return what is sent; the draft must have no open step. */
export function toNewPlace(draft: PlaceDraft): NewPlace {
  const kind = draft.kind || 'other'
  const organisation = draft.organisation_id
    ? { organisation_id: draft.organisation_id }
    : {
        organisation: { name: draft.organisation_name.trim(), kind: ORGANISATION_KINDS[kind] },
      }
  return {
    ...organisation,
    name: draft.name.trim() || draft.organisation_name.trim(),
    kind,
    district_id: draft.district_id || null,
    address: draft.address.trim(),
    longitude: draft.longitude ?? 0,
    latitude: draft.latitude ?? 0,
    public_precision: draft.public_precision,
    access_notes: draft.access_notes.trim(),
    contact_phone: draft.contact_phone.trim(),
    observes_public_holidays: draft.observes_public_holidays,
    windows: draft.windows,
    spans: draft.spans,
    agreement: toAgreement(draft),
  }
}

/** Return what is agreed: which stream, mostly which item, from when on and in what. */
export function toAgreement(draft: PlaceDraft): NonNullable<NewPlace['agreement']> {
  return {
    stream_id: draft.stream_id,
    main_item: draft.main_item,
    starts_on: draft.starts_on,
    containers: [
      {
        kind: draft.container_kind || 'bag',
        volume_ml: draft.container_volume_ml ?? 0,
        tare_g: draft.container_tare_g ?? 0,
        count: draft.container_count,
      },
    ],
  }
}

/** Which step shows a field that the server refused. */
export function stepOfField(field: string): Step {
  if (/^agreement\.(main_item|containers|starts_on)/.test(field)) return 'container'
  if (field.startsWith('agreement')) return 'stream'
  if (/^(windows|spans|observes)/.test(field)) return 'when'
  if (/^(address|longitude|latitude|district|public_precision|access)/.test(field)) return 'where'
  if (/^(organisation|name|kind|contact_phone)/.test(field)) return 'who'
  return 'check'
}

/** Common sizes to start from, in ml; common practice, no published source. */
export const USUAL_VOLUMES_ML: Record<ContainerKind, number[]> = {
  bag: [30_000, 60_000, 120_000],
  crate: [30_000, 60_000],
  bin: [60_000, 120_000, 240_000],
  drum: [60_000, 200_000],
}
