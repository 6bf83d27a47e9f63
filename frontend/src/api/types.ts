/** The API's words, as the contract has them. */

export type Uuid = string
export type Day = string
export type Moment = string
export type Clock = string

export type Role = 'contact' | 'driver' | 'maker' | 'organiser'
export type OrganisationKind =
  'school' | 'cafe' | 'salon' | 'cleaner' | 'maker' | 'council' | 'other'
export type PlaceKind = 'school' | 'cafe' | 'salon' | 'cleaner' | 'workshop' | 'other'
export type PlaceStatus = 'asked' | 'admitted' | 'refused' | 'left'
export type ContainerKind = 'bag' | 'crate' | 'bin' | 'drum'
export type Verdict = 'taken' | 'taken_with_extra_work' | 'turned_away'
export type RouteStatus = 'planned' | 'under_way' | 'done' | 'called_off'
export type PickupStatus = 'asked' | 'planned' | 'under_way' | 'done' | 'missed' | 'called_off'
export type LineOutcome = 'open' | 'collected' | 'turned_away' | 'skipped'
export type Method = 'weighed' | 'counted' | 'volume' | 'estimated'
export type State = 'rinsed' | 'dry' | 'label_off' | 'lid_off' | 'sorted_by_colour'
export type Finding =
  | 'other_resin'
  | 'dangerous_resin'
  | 'other_item'
  | 'other_colour'
  | 'food_residue'
  | 'oil_or_chemical'
  | 'medical'
  | 'metal'
  | 'glass'
  | 'paper'
  | 'label'
  | 'water'
  | 'other'
export type Colour =
  | 'clear'
  | 'natural'
  | 'white'
  | 'grey'
  | 'black'
  | 'red'
  | 'orange'
  | 'yellow'
  | 'green'
  | 'blue'
  | 'purple'
  | 'pink'
  | 'brown'
export type Forming = 'injection' | 'blow' | 'thermoformed' | 'film'

export interface Named {
  id: Uuid
  name: string
}

export interface Page<T> {
  next: string | null
  previous: string | null
  results: T[]
}

export interface Membership {
  community: { slug: string; name: string }
  role: Role
  organisation: Named | null
}

export interface Session {
  user: { id: Uuid; email: string; name: string } | null
  memberships: Membership[]
}

export interface Community {
  slug: string
  name: string
  timezone: string
  country: string
  currency: string
  longitude: number
  latitude: number
  open_to_registration: boolean
  districts: Named[]
}

export interface InvitationSeen {
  community: { slug: string; name: string }
  role: Role
  organisation: Named | null
  suggested_name: string
  suggested_kind: OrganisationKind | ''
  expires_at: Moment
}

export interface Rules {
  schema_version: 1
  resins: string[]
  items: string[] | 'any'
  colours: Colour[] | 'any'
  forming: Forming[] | 'any'
  states: Partial<Record<State, 'must' | 'wanted'>>
  never: Finding[]
  unmarked: 'taken_if_it_floats' | 'extra_work' | 'turned_away'
  contamination_clean_max: string
  contamination_extra_work_max: string
  smallest_g: number
  containers: ContainerKind[] | 'any'
  notes: string
}

export interface Resin {
  symbol: string
  code: number | null
  name: string
  danger: string
}

export interface Item {
  slug: string
  name: string
  forming: string
  usual_resins: string[]
}

export interface RuleVersion {
  id: Uuid
  number: number
  rules: Rules
  note?: string
  created_at: Moment
}

export interface Stream {
  id: Uuid
  name: string
  summary: string
  maker: Named
  open_to_places: boolean
  reach_m: number
  rule_version: RuleVersion
}

export interface CodedText {
  code: string
  text: string
}

export interface Offer {
  stream: Stream
  distance_m: number
  within_reach: boolean
  first_pickup_depends_on: CodedText[]
}

export interface AccessWindow {
  weekday: number
  opens: Clock
  closes: Clock
}

export interface CalendarSpan {
  kind: 'term' | 'closure'
  first_day: Day
  last_day: Day
  label: string
}

export interface NewContainers {
  kind: ContainerKind
  volume_ml: number
  tare_g: number
  count: number
}

export interface NewPlace {
  organisation_id?: Uuid
  organisation?: { name: string; kind: OrganisationKind }
  name: string
  kind: PlaceKind
  district_id?: Uuid | null
  address: string
  longitude: number
  latitude: number
  access_notes: string
  contact_phone: string
  observes_public_holidays: boolean
  windows: AccessWindow[]
  spans: CalendarSpan[]
  agreement?: { stream_id: Uuid; main_item: string; starts_on: Day; containers: NewContainers[] }
}

export interface Container {
  id: Uuid
  tag: string
  kind: ContainerKind
  volume_ml: number
  tare_g: number
  last_report: { percent: number; at: Moment } | null
  expected: { volume_ml: number; mass_g: number; percent: number; rests_on: string }
}

export interface Agreement {
  id: Uuid
  stream: Named
  rule_version: { id: Uuid; number: number; rules: Rules }
  status: 'asked' | 'running' | 'ended'
  starts_on: Day
  main_item: string
  containers: Container[]
}

export interface PlaceRow {
  id: Uuid
  organisation: Named
  name: string
  kind: PlaceKind
  district: Named | null
  address: string
  longitude: number
  latitude: number
  status: PlaceStatus
}

export interface Place extends PlaceRow {
  access_notes: string
  contact_phone: string
  observes_public_holidays: boolean
  status_reason: string
  windows: AccessWindow[]
  spans: CalendarSpan[]
  agreements: Agreement[]
  next_visit: {
    pickup_id: Uuid
    day: Day | null
    planned_arrival: Moment | null
    status: PickupStatus
  } | null
}
