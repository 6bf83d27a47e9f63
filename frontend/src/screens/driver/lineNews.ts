import type { Deed } from '../../rules/deeds'

type Without<D, K extends PropertyKey> = D extends unknown ? Omit<D, K> : never

/** What came of a container, before it is said of which one. */
export type LineNews = Without<
  Extract<Deed, { kind: 'collect' | 'turn_away' | 'skip_line' }>,
  'route_id' | 'line_id'
>
