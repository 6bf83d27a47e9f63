/** Keeps the shell on this device, and tells when a newer one is ready. */
class NewVersion {
  ready = $state(false)
  #take: ((reload: boolean) => Promise<void>) | null = null

  /** Register the service worker once the first screen is drawn, so that it does not slow it. */
  async watch(): Promise<void> {
    if (!('serviceWorker' in navigator) || import.meta.env.DEV) return
    const { registerSW } = await import('virtual:pwa-register')
    this.#take = registerSW({ onNeedRefresh: () => (this.ready = true) })
  }

  async take(): Promise<void> {
    await this.#take?.(true)
  }
}

export const newVersion = new NewVersion()
