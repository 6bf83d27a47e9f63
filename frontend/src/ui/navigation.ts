import type { Role } from '../api/types'
import type { MessageKey } from '../messages'
import type { IconName } from './Icon.svelte'

interface Item {
  path: string
  label: MessageKey
  icon: IconName
}

/** The few screens each role goes between; the first one is where it starts. */
export const NAVIGATION: Record<Role, Item[]> = {
  contact: [{ path: '/places', label: 'nav.places', icon: 'home' }],
  driver: [
    { path: '/driving', label: 'nav.driving', icon: 'van' },
    { path: '/cautions', label: 'nav.cautions', icon: 'care' },
  ],
  maker: [
    { path: '/making', label: 'nav.waiting', icon: 'bag' },
    { path: '/making/plan', label: 'nav.plan', icon: 'calendar' },
    { path: '/making/routes', label: 'nav.routes', icon: 'van' },
    { path: '/making/lots', label: 'nav.lots', icon: 'scale' },
    { path: '/making/more', label: 'nav.more', icon: 'more' },
  ],
  organiser: [
    { path: '/organising', label: 'nav.asking', icon: 'people' },
    { path: '/organising/places', label: 'nav.all_places', icon: 'pin' },
    { path: '/organising/report', label: 'nav.report', icon: 'chart' },
    { path: '/organising/more', label: 'nav.more', icon: 'more' },
  ],
}
