/** The service worker: keeps the page at hand, takes an update only with nothing unsent. */
class Updating {
  waiting = $state.raw<ServiceWorker | null>(null)
  problem = $state('')
  controlled = $state(typeof navigator !== 'undefined' && !!navigator.serviceWorker?.controller)
}
export const updating = new Updating()

export function startWorker(): void {
  if (import.meta.env.DEV) return
  if (!('serviceWorker' in navigator)) {
    updating.problem = 'This address is not secure, so the page can not be kept for days without signal.'
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
    .catch(() => (updating.problem = 'The browser refused to keep the page: with no signal it can not be opened anew.'))
}
