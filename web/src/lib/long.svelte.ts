/** Long work that a view asks for: how far it is, in words, and a stop. */
import { ask, follow, get, post } from '../api/client'
import type { Job, Jobs } from '../api/shapes'
import { desk } from './desk.svelte'

export class Long {
  job = $state.raw<Job | null>(null)
  /** How far it is, '' where nothing is done. */
  words = $derived.by(() => {
    const { job } = this
    if (!job) return ''
    const { done, of, what } = job.progress ?? {}
    if (job.state === 'waiting') return 'It waits its turn.'
    return of ? `${what}: ${done} of ${of}` : 'It is begun.'
  })
  share = $derived(this.job?.progress?.of ? (this.job.progress.done ?? 0) / this.job.progress.of : 0)

  constructor(private readonly kind: string) {}

  /** Asks for it and waits; false where it was stopped or another house is open by now. */
  async make(house: string, body?: unknown): Promise<Job | null> {
    return this.watch(house, await post<Job>(`/houses/${house}/${this.kind}`, body))
  }

  /** Takes up what is being worked out already. */
  async takeUp(house: string): Promise<Job | null> {
    const open = (await get<Jobs>(`/houses/${house}/jobs`)).jobs.find((one) => one.kind === this.kind && (one.state === 'waiting' || one.state === 'running'))
    return open ? this.watch(house, open) : null
  }

  private async watch(house: string, job: Job): Promise<Job | null> {
    try {
      const last = await follow(house, job, (one) => (this.job = one))
      return last.state === 'done' && desk.house?.id === house ? last : null
    } finally {
      this.job = null
    }
  }

  async stop(): Promise<void> {
    if (this.job) await ask('DELETE', `/houses/${this.job.house}/jobs/${this.job.id}`).catch((error: unknown) => desk.fail(error))
  }
}
