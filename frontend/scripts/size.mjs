/** Fail when what a person's first screen needs is above the budget, compressed. */
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { gzipSync } from 'node:zlib'

const BUDGET_BYTES = 80_000
const DIST = join(import.meta.dirname, '..', 'dist')
const manifest = JSON.parse(readFileSync(join(DIST, '.vite', 'manifest.json'), 'utf8'))

// The entry, the words, and the screen that each person sees first.
const ALWAYS = ['index.html', 'src/messages/en/index.ts', 'src/screens/everyone/Start.svelte']
const SCREENS = 'src/screens/'
const FIRST_SCREENS = {
  'sign in': ['everyone/SignIn.svelte'],
  welcome: ['everyone/Start.svelte'],
  contact: ['contact/Places.svelte', 'contact/PlaceHome.svelte'],
  driver: ['driver/Today.svelte', 'driver/DriveRoute.svelte'],
  maker: ['maker/Waiting.svelte'],
  organiser: ['organiser/Asking.svelte'],
  visitor: ['public/Bring.svelte', 'public/BringHere.svelte'],
}

function filesOf(names, found = new Set()) {
  for (const name of names) {
    const chunk = manifest[name]
    if (!chunk) throw new Error(`${name} is not in the build`)
    if (found.has(chunk.file)) continue
    found.add(chunk.file)
    for (const css of chunk.css ?? []) found.add(css)
    filesOf(chunk.imports ?? [], found)
  }
  return found
}

let over = false
for (const [who, screens] of Object.entries(FIRST_SCREENS)) {
  let bytes = 0
  for (const file of filesOf([...ALWAYS, ...screens.map((screen) => SCREENS + screen)])) {
    bytes += gzipSync(readFileSync(join(DIST, file)), { level: 9 }).length
  }
  const mark = bytes > BUDGET_BYTES ? 'TOO BIG' : 'ok'
  over ||= bytes > BUDGET_BYTES
  console.log(
    `${who.padEnd(12)} ${(bytes / 1000).toFixed(1).padStart(6)} kB of ${BUDGET_BYTES / 1000}  ${mark}`,
  )
}
process.exit(over ? 1 : 0)
