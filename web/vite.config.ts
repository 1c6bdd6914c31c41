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
      const names = ['/', ...files.filter((name) => name !== 'index.html').map((name) => `/${name}`), '/icon.svg', '/icon-192.png', '/manifest.webmanifest']
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

/** This page is drawn in the browser only: what the library keeps for pages that come drawn from a server is left out. */
function drawnHere(): Plugin {
  let seen = false
  return {
    name: 'hullwright-drawn-here',
    apply: 'build',
    enforce: 'pre',
    transform(code, id) {
      if (!/svelte\/src\/internal\/client\/dom\/hydration\.js$/.test(id)) return
      seen = true
      const fixed = code.replace('export let hydrating = false;', 'export const hydrating = false;').replace(/\bhydrating = value;/, '')
      if (!fixed.includes('export const hydrating') || /\bhydrating = value/.test(fixed)) throw new Error('svelte keeps its switch for drawn pages elsewhere now: look at drawnHere in vite.config.ts')
      return fixed
    },
    buildEnd(error) {
      if (!error && !seen) throw new Error('svelte keeps its switch for drawn pages elsewhere now: look at drawnHere in vite.config.ts')
    },
  }
}

/** A part that comes later is fetched and nothing else: its styles are in the one sheet, and what it builds on is there already. */
function plainLater(): Plugin {
  let seen = false
  return {
    name: 'hullwright-plain-later',
    apply: 'build',
    enforce: 'pre',
    load(id) {
      if (!/vite\/preload-helper/.test(id)) return
      seen = true
      return 'export const __vitePreload = (load) => load()'
    },
    buildEnd(error) {
      if (!error && !seen) throw new Error('vite keeps what fetches later parts elsewhere now: look at plainLater in vite.config.ts')
    },
  }
}

/** Four parts beside the solid: what every view needs, the house, the glove card, and all other views; few large parts pack better than many small ones. */
const PARTS = [
  { name: 'house', priority: 2, test: /src.(views.House|hull.(Unrolled|Lens|pick)|parts.(Strip|Legend|Empty))/ },
  { name: 'base', priority: 3, test: /node_modules.(?!three)|vite.preload|src.(App|main|parts.(?!SoFar|Masked|Strip|Legend|Empty)|api|hull.(?!Solid|Unrolled|Lens|pick)|lib.(?!outline|readings|found|work\.|scrolls))/ },
  { name: 'es', priority: 2, test: /src.glove.es\.ts/ },
  { name: 'glove', priority: 1, test: /src.(glove|lib.work)/ },
  { name: 'views', priority: 1, test: /src.(views|lib|parts.(SoFar|Masked))/ },
]

const service = process.env.HULLWRIGHT_SERVICE ?? 'http://localhost:8765'

export default defineConfig({
  plugins: [svelte(), drawnHere(), plainLater(), listed()],
  server: { proxy: { '/api': service } },
  build: {
    outDir: '../src/hullwright/web/static',
    emptyOutDir: true,
    target: 'es2022',
    assetsInlineLimit: 0,
    modulePreload: false,
    cssCodeSplit: false,
    rollupOptions: {
      input: { index: 'index.html', sw: 'src/sw.ts' },
      output: { codeSplitting: { groups: PARTS }, entryFileNames: (chunk) => (chunk.name === 'sw' ? 'sw.js' : 'assets/[name]-[hash].js') },
    },
  },
  // No test waits for a fact longer than this; a machine under load is slow.
  test: { include: ['tests/**/*.test.ts'], testTimeout: 120_000 },
} as Parameters<typeof defineConfig>[0])
