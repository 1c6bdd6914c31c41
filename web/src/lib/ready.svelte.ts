/** Is this phone ready for a site? Only once this very page came up without signal, and the desk was told. */
import { get, post, Unreached } from '../api/client'
import { desk } from './desk.svelte'
import { little, setLittle } from './store'

/** A phone keeps the page only over TLS that it trusts. */
export const onSite = location.protocol === 'https:'
class Ready {
  /** When it was seen without signal. */
  seen = $state('')
  told = $state(false)
}
export const ready = new Ready()

/** Asks the worker whether it gave this page while its own call to the service failed. */
function fromWorker(worker: ServiceWorker): Promise<boolean> {
  return new Promise((done) => {
    const line = new MessageChannel()
    line.port1.onmessage = (event) => done(event.data === true)
    worker.postMessage('without signal?', [line.port2])
  })
}

async function tell(): Promise<void> {
  if (!ready.seen || ready.told || desk.session?.state === 'waiting') return
  // Signing in opens the house anew: only where the service answers.
  if (!desk.session?.token && (await get('/session').catch(() => null))) await desk.signIn(null)
  const { session } = desk
  if (!session?.token) return
  try {
    if ((await little('ready')) !== session.device) await post('/session/ready', { seen_offline: true })
    await setLittle('ready', session.device)
    ready.told = true
  } catch (error) {
    if (!(error instanceof Unreached)) desk.fail(error)
  }
}

/** Looks once after the page came up; what was seen is told as soon as there is signal. */
export async function lookReady(): Promise<void> {
  if (!onSite) return
  ready.seen = (await little<string>('seen')) ?? ''
  const worker = navigator.serviceWorker?.controller
  if (!ready.seen && worker && (await fromWorker(worker)) && (await fetch('/api/session', { cache: 'no-store' }).then(() => false, () => true))) {
    ready.seen = new Date().toISOString()
    await setLittle('seen', ready.seen)
  }
  addEventListener('online', () => void tell())
  const beat = setInterval(() => (ready.told ? clearInterval(beat) : void tell()), 5000)
  await tell()
}
