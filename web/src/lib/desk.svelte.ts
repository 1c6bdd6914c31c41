/** The house at the desk: what was asked, what was answered, what is being tried. */
import { ask, follow, get, post, Refused, runPath, setToken, Unreached } from '../api/client'
import type { Geometry, House, Houses, Job, Laid, Option, Plan, PlanRun, Saved, Session, States } from '../api/shapes'
import { layOut, type Sheet } from '../hull/sheet'
import { recall, remember } from './store'
import type { System } from './units'
import { place } from './words'

export interface Undoing {
  run: string
  before: Whole | null
}
/** A whole option, as a decision keeps it; '' is left to the plan. */
interface Whole {
  method: string
  product: string
  primer?: string
  filler?: string
}
const whole = (one: Record<string, string>): Whole => ({
  method: one.method!,
  product: one.product ?? '',
  primer: one.primer ?? '',
  filler: one.filler ?? '',
})
export interface Trying {
  run: string
  option: Option
}

class Desk {
  session = $state.raw<Session | null>(null)
  /** '' while it is asked; else why nobody is signed in. */
  locked = $state('')
  houses = $state.raw<Houses['houses']>([])
  house = $state.raw<House | null>(null)
  geometry = $state.raw<Geometry | null>(null)
  sheet = $state.raw<Sheet | null>(null)
  plan = $state.raw<Plan | null>(null)
  states = $state.raw<States | null>(null)
  job = $state.raw<Job | null>(null)
  trying = $state.raw<Trying | null>(null)
  undos = $state<Undoing[]>([])
  trouble = $state.raw<Refused | Unreached | null>(null)
  offline = $state(false)
  saidAt = $state('')
  /** The file is being written. */
  busy = $state(false)
  private turn = 0
  /** Number of the last question for states, and of the last that was answered. */
  private asked = 0
  private answered = 0
  /** House that was opened last: what comes late of another one is put away. */
  private wanted = ''

  runs = $derived(new Map<string, PlanRun>((this.plan?.runs ?? []).map((run) => [run.id, run])))
  /** What people call joints and runs, by id. */
  private names = $derived.by(() => {
    const names = new Map<string, string>()
    const found = this.geometry
    // Drawings that were kept before they carried names have none.
    found?.joints.name?.forEach((name, k) => names.set(found.joints.id[k]!, name))
    for (const run of found?.runs ?? []) if (run.name) names.set(run.id, run.name)
    return names
  })
  system = $derived<System>(this.geometry?.system ?? 'metric')
  currency = $derived(this.plan?.currency ?? this.house?.currency ?? '')
  mayWrite = $derived(this.session?.may.includes('decide') ?? false)

  /** A joint, run or face as one says it. */
  said(id: string): string {
    return this.names.get(id) ?? place(id)
  }

