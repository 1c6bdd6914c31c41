/** Counts that stand in sight, and when to send. */
import { desk } from '../lib/desk.svelte'
import { route } from '../lib/route.svelte'
import { little } from '../lib/store'
import type { Waiting } from '../lib/store'
import { sendPhotos } from './photo'
import { all, keep, send, takeBack, type Spot } from './queue'
import { remarksOf, type Sent } from './remarks'

/** Time in which a kept entry can be taken back before it is sent [ms]. */
export const GRACE = 4000

class Counting {
  waiting = $state.raw<Waiting[]>([])
  /** The queue was read: before that nobody knows how much waits. */
  known = $state(false)
  sent = $state(0)
  /** Photos whose bytes are not all at the desk. */
  photos = $state(0)
  trouble = $state('')
  /** What this phone sent of the house that is open. */
  mine = $state.raw<Sent[]>([])
  /** Ids and kinds of the last thing kept, and where it lies: it can be taken back while it waits, by the lead also once it was sent. */
  last = $state.raw<{ id: string; kind: string; spot: Spot }[]>([])
  stored = $state<'' | 'yes' | 'no'>('')
  private timer = 0

  kept = $derived(this.waiting.filter((one) => !one.refused).length)
  refused = $derived(this.waiting.filter((one) => one.refused))
  /** Taken, but not as it was meant. */
  remarks = $derived(remarksOf(desk.states, this.mine))

  async read(): Promise<void> {
    this.waiting = await all()
    this.known = true
    this.sent = (await little<number>('sent')) ?? 0
    this.mine = (await little<Sent[]>(`mine ${route.house}`)) ?? []
    this.photos = ((await little<string[]>('photos')) ?? []).length
    if (desk.session?.role !== 'lead') this.last = this.last.filter((kept) => this.waiting.some((one) => one.id === kept.id && !one.refused))
  }
  async keep(list: { kind: string; what: object; spot: Spot }[]): Promise<void> {
    const kept: { id: string; kind: string; spot: Spot }[] = []
    for (const one of list) kept.push({ id: (await keep(desk.session!, route.house, one.kind, one.what, one.spot)).id, kind: one.kind, spot: one.spot })
    this.last = kept
    await this.soon()
  }
  private async soon(): Promise<void> {
    await this.read()
    clearTimeout(this.timer)
    this.timer = window.setTimeout(() => void this.send(), GRACE)
  }
  /** Takes the last thing back: off the queue where it waits, else by an entry that withdraws it. */
  async undo(): Promise<void> {
    const [last, waiting] = [this.last, new Set((await all()).map((one) => one.id))]
    this.last = []
    await takeBack(last.flatMap((one) => (waiting.has(one.id) ? [one.id] : [])))
    for (const one of last) if (!waiting.has(one.id)) await keep(desk.session!, route.house, 'withdrawn', { reason: 'taken back on the card' }, { ...one.spot, supersedes: one.id })
    await this.soon()
  }
  async send(): Promise<void> {
    clearTimeout(this.timer)
    if (!(await all()).some((one) => !one.refused)) return this.bytes()
    // A page that was opened without signal knows who it is, but has no write token yet.
    if (!desk.session?.token) await desk.signIn(null)
    const answer = await send()
    this.trouble = answer.trouble
    desk.offline = answer.unreached
    const open = answer.sent ? desk.house?.id : undefined
    if (open) await desk.hearAgain(open)
    await this.bytes()
    if (open) await desk.readStates(open)
  }
  /** Photos go once every entry is at the desk: the entry that names one comes first. */
  private async bytes(): Promise<void> {
    await this.read()
    if (!this.photos || this.kept || !desk.house) return
    await sendPhotos(desk.house.id)
    await this.read()
  }
  /** Sends by itself when signal comes back, and now and then. */
  watch(): () => void {
    const go = () => void this.send()
    addEventListener('online', go)
    const beat = setInterval(() => {
      if ((this.kept || this.photos) && !this.last.some((one) => this.waiting.some((two) => one.id === two.id))) go()
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
