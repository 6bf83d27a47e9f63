/// <reference lib="webworker" />
import { clientsClaim } from 'workbox-core'
import {
  cleanupOutdatedCaches,
  createHandlerBoundToURL,
  precacheAndRoute,
  type PrecacheEntry,
} from 'workbox-precaching'
import { NavigationRoute, registerRoute } from 'workbox-routing'

declare const self: ServiceWorkerGlobalScope & { __WB_MANIFEST: (PrecacheEntry | string)[] }

// The shell only: what people wrote and read is kept by the outbox and the screens, never here.
precacheAndRoute(self.__WB_MANIFEST)
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
