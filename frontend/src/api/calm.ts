/** When nothing more is asked of the server, so that what can wait takes nobody's turn. */

const LOOK_AGAIN_MS = 500

let underWay = 0

/** Count something asked of the server for as long as it has no answer. */
export async function counted<T>(asked: Promise<T>): Promise<T> {
  underWay += 1
  try {
    return await asked
  } finally {
    underWay -= 1
  }
}

/** Wait until the screen that was gone to has all it asked for, and the browser has time. */
export async function calm(): Promise<void> {
  do await new Promise((look) => setTimeout(look, LOOK_AGAIN_MS))
  while (underWay > 0)
  if ('requestIdleCallback' in window) await new Promise((idle) => requestIdleCallback(idle))
}
