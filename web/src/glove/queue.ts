/** The queue of a phone: an entry leaves it only when an answer names its id and the hash of its very text. */
import { ask, Refused, Unreached } from '../api/client'
import type { Receipt, Receipts, Session, States } from '../api/shapes'
import { database, little, setLittle, type Waiting } from '../lib/store'
import { noteSent } from './remarks'
import { heard } from './start'
import { told } from './told'

export interface Spot {
  joint?: string
  joint_kind?: string
  face?: string
  place_m?: [number, number, number] | null
  plan?: string
  /** Run, or mark of an opening or penetration, that it is about as a whole. */
  run?: string
  mark?: string
  /** Number of the issued drawing in this phone's hand. */
  revision?: number
  /** Id of the entry that this one corrects or withdraws. */
  supersedes?: string
}
export const BATCH = 100

/** What to do with each waiting entry after an answer. */
export function settle(waiting: readonly Waiting[], receipts: readonly Receipt[]): { gone: string[]; refused: Waiting[] } {
  const gone: string[] = []
  const refused: Waiting[] = []
  for (const one of waiting) {
    const receipt = receipts.find((r) => r.id === one.id && r.body_hash === one.hash)
    if (!receipt) continue
    if (receipt.status === 'stored' || receipt.status === 'duplicate') gone.push(one.id)
    else if (receipt.status === 'refused') refused.push({ ...one, refused: reasonOf(receipt) })
  }
  return { gone, refused }
}

function reasonOf(receipt: Receipt): string {
  const words = receipt.problems.map((one) => String((one as { message?: string }).message ?? '')).filter(Boolean)
  return [receipt.reason, ...words].filter(Boolean).join(': ') || 'refused'
}

export async function sha256(text: string): Promise<string> {
  const sum = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(text))
  return [...new Uint8Array(sum)].map((byte) => byte.toString(16).padStart(2, '0')).join('')
}

/** Local time with its zone: 2026-05-04T07:31:09.120+02:00. */
export function stamped(now: Date): string {
  const two = (n: number) => String(Math.floor(Math.abs(n))).padStart(2, '0')
  const off = -now.getTimezoneOffset()
  const local = new Date(now.getTime() + off * 60_000).toISOString().slice(0, -1)
  return `${local}${off < 0 ? '-' : '+'}${two(off / 60)}:${two(off % 60)}`
}

/** Writes an entry down here. It is kept when this returns. */
export async function keep(session: Session, house: string, kind: string, what: object, spot: Spot = {}): Promise<Waiting> {
  const now = new Date()
  const known = (await little<number>(`known ${house}`)) ?? 0
  const db = await database()
  const sequence = await nextNumber()
  const id = crypto.randomUUID()
  const body = JSON.stringify({
    version: 2, id, kind, author: session.person, device: session.device, device_time: stamped(now), device_sequence: sequence, known,
    joint: spot.joint ?? '', joint_kind: spot.joint_kind ?? '', face: spot.face ?? '', place_m: spot.place_m ?? null, plan: spot.plan ?? '',
    ...(spot.run ? { run: spot.run } : {}), ...(spot.mark ? { mark: spot.mark } : {}), ...(spot.revision ? { revision: spot.revision } : {}),
    what, supersedes: spot.supersedes ?? '',
  }) // prettier-ignore
  const one: Waiting = { id, house, body, hash: await sha256(body), made: now.toISOString(), sequence, refused: '' }
  await db.add('queue', one)
  return one
}

async function nextNumber(): Promise<number> {
  const tx = (await database()).transaction('little', 'readwrite')
  const next = ((await tx.store.get('sequence')) as number | undefined ?? 0) + 1
  await tx.store.put(next, 'sequence')
  await tx.done
  return next
}

export async function all(): Promise<Waiting[]> {
  const kept = await Promise.all((await (await database()).getAll('queue')).map(whole))
  return kept.sort((a, b) => a.sequence - b.sequence)
}

