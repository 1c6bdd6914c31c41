import 'fake-indexeddb/auto'
import { createHash } from 'node:crypto'
import { beforeEach, describe, expect, it, vi } from 'vitest'
import type { Receipt, Session } from '../src/api/shapes'
import { all, asFile, keep, send, settle, sha256, stamped, takeBack } from '../src/glove/queue'
import { database, little } from '../src/lib/store'

vi.stubGlobal('navigator', {})
const session = { person: 'Ana', device: 'd1' } as Session
const hash = (text: string) => createHash('sha256').update(text).digest('hex')
const body = (init: RequestInit) => JSON.parse(String(init.body)) as { entries: { id: string; body: string }[] }
const answer = (receipts: object[], status = 200) => new Response(JSON.stringify(status < 400 ? { receipts, highest: 7 } : { error: { kind: 'forbidden', message: 'not allowed', problems: [] } }), { status })

beforeEach(async () => {
  const db = await database()
  await db.clear('queue')
  await db.clear('little')
})

describe('settling', () => {
  const one = { id: 'a', house: 'h', body: 'x', hash: hash('x'), made: '', sequence: 1, refused: '' }
  const receipt = (more: object) => ({ id: 'a', body_hash: hash('x'), status: 'stored', number: 1, reason: '', problems: [], left_out: [], lacking: '', ...more }) as Receipt
  it('lets an entry go only where id and hash are its own', () => {
    expect(settle([one], [receipt({})]).gone).toEqual(['a'])
    expect(settle([one], [receipt({ status: 'duplicate' })]).gone).toEqual(['a'])
    expect(settle([one], [receipt({ body_hash: hash('y') })])).toEqual({ gone: [], refused: [] })
    expect(settle([one], [receipt({ id: 'b' })])).toEqual({ gone: [], refused: [] })
    expect(settle([one], [receipt({ status: 'later' })])).toEqual({ gone: [], refused: [] })
    expect(settle([one], [])).toEqual({ gone: [], refused: [] })
  })
  it('keeps what is refused, with the reason', () => {
    const { gone, refused } = settle([one], [receipt({ status: 'refused', reason: 'this entry can’t be used', problems: [{ message: 'unknown kind' }] })])
    expect(gone).toEqual([])
    expect(refused[0]).toMatchObject({ id: 'a', body: 'x', refused: 'this entry can’t be used: unknown kind' })
  })
})

