import { createHash } from 'node:crypto'
import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig, type Plugin } from 'vite'

/** Writes the list of built files and its hash into the service worker, so that a new build is a new worker. */
function listed(): Plugin {
  return {
    name: 'hullwright-listed',
    enforce: 'post',
    generateBundle(_, bundle) {
      const worker = bundle['sw.js']
      if (!worker || worker.type !== 'chunk') throw new Error('the service worker was not built')
      const files = Object.keys(bundle).filter((name) => name !== 'sw.js' && !/(^|\/)Solid-/.test(name))
      const names = ['/', ...files.filter((name) => name !== 'index.html').map((name) => `/${name}`), '/icon.svg', '/manifest.webmanifest']
      const hash = createHash('sha256')
      for (const name of files.sort()) {
        const one = bundle[name]!
        hash.update(name).update(one.type === 'chunk' ? one.code : one.source)
      }
      worker.code = worker.code
        .replace(/["'`]__FILES__["'`]/, JSON.stringify(names))
        .replace(/__VERSION__/, hash.digest('hex').slice(0, 16))
    },
  }
}

const service = process.env.HULLWRIGHT_SERVICE ?? 'http://localhost:8765'

export default defineConfig({
  plugins: [svelte(), listed()],
  server: { proxy: { '/api': service } },
  build: {
    outDir: '../src/hullwright/web/static',
    emptyOutDir: true,
    target: 'es2022',
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rollupOptions: {
      input: { index: 'index.html', sw: 'src/sw.ts' },
      output: { entryFileNames: (chunk) => (chunk.name === 'sw' ? 'sw.js' : 'assets/[name]-[hash].js') },
    },
  },
  test: { include: ['tests/**/*.test.ts'] },
} as Parameters<typeof defineConfig>[0])