/** An entry as an older page wrote it: what stands beside its text is worked out from the text, which is never touched. */
async function whole(one: Partial<Waiting> & { id: string; body: string }): Promise<Waiting> {
  if (one.hash !== undefined && one.made !== undefined && one.sequence !== undefined && one.refused !== undefined && one.house !== undefined) return one as Waiting
  const said = told(one.body)
  return {
    id: one.id, body: one.body,
    house: one.house ?? (await little<string>('house')) ?? '',
    hash: one.hash ?? (await sha256(one.body)),
    made: one.made ?? said.device_time ?? new Date(0).toISOString(),
    sequence: one.sequence ?? said.device_sequence ?? 0,
    refused: one.refused ?? '',
  } // prettier-ignore
}

/** Takes back what was not sent yet. */
export async function takeBack(ids: readonly string[]): Promise<void> {
  const db = await database()
  for (const id of ids) await db.delete('queue', id)
}

export interface Sent {
  sent: number
  refused: number
  /** Why nothing could be sent; '' where it could. */
  trouble: string
  unreached: boolean
}

let sending: Promise<Sent> | undefined
/** Sends what waits. One at a time, also across the tabs of this browser. */
export function send(before = Infinity): Promise<Sent> {
  sending ??= locked(() => sendAll(before)).finally(() => (sending = undefined))
  return sending
}

async function locked(work: () => Promise<Sent>): Promise<Sent> {
  if (!navigator.locks) return work()
  return navigator.locks.request('hullwright queue', work)
}

async function sendAll(before: number): Promise<Sent> {
  const done: Sent = { sent: 0, refused: 0, trouble: '', unreached: false }
  const waiting = (await all()).filter((one) => !one.refused && Date.parse(one.made) <= before)
  const houses = [...new Set(waiting.map((one) => one.house))]
  for (const house of houses) {
    const mine = waiting.filter((one) => one.house === house)
    for (let k = 0; k < mine.length; k += BATCH) {
      try {
        await sendSome(house, mine.slice(k, k + BATCH), done)
      } catch (error) {
        if (error instanceof Unreached) return { ...done, unreached: true }
        if (!(error instanceof Refused)) throw error
        done.trouble = error.message
        break
      }
    }
  }
  return done
}

async function sendSome(house: string, some: Waiting[], done: Sent): Promise<void> {
  const entries = some.map(({ id, body }) => ({ id, body }))
  const answer = await ask<Receipts>('POST', `/houses/${house}/entries`, { entries, device_now: stamped(new Date()) })
  const { gone, refused } = settle(some, answer.receipts)
  const tx = (await database()).transaction(['queue', 'little', 'answers'], 'readwrite')
  // What the service took in is said: it counts as soon as it no longer waits, asked anew or not.
  const said = await tx.objectStore('answers').get(`${house}/states`)
  if (said) await tx.objectStore('answers').put({ ...said, value: heard(said.value as States, some.filter((one) => gone.includes(one.id)).map((one) => one.body)) }, `${house}/states`)
  for (const id of gone) await tx.objectStore('queue').delete(id)
  for (const one of refused) await tx.objectStore('queue').put(one)
  const before = ((await tx.objectStore('little').get('sent')) as number | undefined) ?? 0
  await tx.objectStore('little').put(before + gone.length, 'sent')
  await tx.done
  await noteSent(house, some.filter((one) => gone.includes(one.id)), answer.receipts)
  if (answer.highest) await setLittle(`known ${house}`, answer.highest)
  done.sent += gone.length
  done.refused += refused.length
}

/** The queue as a file that the desk takes in. */
export async function asFile(house: string, device: string): Promise<Blob> {
  const entries = (await all()).filter((one) => one.house === house).map(({ id, body }) => ({ id, body }))
  return new Blob([JSON.stringify({ hullwright_queue: 1, house, device, entries }, null, 1)], { type: 'application/json' })
}
