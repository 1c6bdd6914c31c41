import 'fake-indexeddb/auto'
import { createHash } from 'node:crypto'
import { readFileSync } from 'node:fs'
import { beforeEach, describe, expect, it, vi } from 'vitest'
import type { Session, States } from '../src/api/shapes'
import { ES } from '../src/glove/es'
import { all, keep, send } from '../src/glove/queue'
import { heard, NAILING, refusedHere, stopsOf } from '../src/glove/start'
import { EN, stopWords } from '../src/glove/words'
import { database, recall, remember, type Waiting } from '../src/lib/store'

const STRAPS = 'straps and hold-downs failed their inspection'
const states = (not_to_start: Record<string, string[]>) => ({ counts: {}, joints: [], covered_too_early: [], started_too_early: [], not_to_start, needs_place: [], fasteners: [] }) as unknown as States
const told = states({ south: [NAILING], north: [NAILING, STRAPS] })
const body = (kind: string, face: string, what: object, joint = '') => JSON.stringify({ kind, face, joint, what })
const signed = body('nailing', 'south', { passed: true })
const waits = (text: string, more: Partial<Waiting> = {}): Waiting => ({ id: text, house: 'h', body: text, hash: '', made: '', sequence: 1, refused: '', ...more })

describe('may a face be started', () => {
  it('follows what the service said', () => {
    expect(stopsOf(told, [], 'h')).toEqual({ south: [NAILING], north: [NAILING, STRAPS] })
    expect(stopsOf(states({}), [], 'h')).toEqual({})
  })
  it('is not known where the service never said it', () => {
    expect(stopsOf(null, [waits(signed)], 'h')).toBeNull()
    const { not_to_start: _, ...older } = told
    expect(stopsOf(older as States, [waits(signed)], 'h')).toBeNull()
    expect(heard(older as States, [signed])).toEqual(older)
  })
  it('is open by a sign-off that waits here, on its face alone, and shut again where that was refused', () => {
    expect(stopsOf(told, [waits(signed)], 'h')).toEqual({ north: [NAILING, STRAPS] })
    expect(stopsOf(told, [waits(signed, { refused: 'a crew may not log this' })], 'h')).toEqual(told.not_to_start)
    expect(stopsOf(told, [waits(signed, { house: 'other' })], 'h')).toEqual(told.not_to_start)
    expect(told.not_to_start).toEqual({ south: [NAILING], north: [NAILING, STRAPS] })
  })
  it('stays shut by what nailing does not mend', () => {
    expect(stopsOf(told, [waits(body('nailing', 'north', { passed: true }))], 'h')).toMatchObject({ north: [STRAPS] })
  })
  it('takes the last word, and no word that is not of the whole face', () => {
    const failed = body('nailing', 'south', { passed: false })
    expect(heard(told, [signed, failed]).not_to_start['south']).toEqual([NAILING])
    expect(heard(told, [failed, signed]).not_to_start['south']).toBeUndefined()
    expect(heard(states({}), [failed]).not_to_start).toEqual({ south: [NAILING] })
    for (const other of [body('nailing', 'south', { passed: true }, 'j1'), body('done', 'south', { passed: true }), body('nailing', 'south', { passed: 'yes' }), body('nailing', '', { passed: true }), '{', 'null']) expect(heard(told, [other]).not_to_start, other).toEqual(told.not_to_start)
  })
  it('is shut by what takes a sign-off back, until the service says so', () => {
    expect(heard(told, [signed, body('withdrawn', 'south', { reason: 'x' })]).not_to_start['south']).toEqual([NAILING])
    expect(heard(states({}), [body('withdrawn', 'south', { reason: 'x' }, 'j1')]).not_to_start).toEqual({})
  })
  it('says where the service refused the sign-off of this very face', () => {
    expect(refusedHere([waits(signed)], 'h', 'south')).toBe(true)
    expect(refusedHere([waits(signed)], 'h', 'north')).toBe(false)
    expect(refusedHere([waits(signed)], 'other', 'south')).toBe(false)
    expect(refusedHere([waits(body('done', 'south', {}))], 'h', 'south')).toBe(false)
  })
})

describe('the words of a stop', () => {
  // Read from the service's own file: words that it says and nobody translated are missed here.
  const source = readFileSync(new URL('../../src/hullwright/proof/start.py', import.meta.url), 'utf8')
  const words = [...source.match(/^_WORDS = \{(.*)\}$/m)![1]!.matchAll(/: "([^"]+)"/g)].map((found) => found[1]!)
  it('are known in both languages, all of them', () => {
    expect(words).toContain(NAILING)
    for (const T of [EN, ES]) expect(Object.keys(T.stops).sort(), T.language).toEqual([...words].sort())
    for (const one of words) expect(ES.stops[one]).not.toBe(EN.stops[one])
  })
  it('are those of the service where a page is older', () => {
    expect(stopWords(ES, [NAILING, 'frost'])).toEqual(['El clavado de esta cara no está firmado.', 'frost'])
  })
})

describe('a sign-off that was sent', () => {
  const session = { person: 'Ana', device: 'd1' } as Session
  const answer = (status: string) => (_: string, init: RequestInit) => {
    const { entries } = JSON.parse(String(init.body)) as { entries: { id: string; body: string }[] }
    const receipts = entries.map((one) => ({ id: one.id, body_hash: createHash('sha256').update(one.body).digest('hex'), status, number: 1, reason: 'no', problems: [] }))
    return Promise.resolve(new Response(JSON.stringify({ receipts, highest: 7 })))
  }
  const kept = async () => (await recall<States>('h/states'))?.value.not_to_start
  beforeEach(async () => {
    vi.stubGlobal('navigator', {})
    const db = await database()
    for (const shelf of ['queue', 'little', 'answers'] as const) await db.clear(shelf)
    await remember('h/states', told)
    await keep(session, 'h', 'nailing', { passed: true }, { face: 'south' })
  })
  it('counts on, though the service could not be asked again', async () => {
    vi.stubGlobal('fetch', vi.fn(answer('stored')))
    expect((await send()).sent).toBe(1)
    expect(await all()).toEqual([])
    expect(await kept()).toEqual({ north: [NAILING, STRAPS] })
  })
  it('counts no more where it was refused', async () => {
    vi.stubGlobal('fetch', vi.fn(answer('refused')))
    expect((await send()).refused).toBe(1)
    expect(await kept()).toEqual(told.not_to_start)
    expect(stopsOf(told, await all(), 'h')).toEqual(told.not_to_start)
  })
  it('makes up no answer where there was none', async () => {
    await (await database()).clear('answers')
    vi.stubGlobal('fetch', vi.fn(answer('stored')))
    expect((await send()).sent).toBe(1)
    expect(await kept()).toBeUndefined()
  })
})
