/** Talks to the service: one error shape, the write token with every write. */
import type { Job, Problem } from './shapes'

export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly kind: string,
    message: string,
    readonly problems: Problem[] = [],
  ) {
    super(message)
  }
}
/** No answer at all: no signal, or the service is down. */
export class Unreached extends Error {}

let token = ''
export function setToken(value: string): void {
  token = value
}

export async function ask<T>(method: string, path: string, body?: unknown, signal?: AbortSignal): Promise<T> {
  let response: Response
  const bytes = body instanceof Blob
  try {
    response = await fetch(`/api${path}`, {
      method,
      credentials: 'same-origin',
      headers: {
        ...(body === undefined ? {} : { 'Content-Type': bytes ? 'application/octet-stream' : 'application/json' }),
        ...(method === 'GET' ? {} : { 'X-Hullwright-Token': token }),
      },
      body: body === undefined || bytes ? body : JSON.stringify(body),
      signal,
    })
  } catch (error) {
    if (signal?.aborted) throw error
    throw new Unreached('no answer from the service')
  }
  const answer = (await response.json().catch(() => null)) as { error?: { kind: string; message: string; problems: Problem[] } } | null
  if (response.ok && answer !== null) return answer as T
  if (answer?.error) throw new Refused(response.status, answer.error.kind, answer.error.message, answer.error.problems)
  if (response.status >= 502 || answer === null) throw new Unreached(`the service answered ${response.status}`)
  throw new Refused(response.status, 'error', `the service answered ${response.status}`)
}

export const get = <T>(path: string, signal?: AbortSignal): Promise<T> => ask<T>('GET', path, undefined, signal)
export const put = <T>(path: string, body: unknown): Promise<T> => ask<T>('PUT', path, body)
export const post = <T>(path: string, body: unknown): Promise<T> => ask<T>('POST', path, body)

/** Follows long work until it ends; tells how far it is. */
export async function follow(house: string, job: Job, tell: (job: Job) => void): Promise<Job> {
  const open = (one: Job) => one.state === 'waiting' || one.state === 'running'
  let last = job
  tell(last)
  if (open(last)) {
    await new Promise<void>((done) => {
      const source = new EventSource(`/api/houses/${house}/jobs/${job.id}/events`)
      source.addEventListener('job', (event) => {
        last = JSON.parse((event as MessageEvent<string>).data) as Job
        tell(last)
        if (!open(last)) finish()
      })
      source.onerror = finish
      function finish() {
        source.close()
        done()
      }
    })
    while (open(last)) {
      // The stream broke: ask plainly.
      await new Promise((wait) => setTimeout(wait, 800))
      last = await get<Job>(`/houses/${house}/jobs/${job.id}`)
      tell(last)
    }
  }
  if (last.state === 'failed') {
    const error = (last.error ?? {}) as { kind?: string; message?: string; problems?: Problem[] }
    throw new Refused(409, error.kind ?? 'error', error.message ?? 'the work failed', error.problems ?? [])
  }
  return last
}

const parts = (id: string): string => id.split('/').map(encodeURIComponent).join('/')

/** Path of a run: its id has slashes and colons. */
export function runPath(house: string, run: string): string {
  return `/houses/${house}/runs/${parts(run)}`
}

/** Path of the entries of a joint, below its house. */
export function jointPath(joint: string): string {
  return `/joints/${parts(joint)}/entries`
}
