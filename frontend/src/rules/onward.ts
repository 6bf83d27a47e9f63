/** Where a person goes on to after signing in: a screen of this app, whatever the link says. */
export function onwardOf(next: string | null): string {
  return next && /^\/(?![/\\])/.test(next) ? next : '/'
}
