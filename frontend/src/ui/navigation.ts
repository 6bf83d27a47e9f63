import type { Role } from '../api/types'
import type { MessageKey } from '../messages'
import type { IconName } from './Icon.svelte'

interface Item {
  path: string
  label: MessageKey
  icon: IconName
  /** Further addresses under which one is still in this part. */
  also?: string[]
}

/** The few screens each role goes between; the first one is where it starts. */
export const NAVIGATION: Record<Role, Item[]> = {
  contact: [{ path: '/places', label: 'nav.places', icon: 'home' }],
  driver: [
    { path: '/driving', label: 'nav.driving', icon: 'van' },
    { path: '/cautions', label: 'nav.cautions', icon: 'care' },
  ],
  maker: [
    { path: '/making', label: 'nav.waiting', icon: 'bag', also: ['/making/places'] },
    { path: '/making/plan', label: 'nav.plan', icon: 'calendar', also: ['/making/proposals'] },
    { path: '/making/routes', label: 'nav.routes', icon: 'van' },
    { path: '/making/lots', label: 'nav.lots', icon: 'scale' },
    {
      path: '/making/more',
      label: 'nav.more',
      icon: 'more',
      also: [
        '/making/workshop',
        '/making/identify',
        '/making/process',
        '/making/process-runs',
        '/making/recipes',
        '/making/batches',
        '/making/pressings',
        '/making/products',
        '/making/price',
        '/making/presses',
        '/making/colours',
        '/making/streams',
        '/making/vehicles',
        '/making/scales',
        '/driving',
        '/movements',
        '/organising/report',
        '/organising/flow',
      ],
    },
  ],
  organiser: [
    { path: '/organising', label: 'nav.glance', icon: 'home' },
    { path: '/organising/places', label: 'nav.all_places', icon: 'pin' },
    {
      path: '/organising/report',
      label: 'nav.report',
      icon: 'chart',
      also: ['/organising/flow', '/organising/quality', '/organising/closing'],
    },
    {
      path: '/organising/more',
      label: 'nav.more',
      icon: 'more',
      also: [
        '/organising/members',
        '/organising/districts',
        '/organising/invite',
        '/organising/import',
        '/organising/history',
        '/movements',
      ],
    },
  ],
}

/** The item that an address belongs to: the one whose own or further address is the longest. */
export function currentItem(items: readonly Item[], location: string): Item | undefined {
  const within = (path: string) => location === path || location.startsWith(path + '/')
  const depth = (item: Item) =>
    Math.max(0, ...[item.path, ...(item.also ?? [])].filter(within).map((path) => path.length))
  const deepest = Math.max(0, ...items.map(depth))
  return deepest === 0 ? undefined : items.find((item) => depth(item) === deepest)
}
