/** Light or dark: as the device says, unless the person chose. */

export type Theme = 'device' | 'light' | 'dark'
const KEPT = 'millrace.theme'
const darkDevice = window.matchMedia('(prefers-color-scheme: dark)')

class ThemeChoice {
  choice = $state<Theme>('device')

  start(): void {
    const kept = localStorage.getItem(KEPT)
    this.choice = kept === 'light' || kept === 'dark' ? kept : 'device'
    darkDevice.addEventListener('change', () => this.#show())
    this.#show()
  }

  choose(choice: Theme): void {
    this.choice = choice
    localStorage.setItem(KEPT, choice)
    this.#show()
  }

  #show(): void {
    const dark = this.choice === 'dark' || (this.choice === 'device' && darkDevice.matches)
    document.documentElement.dataset['theme'] = dark ? 'dark' : 'light'
    document
      .querySelector('meta[name="theme-color"]')
      ?.setAttribute('content', dark ? '#101817' : '#0d4a56')
  }
}

export const theme = new ThemeChoice()
