/** The service worker: keeps the page at hand, takes an update only with nothing unsent. */
class Updating {
  waiting = $state.raw<ServiceWorker | null>(null)
  problem = $state<'' | 'notSecure' | 'notKept'>('')
  controlled = $state(typeof navigator !== 'undefined' && !!navigator.serviceWorker?.controller)
}
export const updating = new Updating()

export function startWorker(): void {
  if (import.meta.env.DEV) return
  if (!('serviceWorker' in navigator)) {
    updating.problem = 'notSecure'
    return
  }
  navigator.serviceWorker.addEventListener('controllerchange', () => (updating.controlled = true))
  navigator.serviceWorker
    .register('/sw.js')
    .then((registration) => {
      const look = () => {
        if (registration.waiting && navigator.serviceWorker.controller) updating.waiting = registration.waiting
      }
      look()
      registration.addEventListener('updatefound', () => registration.installing?.addEventListener('statechange', look))
    })
    .catch(() => (updating.problem = 'notKept'))
}
