/** Keeps the words of the languages that are used here, and fetches no other. */
import { registerRoute } from 'workbox-routing'
import { languageOfFile, wishedLanguage } from '../messages/languages'

declare const self: ServiceWorkerGlobalScope

const CACHE = 'millrace-words'

/** Serve files of words from this device, and keep them when a version is installed. */
export function keepWords(files: readonly string[]): void {
  registerRoute(
    ({ url }) => languageOfFile(url.pathname) !== undefined,
    ({ request }) => kept(request),
  )
  self.addEventListener('install', (event) => event.waitUntil(fetchUsed(files)))
  self.addEventListener('activate', (event) => event.waitUntil(forgetAllBut(files)))
}

/** A file's name changes with its content, so what is kept never grows old. */
async function kept(request: Request): Promise<Response> {
  const cache = await caches.open(CACHE)
  const here = await cache.match(request)
  if (here) return here
  const fetched = await fetch(request)
  if (fetched.ok) await cache.put(request, fetched.clone())
  return fetched
}

/** Fetch what the browser asks for, and a new version of what was used before. */
async function fetchUsed(files: readonly string[]): Promise<void> {
  const cache = await caches.open(CACHE)
  const here = (await cache.keys()).map((request) => languageOfFile(request.url))
  const used = new Set([...here, wishedLanguage(navigator.languages)])
  await cache.addAll(files.filter((file) => used.has(languageOfFile(file))))
}

async function forgetAllBut(files: readonly string[]): Promise<void> {
  const cache = await caches.open(CACHE)
  const current = new Set(files.map((file) => new URL(file, self.location.href).href))
  const old = (await cache.keys()).filter((request) => !current.has(request.url))
  await Promise.all(old.map((request) => cache.delete(request)))
}
