/** Counts that stand in sight, and when to send. */
import { desk } from '../lib/desk.svelte'
import { little } from '../lib/store'
import type { Waiting } from '../lib/store'
import { all, keep, send, takeBack, type Spot } from './queue'

/** Time in which a kept entry can be taken back before it is sent [ms]. */
export const GRACE = 4000

class Counting {
  waiting = $state.raw<Waiting[]>([])
  sent = $state(0)
  trouble = $state('')
  /** Ids of the last thing kept, while it can be taken back. */
  last = $state.raw<string[]>([])
  stored = $state<'' | 'yes' | 'no'>('')
  private timer = 0

  kept = $derived(this.waiting.filter((one) => !one.refused).length)
  refused = $derived(this.waiting.filter((one) => one.refused))

  async read(): Promise<void> {
    this.waiting = await all()
    this.sent = (await little<number>('sent')) ?? 0
    this.last = this.last.filter((id) => this.waiting.some((one) => one.id === id && !one.refused))
  }
  async keep(list: { kind: string; what: object; spot: Spot }[]): Promise<void> {
    const ids: string[] = []
    for (const one of list) ids.push((await keep(desk.session!, desk.house!.id, one.kind, one.what, one.spot)).id)
    this.last = ids
    await this.read()
    clearTimeout(this.timer)
    this.timer = window.setTimeout(() => void this.send(), GRACE)
  }
  async undo(): Promise<void> {
    await takeBack(this.last)
    this.last = []
    await this.read()
  }
  async send(): Promise<void> {
    clearTimeout(this.timer)
    if (!(await all()).some((one) => !one.refused)) return this.read()
    // A page that was opened without signal knows who it is, but has no write token yet.
    if (!desk.session?.token) await desk.signIn(null)
    const answer = await send()
    this.trouble = answer.trouble
    desk.offline = answer.unreached
    await this.read()
    if (answer.sent) await desk.readStates(desk.house!.id)
  }
  /** Sends by itself when signal comes back, and now and then. */
  watch(): () => void {
    const go = () => void this.send()
    addEventListener('online', go)
    const beat = setInterval(() => {
      if (this.kept && !this.last.length) go()
      else if (this.kept && Date.now() - Date.parse(this.waiting.at(-1)!.made) > GRACE) go()
    }, 10_000)
    void this.read().then(go)
    void this.askToStay()
    return () => {
      removeEventListener('online', go)
      clearInterval(beat)
      clearTimeout(this.timer)
    }
  }
  private async askToStay(): Promise<void> {
    if (!navigator.storage?.persist) {
      this.stored = 'no'
      return
    }
    this.stored = (await navigator.storage.persisted()) || (await navigator.storage.persist()) ? 'yes' : 'no'
  }
}
export const counting = new Counting()
