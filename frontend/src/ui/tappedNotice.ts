/** A notice that was tapped while the app is open: the service worker says which screen to show. */
export function followTappedNotices(): void {
  if (!('serviceWorker' in navigator)) return
  navigator.serviceWorker.addEventListener('message', ({ data }: MessageEvent<unknown>) => {
    const said = (data ?? {}) as { type?: unknown; address?: unknown }
    if (said.type !== 'OPEN' || typeof said.address !== 'string') return
    location.hash = new URL(said.address, location.origin).hash
  })
}
