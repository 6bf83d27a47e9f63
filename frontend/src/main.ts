import { mount } from 'svelte'
import './app.css'
import App from './App.svelte'
import { loadMessages } from './messages'
import { theme } from './ui/theme.svelte'

const target = document.getElementById('app')
if (!target) throw new Error('index.html has no #app')

theme.start()
await loadMessages()
mount(App, { target })