  async signIn(key: string | null): Promise<void> {
    try {
      const session = key ? await post<Session>('/session', { key, device: deviceName() }) : await get<Session>('/session')
      this.session = session
      setToken(session.token)
      // What a link shows is not kept here: it ends with the link, signal or not.
      if (!session.ends_at) void remember('session', { ...session, token: '' })
      this.offline = false
      if (session.state === 'active' && session.may.includes('houses.list')) {
        const listed = get<Houses>('/houses').then((found) => (this.houses = found.houses))
        // Where the address names a house already, the list may come later.
        if (!/^#\/[a-z0-9]/.test(location.hash)) await listed
        else listed.catch(() => {})
      }
    } catch (error) {
      if (error instanceof Unreached) {
        this.offline = true
        this.session = (await recall<Session>('session'))?.value ?? null
        if (!this.session) this.locked = 'No answer from the service, and nobody was signed in here before.'
      } else if (error instanceof Refused) this.locked = error.message
      else throw error
    }
  }

  /** Reads a house anew; what can't be reached comes from what was kept. */
  async open(id: string): Promise<void> {
    this.wanted = id
    this.turn++
    this.job = null
    this.trouble = null
    this.trying = null
    this.plan = null
    // States of the same house stand until newer ones are here: an open face is not shut by a slow answer.
    if (this.house?.id !== id) this.house = this.geometry = this.sheet = this.states = null
    this.undos = JSON.parse(localStorage.getItem(`undo ${id}`) ?? '[]') as Undoing[]
    try {
      // Asked for at once, so that the first picture waits for one answer only.
      const [house, drawn] = await Promise.allSettled([this.kept<House>(id, ''), this.kept<Geometry>(id, '/geometry')])
      if (this.wanted !== id) return
      if (house.status === 'rejected') throw house.reason
      this.house = house.value
      if (this.house.problems.length) {
        this.geometry = this.sheet = null
        return
      }
      if (drawn.status === 'rejected') throw drawn.reason
      const geometry = drawn.value
      this.geometry = geometry
      this.sheet = layOut(geometry)
      await Promise.all([this.readPlan(id), this.readStates(id)])
      if (this.wanted !== id) return
      if (!this.offline && this.session?.may.includes('plan.make') && this.needsPlan()) void this.replan(id)
    } catch (error) {
      if (this.wanted === id) this.fail(error)
    }
  }

  private needsPlan(): boolean {
    return !this.plan || this.plan.stale
  }

  async kept<T>(id: string, path: string, name = path, newest = () => true): Promise<T> {
    const key = `${id}${name}`
    try {
      const answer = await get<T>(`/houses/${id}${path}`)
      this.offline = false
      if (!this.session?.ends_at && newest()) void remember(key, answer)
      return answer
    } catch (error) {
      if (!(error instanceof Unreached)) throw error
      const before = await recall<T>(key)
      this.offline = true
      if (!before) throw error
      this.saidAt = before.at
      return before.value
    }
  }

  async readPlan(id: string): Promise<void> {
    try {
      const plan = await this.kept<Plan>(id, '/plan')
      if (this.wanted === id) this.plan = plan
    } catch (error) {
      if (!(error instanceof Refused && error.status === 404)) throw error
    }
  }

  async readStates(id: string): Promise<void> {
    const turn = ++this.asked
    // An older answer that comes late takes no newer one's place.
    const newest = () => turn > this.answered
    try {
      const states = await this.kept<States>(id, '/states', '/states', newest)
      if (this.wanted === id && newest()) this.states = states
      this.answered = Math.max(turn, this.answered)
    } catch (error) {
      if (!(error instanceof Refused) && !(error instanceof Unreached)) throw error
    }
  }

  /** Takes the states that are kept, once the service took in what this device sent. */
  async hearAgain(id: string): Promise<void> {
    const kept = await recall<States>(`${id}/states`)
    if (kept && this.wanted === id && this.states) this.states = kept.value
  }

  /** Asks for the best plan of the file as it stands; a newer question takes the place of an older one. */
  async replan(id: string, wish: { budget?: number; target?: number } = {}): Promise<void> {
    const turn = ++this.turn
    if (this.job) await this.stop()
    try {
      const job = await post<Job>(`/houses/${id}/plan`, { quick: true, ...wish })
      if (turn === this.turn) this.job = job
      await follow(id, job, (one) => {
        if (turn === this.turn) this.job = one
      })
      if (turn === this.turn) this.plan = await this.kept<Plan>(id, `/plan?job=${job.id}`, '/plan')
    } catch (error) {
      if (turn === this.turn) this.fail(error)
    } finally {
      if (turn === this.turn) this.job = null
    }
  }

  async stop(): Promise<void> {
    if (this.job) await ask('DELETE', `/houses/${this.job.house}/jobs/${this.job.id}`).catch((error: unknown) => this.fail(error))
  }

  try(run: string, option: Option): void {
    this.trying = option.chosen ? null : { run, option }
  }

  /** Writes what is tried into the building file. */
  async keep(): Promise<void> {
    const { trying, house } = this
    if (!trying || !house) return
    const before = house.fixed.find((one) => one.run === trying.run)
    const { method, product, primer, filler } = trying.option
    await this.write(house, 'PUT', trying.run, { method, product, primer, filler }, async () => {
      this.remember([...this.undos, { run: trying.run, before: before ? whole(before) : null }])
    })
  }

  /** Takes back the last thing: a try, else the last decision. */
  async undo(): Promise<void> {
    if (this.trying) {
      this.trying = null
      return
    }
    const last = this.undos.at(-1)
    if (!last || !this.house) return
    await this.write(this.house, last.before ? 'PUT' : 'DELETE', last.run, last.before ?? undefined, async () => this.remember(this.undos.slice(0, -1)))
  }

  /** What was tried stands in the plan at once; the best plan round it follows. */
  private foresee(): void {
    const { plan, trying } = this
    if (!plan || !trying) return
    const { option } = trying
    const runs = plan.runs.map((run) =>
      run.id === trying.run
        ? { ...run, ...sizes(option), method: option.method, product: option.product, label: option.label, prepared: option.prepared, fixed: true, why: 'Decided by you.' }
        : run,
    )
    const add = (p: Plan['ach50']) => (p.expected == null ? p : { ...p, expected: p.expected + option.ach50 })
    this.plan = { ...plan, runs, spent: plan.spent + option.money, hours: plan.hours + option.hours, ach50: add(plan.ach50), stale: true }
  }

  private remember(undos: Undoing[]): void {
    this.undos = undos
    localStorage.setItem(`undo ${this.house!.id}`, JSON.stringify(undos.slice(-200)))
  }

  private async write(house: House, method: string, run: string, body: unknown, done: () => Promise<void>): Promise<void> {
    this.busy = true
    this.trouble = null
    try {
      await ask<Saved>(method, `${runPath(house.id, run)}/decision?based_on=${house.hash}`, body)
      await done()
      this.house = await this.kept<House>(house.id, '')
      this.foresee()
      this.trying = null
      void this.replan(house.id)
    } catch (error) {
      if (error instanceof Refused && error.kind === 'changed') this.house = await this.kept<House>(house.id, '')
      this.fail(error)
    } finally {
      this.busy = false
    }
  }

  /** Copies a house that comes with the program, so that it can be changed. */
  async copy(name: string): Promise<void> {
    if (!this.house) return
    try {
      const made = await post<House>('/houses', { name, copy_of: this.house.id })
      this.houses = (await get<Houses>('/houses')).houses
      location.hash = `#/${made.id}/house`
    } catch (error) {
      this.fail(error)
    }
  }

  fail(error: unknown): void {
    if (error instanceof Unreached) this.offline = true
    if (error instanceof Refused || error instanceof Unreached) this.trouble = error
    else throw error
  }
}

function sizes({ width_m, wet_um, least_wet_um, greatest_wet_um, gap_m, bead_m, lap_m }: Option): Laid {
  return { width_m, wet_um, least_wet_um, greatest_wet_um, gap_m, bead_m, lap_m }
}

function deviceName(): string {
  const agent = navigator.userAgent
  const kind = /iPhone|iPad/.test(agent) ? 'iPhone' : /Android/.test(agent) ? 'Android phone' : 'browser'
  return kind
}

export const desk = new Desk()
