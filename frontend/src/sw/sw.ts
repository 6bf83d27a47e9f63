/// <reference lib="webworker" />
import { clientsClaim } from 'workbox-core'
import {
  cleanupOutdatedCaches,
  createHandlerBoundToURL,
  precacheAndRoute,
  type PrecacheEntry,
} from 'workbox-precaching'
import { NavigationRoute, registerRoute } from 'workbox-routing'
import { languageOfFile } from '../messages/languages'
import { pushedFrom, screenOf } from './push'
import { keepWords } from './words'

declare const self: ServiceWorkerGlobalScope & { __WB_MANIFEST: (PrecacheEntry | string)[] }

// The shell only: what people wrote and read is kept by the outbox and the screens, never here.
const shell = self.__WB_MANIFEST
const urlOf = (entry: PrecacheEntry | string) => (typeof entry === 'string' ? entry : entry.url)
const isOfWords = (entry: PrecacheEntry | string) =>
  languageOfFile('/' + urlOf(entry)) !== undefined
precacheAndRoute(shell.filter((entry) => !isOfWords(entry)))
keepWords(shell.filter(isOfWords).map((entry) => '/' + urlOf(entry)))
cleanupOutdatedCaches()
clientsClaim()

const FROM_THE_SERVER = [/^\/api\//, /^\/_allauth\//, /^\/static\//, /^\/media\//]
registerRoute(
  new NavigationRoute(createHandlerBoundToURL('/index.html'), { denylist: FROM_THE_SERVER }),
)

// A new version waits until the person agrees to it, so that no form is lost under their hands.
self.addEventListener('message', (event) => {
  if ((event.data as { type?: string } | null)?.type === 'SKIP_WAITING') void self.skipWaiting()
})

self.addEventListener('push', (event) => {
  const pushed = pushedFrom(event.data?.text())
  if (!pushed) return
  const { id, title, body, link } = pushed
  // The same notice sent twice takes its own place.
  event.waitUntil(
    self.registration.showNotification(title, {
      body,
      tag: id,
      icon: '/icon-192.png',
      data: { link },
    }),
  )
})

self.addEventListener('notificationclick', (event) => {
  event.notification.close()
  const { link } = (event.notification.data ?? {}) as { link?: unknown }
  event.waitUntil(openScreen(screenOf(link)))
})

/** Show a screen in the app that is open already, or open it. */
async function openScreen(address: string): Promise<void> {
  const open = await self.clients.matchAll({ type: 'window', includeUncontrolled: true })
  const shown = open.find((client) => client.visibilityState === 'visible') ?? open[0]
  if (!shown) {
    await self.clients.openWindow(address)
    return
  }
  await shown.focus()
  // The app goes there itself, so that what is being typed elsewhere is not loaded anew.
  shown.postMessage({ type: 'OPEN', address })
}
