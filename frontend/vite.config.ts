import { svelte } from '@sveltejs/vite-plugin-svelte'
import { VitePWA } from 'vite-plugin-pwa'
import { defineConfig } from 'vitest/config'

const API = process.env['MILLRACE_API'] ?? 'http://127.0.0.1:8000'

export default defineConfig({
  plugins: [
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
    alias: [{ find: /^leaflet$/, replacement: 'leaflet/dist/leaflet-src.esm.js' }],
  },
  build: {
    // Browsers of three years ago, and Firefox's long-term release of that time.
    target: ['chrome115', 'edge115', 'firefox115', 'safari16.4'],
    manifest: true,
    // Hashed names change with the content, so the map and chart code stay cached.
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
  },
  server: {
    // The host stays as the browser sent it, since the server compares it with the origin.
    proxy: Object.fromEntries(
      ['/api', '/_allauth'].map((path) => [path, { target: API, changeOrigin: false }]),
    ),
  },
  test: { include: ['src/**/*.test.ts'], environment: 'node' },
})
