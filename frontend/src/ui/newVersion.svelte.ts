import { calm } from '../api/calm'

/** Keeps the shell on this device, and tells when a newer one is ready. */
class NewVersion {
  ready = $state(false)
  #shell: ServiceWorkerRegistration | null = null

  /** Register the service worker once the first screen is whole: it takes all of the app along. */
  async watch(): Promise<void> {
    if (!('serviceWorker' in navigator) || import.meta.env.DEV) return
    await calm()
    // Without it the app works as long as there is a signal.
    this.#shell = await navigator.serviceWorker.register('/sw.js').catch(() => null)
    this.#look()
    this.#shell?.addEventListener('updatefound', () =>
      this.#shell?.installing?.addEventListener('statechange', () => this.#look()),
    )
  }

  /** Let the newer one take over; what is open begins anew with it. */
  take(): void {
    const reload = (): void => location.reload()
    navigator.serviceWorker.addEventListener('controllerchange', reload, { once: true })
    this.#shell?.waiting?.postMessage({ type: 'SKIP_WAITING' })
  }

  /** One that waits behind another is a newer version; the very first waits for nobody. */
  #look(): void {
    this.ready = Boolean(this.#shell?.waiting && navigator.serviceWorker.controller)
  }
}

export const newVersion = new NewVersion()
