import { parse } from '@formatjs/icu-messageformat-parser'
import { svelte } from '@sveltejs/vite-plugin-svelte'
import { VitePWA } from 'vite-plugin-pwa'
import type { Plugin } from 'vite'
import { defineConfig } from 'vitest/config'

const API = process.env['MILLRACE_API'] ?? 'http://127.0.0.1:8000'

// Tests read the words as they are written, with the parser.
const PARSED = process.env['VITEST'] === undefined

/** Parse the words while building, so that the app need not bring the parser along. */
function parsedMessages(): Plugin {
  return {
    name: 'parsed-messages',
    enforce: 'pre',
    transform(code, id) {
      if (!PARSED || !/src\/messages\/\w+\/\w+\.json$/.test(id)) return null
      const messages = Object.entries(JSON.parse(code) as Record<string, string>)
      const parsed = messages.map(([key, text]) => [
        key,
        text.includes('{') ? parse(text, { ignoreTag: true, captureLocation: false }) : text,
      ])
      return { code: JSON.stringify(Object.fromEntries(parsed)), map: null }
    },
  }
}

/** Files of words carry their language in the name, by which the service worker knows them. */
function chunkName(moduleIds: string[]): string {
  const languages = moduleIds.map((id) => /src\/messages\/(\w+)\/\w+\.json$/.exec(id)?.[1])
  const language = languages.find((one) => one !== undefined)
  return language ? `assets/catalogue-${language}-[hash].js` : 'assets/[name]-[hash].js'
}

/** Leaflet is loaded when a map is looked at. */
const NOT_THE_MAP = /^(?!.*leaflet)/

const NO_PARSER = {
  find: /^@formatjs\/icu-messageformat-parser$/,
  replacement: '@formatjs/icu-messageformat-parser/no-parser.js',
}

export default defineConfig({
  plugins: [
    parsedMessages(),
    svelte(),
    VitePWA({
      strategies: 'injectManifest',
      srcDir: 'src/sw',
      filename: 'sw.ts',
      injectRegister: false,
      injectManifest: { globPatterns: ['**/*.{js,css,html,svg,png,webmanifest}'] },
      manifest: {
        name: 'Millrace',
        short_name: 'Millrace',
        description: 'Set aside one clean plastic stream, and see every gram of it.',
        id: '/',
        start_url: '/',
        display: 'standalone',
        background_color: '#f6f3ea',
        theme_color: '#0d4a56',
        icons: [
          { src: '/icon-192.png', sizes: '192x192', type: 'image/png' },
          { src: '/icon-512.png', sizes: '512x512', type: 'image/png' },
          {
            src: '/icon-maskable-512.png',
            sizes: '512x512',
            type: 'image/png',
            purpose: 'maskable',
          },
          { src: '/icon.svg', sizes: 'any', type: 'image/svg+xml' },
        ],
      },
    }),
  ],
  resolve: {
    // Leaflet's package names only its older form; this one of the same package has real exports.
    alias: [
      { find: /^leaflet$/, replacement: 'leaflet/dist/leaflet-src.esm.js' },
      ...(PARSED ? [NO_PARSER] : []),
    ],
  },
  build: {
    // Browsers of three years ago, and Firefox's long-term release of that time.
    target: ['chrome115', 'edge115', 'firefox115', 'safari16.4'],
    manifest: true,
    // All of the look is less than many small files of it, each waited for by its screen.
    cssCodeSplit: false,
    // Hashed names change with the content, so the map and chart code stay cached.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: {
      output: {
        chunkFileNames: ({ moduleIds }) => chunkName(moduleIds),
        // What most screens share comes as one piece: many small ones compress badly.
        codeSplitting: { groups: [{ name: 'shared', minShareCount: 12, test: NOT_THE_MAP }] },
      },
    },
  },
  server: {
    // The host stays as the browser sent it, since the server compares it with the origin.
    proxy: Object.fromEntries(
      ['/api', '/_allauth'].map((path) => [path, { target: API, changeOrigin: false }]),
    ),
  },
  test: { include: ['src/**/*.test.ts'], environment: 'node' },
})
