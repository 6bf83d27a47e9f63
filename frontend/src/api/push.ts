/** Whether this browser shows notices while the app is shut, and asking it to. */
import { post } from '../outbox/action'
import { named } from '../rules/userAgent'
import { get } from './client'
import { all } from './pages'

const C = '/api/v1/communities/{community}'
const KEPT = 'millrace.push_device'

export const pushDevices = (community: string) => all(`${C}/push-devices/`, { community })

/** Take a device away; if it is this one, the browser is told as well. */
export async function removePushDevice(key: string, community: string, id: string): Promise<void> {
  await post(key, `${C}/push-devices/{device_id}/remove/`, { community, device_id: id })
  if (id === thisDevice(community)) await stopPush()
}

/** The id under which the server knows this browser in a community. */
export function thisDevice(community: string): string | null {
  return localStorage.getItem(`${KEPT} ${community}`)
}

export type PushState = 'on' | 'off' | 'refused' | 'impossible'

/** What this browser can do, and does, about notices of a community. */
export async function pushState(community: string): Promise<PushState> {
  if (!('serviceWorker' in navigator && 'PushManager' in window && 'Notification' in window)) {
    return 'impossible'
  }
  if (Notification.permission === 'denied') return 'refused'
  const registration = await navigator.serviceWorker.getRegistration()
  if (!registration) return 'impossible'
  const subscribed = await registration.pushManager.getSubscription()
  return subscribed && thisDevice(community) ? 'on' : 'off'
}

/** Ask the person and the browser, and tell the server; returns what came of it. */
export async function startPush(key: string, community: string): Promise<PushState> {
  if ((await Notification.requestPermission()) !== 'granted') return 'refused'
  const { key: serverKey } = await get('/api/v1/push-key/', {})
  const registration = await navigator.serviceWorker.ready
  const subscribed = await subscription(registration.pushManager, serverKey)
  const { endpoint, keys } = subscribed.toJSON()
  const { id } = await post(
    key,
    `${C}/push-devices/`,
    { community },
    {
      endpoint: endpoint ?? '',
      p256dh: keys?.['p256dh'] ?? '',
      auth: keys?.['auth'] ?? '',
      name: nameOfThis(),
    },
  )
  localStorage.setItem(`${KEPT} ${community}`, id)
  return 'on'
}

/** Show nothing on this browser any more: whoever uses it next is not told what concerned others. */
export async function stopPush(): Promise<void> {
  for (const name of Object.keys(localStorage)) {
    if (name.startsWith(KEPT)) localStorage.removeItem(name)
  }
  const registration = await navigator.serviceWorker?.getRegistration()
  await (await registration?.pushManager?.getSubscription())?.unsubscribe()
}

/** Subscribe; what was subscribed under another key of the server is of no use and goes. */
async function subscription(manager: PushManager, serverKey: string): Promise<PushSubscription> {
  const wanted = { userVisibleOnly: true, applicationServerKey: serverKey }
  try {
    return await manager.subscribe(wanted)
  } catch (error) {
    const former = await manager.getSubscription()
    if (!former) throw error
    await former.unsubscribe()
    return manager.subscribe(wanted)
  }
}

function nameOfThis(): string {
  const { browser, system } = named(navigator.userAgent)
  return [browser ?? 'Browser', system].filter(Boolean).join(', ')
}
