/** Whether there is room for two columns, as `layout.css` has it; asked where more is also loaded. */
export function atDesk(): boolean {
  return window.matchMedia('(min-width: 64rem)').matches
}