describe('the queue', () => {
  it('hashes as FIPS 180-4 says', async () => {
    // Source: FIPS 180-4, SHA-256 of "abc" (example in NIST's published values). Tolerance: none.
    expect(await sha256('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad')
  })
  it('writes an entry down with a running number and its hash', async () => {
    const [a, b] = [await keep(session, 'h', 'done', { method: 'tape' }, { joint: 'j1' }), await keep(session, 'h', 'comb', {})]
    expect([a.sequence, b.sequence]).toEqual([1, 2])
    expect(a.hash).toBe(hash(a.body))
    expect(JSON.parse(a.body)).toMatchObject({ id: a.id, kind: 'done', author: 'Ana', device: 'd1', joint: 'j1', supersedes: '', known: 0 })
    expect(await all()).toHaveLength(2)
  })
  it('keeps all where there is no answer, and where the answer was lost sends the same again', async () => {
    await keep(session, 'h', 'done', {})
    vi.stubGlobal('fetch', vi.fn(() => Promise.reject(new TypeError('no signal'))))
    expect(await send()).toMatchObject({ sent: 0, unreached: true })
    const [kept] = await all()
    const seen: string[] = []
    vi.stubGlobal('fetch', vi.fn((_: string, init: RequestInit) => {
      seen.push(body(init).entries[0]!.body)
      if (seen.length === 1) return Promise.resolve(new Response('cut', { status: 200 }))
      return Promise.resolve(answer(body(init).entries.map((e) => ({ id: e.id, body_hash: hash(e.body), status: 'duplicate', problems: [] }))))
    }))
    expect((await send()).sent).toBe(0)
    expect((await send()).sent).toBe(1)
    expect(seen).toEqual([kept!.body, kept!.body])
    expect(await all()).toEqual([])
    expect(await little('sent')).toBe(1)
    expect(await little('known h')).toBe(7)
  })
  it('sends in parts, house by house, and never one twice at a time', async () => {
    for (let k = 0; k < 205; k++) await keep(session, k < 200 ? 'h' : 'other', 'done', { note: `n${k}` })
    const sizes: string[] = []
    vi.stubGlobal('fetch', vi.fn((url: string, init: RequestInit) => {
      sizes.push(`${url} ${body(init).entries.length}`)
      return Promise.resolve(answer(body(init).entries.map((e) => ({ id: e.id, body_hash: hash(e.body), status: 'stored', problems: [] }))))
    }))
    await Promise.all([send(), send(), send()])
    expect(sizes).toEqual(['/api/houses/h/entries 100', '/api/houses/h/entries 100', '/api/houses/other/entries 5'])
    expect(await all()).toEqual([])
  })
  it('leaves entries where they are when the device may not send', async () => {
    await keep(session, 'h', 'done', {})
    vi.stubGlobal('fetch', vi.fn(() => Promise.resolve(answer([], 403))))
    expect(await send()).toMatchObject({ sent: 0, trouble: 'not allowed' })
    expect(await all()).toHaveLength(1)
  })
  it('does not send again what was refused, but still hands it over as a file', async () => {
    await keep(session, 'h', 'done', {})
    vi.stubGlobal('fetch', vi.fn((_: string, init: RequestInit) => Promise.resolve(answer(body(init).entries.map((e) => ({ id: e.id, body_hash: hash(e.body), status: 'refused', reason: 'no', problems: [] }))))))
    expect(await send()).toMatchObject({ refused: 1 })
    const again = vi.fn()
    vi.stubGlobal('fetch', again)
    await send()
    expect(again).not.toHaveBeenCalled()
    const file = JSON.parse(await (await asFile('h', 'd1')).text()) as { hullwright_queue: number; entries: object[] }
    expect(file).toMatchObject({ hullwright_queue: 1, house: 'h', device: 'd1' })
    expect(file.entries).toHaveLength(1)
  })
  it('takes back what was not sent', async () => {
    const one = await keep(session, 'h', 'done', {})
    await takeBack([one.id])
    expect(await all()).toEqual([])
  })
  it('reads what an older page left there, and sends its very text', async () => {
    // No more than id and text beside the house: all else is worked out.
    const id = '0b7c1f5e-6f0e-4a60-8b52-0d6f3a1c9e77'
    const text = JSON.stringify({ id, kind: 'done', device_time: '2026-05-04T07:31:09.120+02:00', device_sequence: 3, what: {} })
    await (await database()).put('queue', { id, house: 'h', body: text } as never)
    await (await database()).put('queue', { id: 'torn', house: 'h', body: '{' } as never)
    expect((await all()).map((one) => [one.id, one.sequence, one.hash, one.refused])).toEqual([['torn', 0, hash('{'), ''], [id, 3, hash(text), '']])
    const seen: string[] = []
    vi.stubGlobal('fetch', vi.fn((_: string, init: RequestInit) => {
      for (const one of body(init).entries) seen.push(one.body)
      return Promise.resolve(answer(body(init).entries.map((e) => ({ id: e.id, body_hash: hash(e.body), status: e.id === 'torn' ? 'refused' : 'stored', reason: 'no entry', problems: [] }))))
    }))
    expect(await send()).toMatchObject({ sent: 1, refused: 1 })
    expect(seen).toEqual(['{', text])
    expect(await all()).toMatchObject([{ id: 'torn', refused: 'no entry', body: '{' }])
  })
  it('stamps local time with its zone', () => {
    const now = new Date('2026-05-04T07:31:09.120Z')
    expect(stamped(now)).toMatch(/^2026-05-0\dT\d\d:\d\d:09\.120[+-]\d\d:\d\d$/)
    expect(Date.parse(stamped(now))).toBe(now.getTime())
  })
})
