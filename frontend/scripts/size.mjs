/**
 * Fail when what a person's first screen loads is above the budget: all of it, also what follows by
 * itself, such as the store of what was done without a signal. In each language, and compressed as
 * it is sent over TLS, by Brotli.
 */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { brotliCompressSync } from 'node:zlib'

const BUDGET_BYTES = 80_000
const DIST = join(import.meta.dirname, '..', 'dist')
const manifest = JSON.parse(readFileSync(join(DIST, '.vite', 'manifest.json'), 'utf8'))

const ALWAYS = [
  'index.html',
  'style.css',
  'src/screens/everyone/Start.svelte',
  'src/ui/Bell.svelte',
  'src/outbox/store.ts',
]
const SCREENS = 'src/screens/'
const FIRST_SCREENS = {
  'sign in': ['everyone/SignIn.svelte'],
  welcome: ['everyone/Start.svelte'],
  contact: [
    'contact/Places.svelte',
    'contact/PlaceHome.svelte',
    'contact/home/Became.svelte',
    'contact/home/RulesInPictures.svelte',
  ],
  driver: ['driver/Today.svelte', 'driver/DriveRoute.svelte', 'words driving'],
  maker: ['maker/Waiting.svelte', 'words working'],
  organiser: [
    'organiser/Glance.svelte',
    'organiser/glance/Diverted.svelte',
    'organiser/glance/NeedAWord.svelte',
    'words working',
  ],
  visitor: ['public/Bring.svelte', 'public/BringHere.svelte'],
}
const languages = Object.keys(manifest)
  .map((name) => /^src\/messages\/(\w+)\/index\.ts$/.exec(name)?.[1])
  .filter(Boolean)

/** The build names what it got from a package by a path of its own. */
function chunkOf(name) {
  const found = manifest[name] ?? manifest[Object.keys(manifest).find((key) => key.endsWith(name))]
  if (!found) throw new Error(`${name} is not in the build`)
  return found
}

function filesOf(names, found = new Set()) {
  for (const name of names) {
    const chunk = chunkOf(name)
    if (found.has(chunk.file)) continue
    found.add(chunk.file)
    for (const css of chunk.css ?? []) found.add(css)
    filesOf(chunk.imports ?? [], found)
  }
  return found
}

function bytesOf(screens, language) {
  const words = `src/messages/${language}/`
  const names = screens.map((screen) =>
    screen.startsWith('words ') ? `${words}${screen.slice(6)}.ts` : SCREENS + screen,
  )
  const files = [...filesOf([...ALWAYS, `${words}index.ts`, ...names])]
  return files.reduce(
    (bytes, file) => bytes + brotliCompressSync(readFileSync(join(DIST, file))).length,
    0,
  )
}

let over = false
for (const language of languages) {
  for (const [who, screens] of Object.entries(FIRST_SCREENS)) {
    const bytes = bytesOf(screens, language)
    const mark = bytes > BUDGET_BYTES ? 'TOO BIG' : 'ok'
    over ||= bytes > BUDGET_BYTES
    const size = (bytes / 1000).toFixed(1).padStart(6)
    console.log(`${who.padEnd(10)} ${language} ${size} kB of ${BUDGET_BYTES / 1000}  ${mark}`)
  }
}
process.exit(over ? 1 : 0)
