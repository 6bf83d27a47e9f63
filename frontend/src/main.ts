import { mount } from 'svelte'
import './app.css'
import './layout.css'
import App from './App.svelte'
import { here } from './api/session.svelte'
import type { Role } from './api/types'
import { loadMessages } from './messages'
import { fetchScreen } from './routes'
import { NAVIGATION } from './ui/navigation'
import { theme } from './ui/theme.svelte'

const target = document.getElementById('app')
if (!target) throw new Error('index.html has no #app')

/** Where the address leads, for those who begin where they always do. */
function firstPath(): string {
  const path = location.hash.slice(1).split('?')[0] ?? ''
  const home = NAVIGATION[here.lastRole as Role] as (typeof NAVIGATION)[Role] | undefined
  return path.length > 1 ? path : (home?.[0]?.path ?? '/')
}

theme.start()
// All that the first screen waits for is asked for side by side.
const words = loadMessages()
here.begin()
fetchScreen(firstPath())
await words
mount(App, { target })
