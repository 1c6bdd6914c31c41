/// <reference lib="webworker" />
/** Keeps the page's own files at hand. Data of a house is kept by the page itself; nothing under /api is touched here. */
const self_ = self as unknown as ServiceWorkerGlobalScope
const FILES = '__FILES__' as unknown as string[]
const CACHE = 'hullwright-__VERSION__'

/** Entries that were not sent yet. Plain IndexedDB: this file stands alone. */
function unsent(): Promise<number> {
  return new Promise((done) => {
    const asked = indexedDB.open('hullwright')
    let made = false
    asked.onupgradeneeded = () => {
      // No database yet: nothing is unsent, and none is made here.
      made = true
      asked.transaction?.abort()
    }
    asked.onerror = () => done(made ? 0 : 1)
    asked.onsuccess = () => {
      const db = asked.result
      if (!db.objectStoreNames.contains('queue')) return finish(0)
      const both = db.transaction(db.objectStoreNames.contains('little') ? ['queue', 'little'] : ['queue'])
      const all = both.objectStore('queue').getAll()
      const photos = both.objectStoreNames.contains('little') ? both.objectStore('little').get('photos') : undefined
      both.oncomplete = () => finish((all.result as { refused?: string }[]).filter((one) => !one.refused).length + ((photos?.result as string[] | undefined)?.length ?? 0))
      both.onerror = () => finish(1)
      function finish(count: number) {
        db.close()
        done(count)
      }
    }
  })
}

self_.addEventListener('install', (event) => {
  event.waitUntil(
    (async () => {
      // The first one comes in at any time; an update only with nothing unsent. The browser tries again later.
      if (self_.registration.active && (await unsent()) > 0) throw new Error('entries wait to be sent: the update comes later')
      const cache = await caches.open(CACHE)
      await cache.addAll(FILES.map((name) => new Request(name, { cache: 'reload' })))
    })(),
  )
})
self_.addEventListener('activate', (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) if (name.startsWith('hullwright-') && name !== CACHE) await caches.delete(name)
      await self_.clients.claim()
    })(),
  )
})
/** Pages that came from here, and whether the service could not be reached just then: only the worker itself can say so. */
const without = new Map<string, Promise<boolean>>()
self_.addEventListener('message', (event) => {
  if (event.data === 'without signal?') event.waitUntil((async () => event.ports[0]!.postMessage((await without.get((event.source as Client).id)) ?? false))())
  if (event.data === 'take over') event.waitUntil(unsent().then((count) => (count === 0 ? self_.skipWaiting() : undefined)))
})
self_.addEventListener('fetch', (event) => {
  const { request } = event
  const url = new URL(request.url)
  if (request.method !== 'GET' || url.origin !== self_.location.origin || url.pathname.startsWith('/api')) return
  const name = request.mode === 'navigate' ? '/' : url.pathname
  event.respondWith(
    (async () => {
      const cache = await caches.open(CACHE)
      const kept = await cache.match(name)
      if (kept) {
        if (request.mode === 'navigate' && self_.location.protocol === 'https:') without.set(event.resultingClientId, fetch('/api/session', { cache: 'no-store' }).then(() => false, () => true))
        return kept
      }
      const answer = await fetch(request)
      // The solid is large: kept once it was looked at.
      if (answer.ok && name.startsWith('/assets/')) await cache.put(name, answer.clone())
      return answer
    })(),
  )
})
