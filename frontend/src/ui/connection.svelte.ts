/** Whether there is a connection, as far as the browser knows. */
class Connection {
  online = $state(navigator.onLine)

  constructor() {
    window.addEventListener('online', () => (this.online = true))
    window.addEventListener('offline', () => (this.online = false))
  }
}

export const connection = new Connection()
