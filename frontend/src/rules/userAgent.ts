/** What a browser calls itself, as a person would know it: enough to tell one's devices apart. */

// In this order: each of these also names those below it.
const BROWSERS: [RegExp, string][] = [
  [/\bEdgA?\/|\bEdgiOS\//, 'Edge'],
  [/\bOPR\/|\bOPT\//, 'Opera'],
  [/\bSamsungBrowser\//, 'Samsung Internet'],
  [/\bFirefox\/|\bFxiOS\//, 'Firefox'],
  [/\bChrome\/|\bCriOS\/|\bChromium\/|\bHeadlessChrome\//, 'Chrome'],
  [/\bSafari\//, 'Safari'],
]
const SYSTEMS: [RegExp, string][] = [
  [/\bAndroid\b/, 'Android'],
  [/\biPhone\b|\biPad\b|\biPod\b/, 'iOS'],
  [/\bWindows\b/, 'Windows'],
  [/\bCrOS\b/, 'ChromeOS'],
  [/\bMacintosh\b/, 'macOS'],
  [/\bLinux\b/, 'Linux'],
]

export interface Named {
  browser: string | null
  system: string | null
}

export function named(userAgent: string): Named {
  const first = (names: [RegExp, string][]) =>
    names.find(([pattern]) => pattern.test(userAgent))?.[1] ?? null
  return { browser: first(BROWSERS), system: first(SYSTEMS) }
}
