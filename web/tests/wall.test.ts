import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import type { Entry, Geometry, States } from '../src/api/shapes'
import { checksOf, done, donePart, ENDS, lot, onPlace, photo, ready, seen, shownWith, type Site } from '../src/glove/entries'
import { openOn, repairOf } from '../src/glove/open'
import type { Piece } from '../src/glove/pieces'
import { remarksOf } from '../src/glove/remarks'
import { between, land, lift, nearestOn, REACH, toFace, toSheet } from '../src/glove/wall'

const rules = readFileSync(new URL('../../src/hullwright/proof/data/rules.toml', import.meta.url), 'utf8')

/** A south wall of 6 x 3 m that stands on the sheet turned by 90°, with its foot 1 m up; an east wall beside it. */
const line = (...points: number[][]) => points.map(([x, z]) => [x!, 0, z!])
const LINES = [line([0, 2], [2, 2]), line([3, 2], [6, 2]), line([0, 3], [6, 3]), line([4, 2.5]), line([5, 2.5]), [[6, 0, 1], [6, 0, 4]]]
const g = {
  sheet: { width_m: 20, height_m: 10 }, revision: 4,
  kinds: [{ name: 'horizontal seam', piece: false, everywhere: false }, { name: 'box or duct', piece: true, everywhere: false }, { name: 'outside corner', piece: false, everywhere: false }, { name: 'overdriven fastener', piece: true, everywhere: true }],
  faces: [
    { id: 'main/south', transform: [0, 1, -1, 0, 9, 2], loops: [[0, 0, 6, 0, 6, 3, 0, 3]], frame: { origin: [0, 0, 1], across: [1, 0, 0], up: [0, 0, 1], normal: [0, -1, 0] } },
    { id: 'main/east', transform: [1, 0, 0, 1, 0, 0], loops: [[0, 0, 5, 0, 5, 3, 0, 3]], frame: { origin: [6, 0, 1], across: [0, 1, 0], up: [0, 0, 1], normal: [1, 0, 0] } },
  ],
  runs: [],
  joints: {
    id: ['a', 'b', 'c', 'P1', 'P2', 'edge'], mark: ['', '', '', 'P1', 'P2', ''], kind: [0, 0, 0, 1, 1, 2], owner: [0, 0, 0, 0, 0, 1], other: [-1, -1, -1, -1, -1, 0], run: [0, 0, 0, 1, 1, 2],
    length_m: [2, 3, 6, 0, 0, 3], surface: ['wood panel', 'wood panel', 'wood panel', 'wood panel', 'wood panel', ''],
    offset: LINES.reduce((all, one) => [...all, all.at(-1)! + one.length], [0]), xyz: LINES.flat(2),
  },
} as unknown as Geometry // prettier-ignore
const tap = (x: number, z: number, among: number[] | null = null) => land(g, 0, ...toSheet(g, 0, x, z - 1), among)
const piece = (more: Partial<Piece>): Piece => ({ run: 'r', kind: 'horizontal seam', face: 'main/south', stage: 'sheathing', method: 'liquid', product: 'p', prepared: [], joints: [0, 1], quantity: 5, countable: false, laid: {}, ...more })
const site: Site = { geometry: g, plan: 'job', person: 'Ana' }

describe('a tap on the drawing', () => {
  it('goes from the sheet to the wall and back, on a turned face too', () => {
    // By hand: turned by 90°, X = 9 − y, Y = 10 − (x + 2).
    expect(toSheet(g, 0, 1, 2)).toEqual([7, 7])
    expect(toFace(g, 0, 7, 7)).toEqual([1, 2])
    expect(lift(g, 0, 1, 2)).toEqual([1, 0, 3])
  })
  it('finds the joint that it is on within three inches, and no joint in the field of the panel', () => {
    expect(tap(1, 2.07)).toMatchObject({ joint: 0, place: [1, 0, 2.07], face: 'main/south' })
    expect(tap(1, 2.08)).toMatchObject({ joint: -1, place: [1, 0, 2.08] })
    expect(tap(2.5, 2)).toMatchObject({ joint: -1 })
  })
  it('finds an edge that is drawn on the neighbor', () => {
    expect(tap(5.95, 3.5).joint).toBe(5)
  })
  it('takes the nearest point of the run in hand, and says where that is from the left end and the foot', () => {
    const found = tap(2.6, 2.4, [0, 1])
    expect(found).toMatchObject({ joint: 1, place: [3, 0, 2] })
    expect(found.left).toBeCloseTo(3, 9)
    expect(found.up).toBeCloseTo(1, 9)
  })
  it('has the reach of the service', () => {
    const inches = (name: string) => Number(new RegExp(`^${name} = "(\\d+) in"`, 'm').exec(rules)![1])
    expect([REACH.measured, REACH.damage]).toEqual([inches('measured') * 0.0254, inches('damage') * 0.0254])
  })
  it('measures along a joint', () => {
    expect(nearestOn(g, 1, [4, 0, 2.5])).toEqual({ place: [4, 0, 2], away: 0.5, along: 1 })
  })
})

describe('a stretch from tap to tap', () => {
  it('lies on one joint, whichever end is tapped first', () => {
    expect(between(g, [0, 1], tap(0.5, 2, [0, 1]), tap(1.5, 2, [0, 1]))).toEqual([{ joint: 0, from: 0.5, to: 1.5, whole: false }])
    expect(between(g, [0, 1], tap(1.5, 2, [0, 1]), tap(0.5, 2, [0, 1]))).toEqual([{ joint: 0, from: 0.5, to: 1.5, whole: false }])
    expect(between(g, [0, 1], tap(0.02, 2, [0, 1]), tap(1.97, 2, [0, 1]))).toEqual([{ joint: 0, from: 0, to: 2, whole: true }])
    expect(between(g, [0, 1], tap(1, 2, [0, 1]), tap(1, 2, [0, 1]))).toEqual([])
  })
  it('goes over a gap in the line, and takes nothing that lies beside it', () => {
    expect(between(g, [0, 1, 2], tap(0.5, 2, [0]), tap(4, 2, [1]))).toEqual([
      { joint: 0, from: 0.5, to: 2, whole: false },
      { joint: 1, from: 0, to: 1, whole: false },
    ])
    expect(between(g, [0, 1, 2], tap(0, 2, [0]), tap(6, 3, [2]))).toEqual([])
  })
})

describe('entries', () => {
  it('say a run by its name, with the drawing in hand', () => {
    expect(done(site, piece({}), lot(site, piece({}))!)).toEqual([
      { kind: 'done', what: { method: 'liquid', crew: 'Ana', surface: 'wood panel', product: 'p' }, spot: { plan: 'job', revision: 4, run: 'r', joint_kind: 'horizontal seam', face: 'main/south' } },
    ])
    const first = { ...site, geometry: { ...g, revision: 0 } as Geometry }
    expect('revision' in done(first, piece({}), {})[0]!.spot).toBe(false)
  })
  it('make up no surface', () => {
    expect(lot(site, piece({ joints: [5] }))).toBeNull()
    expect(lot(site, piece({ method: '' }))).toBeNull()
  })
  it('say heads joint by joint, which are counted by face', () => {
    const heads = piece({ kind: 'overdriven fastener', joints: [0, 1] })
    expect(done(site, heads, {}).map((one) => one.spot.joint)).toEqual(['a', 'b'])
  })
  it('say a stretch on its joint, from and to', () => {
    const how = { method: 'liquid' }
    const made = donePart(site, piece({}), how, tap(0, 2, [0]), tap(4, 2, [1]))
    expect(made.map((one) => [one.spot.joint, one.what])).toEqual([['a', how], ['b', { ...how, from_m: 0, to_m: 1 }]])
  })
  it('say a place on the wall, and the joint that it is on', () => {
    expect(onPlace(site, tap(1, 2.05))).toEqual({ plan: 'job', revision: 4, joint: 'a', joint_kind: 'horizontal seam', face: 'main/south', place_m: [1, 0, 2.05] })
    expect(onPlace(site, tap(1, 2.5))).toEqual({ plan: 'job', revision: 4, face: 'main/south', place_m: [1, 0, 2.5] })
  })
  it('say a row of boxes as one, and some of them by name', () => {
    const row = piece({ kind: 'box or duct', joints: [3, 4], countable: true })
    expect(seen(site, row, [3, 4], { sound: true })).toMatchObject({ what: { seen_by: 'Ana', sound: true }, spot: { run: 'r' } })
    expect(seen(site, row, [4], { sound: true, flat: false })).toMatchObject({ what: { flat: false }, spot: { joint: 'P2' } })
    const some = piece({ kind: 'box or duct', joints: [2, 3, 4], countable: true })
    expect(seen(site, some, [3, 4], { sound: true })).toMatchObject({ what: { of: ['P1', 'P2'] }, spot: { face: 'main/south' } })
    expect(photo(site, 'main/south', [3, 4], { sha256: 'x' }).what).toEqual({ sha256: 'x', of: ['P1', 'P2'] })
    expect(photo(site, 'main/south', [], { sha256: 'x' })).toEqual({ kind: 'photo', what: { sha256: 'x' }, spot: { plan: 'job', revision: 4, face: 'main/south' } })
    expect(shownWith(g, row)).toEqual([3, 4])
  })
  it('say clean, dry and primed', () => {
    expect(ready(site, piece({ prepared: ['primer'] }), 'q').map((one) => [one.kind, one.what])).toEqual([['prepared', { steps: ['primer'] }], ['surface', { dry: true }], ['primed', { product: 'q' }]])
    expect(ready(site, piece({}), '')).toHaveLength(2)
  })
})

describe('what is asked of a piece', () => {
  // Read from the table of rules: a step that nobody can give on the card is missed here.
  const tables = rules.split('[[proof]]').slice(1).map((text) => {
    const list = (name: string) => [...(new RegExp(`^${name} = \\[(.*)\\]`, 'm').exec(text)?.[1] ?? '').matchAll(/"([^"]+)"/g)].map((one) => one[1]!)
    return { methods: list('methods'), form: /^joints = "(\w+)"/m.exec(text)![1]!, needs: list('needs') }
  })
  // Readings and photos have ways of their own on the card.
  const given: Record<string, string> = { seen: 'seen', rolled: 'rolled', tug: 'tug', probes: 'probe', probe: 'probe' }
  it('can be given on the card: every step of the table', () => {
    expect(tables.length).toBeGreaterThan(6)
    for (const { methods, form, needs } of tables)
      for (const method of methods) for (const need of needs) if (given[need]) expect(checksOf(piece({ method, countable: form === 'piece' })), `${method} ${form}`).toContain(given[need])
  })
  it('begins with the end of another trade where the table says so', () => {
    const stages = rules.slice(rules.indexOf('[stage]'))
    for (const [stage, kind] of Object.entries(ENDS)) expect(new RegExp(`^"?${kind}"? = .*"${stage}"`, 'm').test(stages), stage).toBe(true)
    expect([...stages.matchAll(/^"(?:trade through|unit set)" = \[(.*)\]/gm)].flatMap((one) => one[1]!.split(', ')).length).toBe(Object.keys(ENDS).length)
  })
})

describe('what is open on a wall', () => {
  const entry = (id: string, kind: string, what: object, more: object = {}) => ({ id, kind, what, face: 'main/south', joint: '', author: 'Ben', number: 1, place_m: null, ...more }) as unknown as Entry
  const hole = { id: 'h', joint: '', face: 'main/south', place_m: [1, 0, 2] as [number, number, number], text: 'A hole', made_by: 'Ben', open: true }
  const known = { holes: [hole], entries: [] as Entry[], states: null, waiting: [] as string[] }
  it('lists holes of this wall alone, and those that wait on this phone', () => {
    const waits = JSON.stringify(entry('w', 'hole', { text: 'Screw', made_by: 'Ana' }))
    expect(openOn('main/south', { ...known, waiting: [waits] }).map((one) => [one.id, one.by, one.looks])).toEqual([['h', 'Ben', false], ['w', 'Ana', false]])
    expect(openOn('main/east', known)).toEqual([])
  })
  it('asks for a look after a seal, at the very place, by a later entry', () => {
    const sealed = entry('s', 'hole sealed', { hole: 'h' }, { place_m: [1, 0, 2], number: 5 })
    const looks = (more: Entry[]) => openOn('main/south', { ...known, holes: [{ ...hole, open: false }], entries: [sealed, ...more] }).map((one) => [one.id, one.looks])
    expect(looks([])).toEqual([['h', true]])
    const seen = (place_m: number[], what: object = { sound: true }) => entry('l', 'seen', what, { place_m, number: 6 })
    expect(looks([seen([1, 0, 2])])).toEqual([])
    expect(looks([seen([1, 0, 2.5])])).toEqual([['h', true]])
    expect(looks([seen([1, 0, 2], { sound: false })])).toEqual([['h', true]])
    expect(openOn('main/south', { ...known, holes: [], entries: [seen([1, 0, 2]), sealed] }).map((one) => one.looks)).toEqual([true])
  })
  it('lists flaws until they are mended, and failed checks while the service says that they are open', () => {
    const flaw = entry('f', 'flaw', { text: 'Too thin' }, { joint: 'a' })
    const failed = entry('p', 'probe', { tried: 5, failed: 1 }, { joint: 'b' })
    const states = { joints: [{ joint: 'b', open_flaws: ['p'] }] } as unknown as States
    expect(openOn('main/south', { ...known, holes: [], entries: [flaw, failed], states }).map((one) => one.id)).toEqual(['f', 'p'])
    expect(openOn('main/south', { ...known, holes: [], entries: [flaw, failed] }).map((one) => one.id)).toEqual(['f'])
    const mended = JSON.stringify(entry('m', 'mended', { flaw: 'f' }, { joint: 'a' }))
    expect(openOn('main/south', { ...known, holes: [], entries: [flaw], waiting: [mended] }).map((one) => [one.id, one.looks])).toEqual([['f', true]])
  })
  it('closes with what the plan has there, at the place of the hole', () => {
    const [open] = openOn('main/south', known)
    expect(repairOf(site, open!, { method: 'liquid', product: 'p', words: 'liquid' })).toEqual([{ kind: 'hole sealed', what: { hole: 'h', product: 'p', detail: 'liquid' }, spot: { plan: 'job', revision: 4, face: 'main/south', place_m: [1, 0, 2] } }])
    expect(repairOf(site, open!, { sound: true })).toMatchObject([{ kind: 'seen', what: { seen_by: 'Ana', sound: true }, spot: { place_m: [1, 0, 2] } }])
  })
})

describe('what the service says of entries of this phone', () => {
  const mine = ['a', 'b', 'c', 'd'].map((id) => ({ id, body: `{"id":"${id}"}`, reason: id === 'd' ? 'said at once' : '' }))
  const states = { unclear: [{ entry: 'a', lacking: 'needs a place', left_out: [] }, { entry: 'b', lacking: '', left_out: [{ joint: 'j', why: 'planned with tape' }] }, { entry: 'x', lacking: 'needs a place', left_out: [] }], held: { c: ['unknown product'] } } as unknown as States
  it('is shown: left out, without a place, held, and what a receipt said; of no other phone', () => {
    expect(remarksOf(states, mine).map((one) => [one.id, one.lacking, one.leftOut.length, one.held.length, one.reason])).toEqual([['a', 'needs a place', 0, 0, ''], ['b', '', 1, 0, ''], ['c', '', 0, 1, ''], ['d', '', 0, 0, 'said at once']])
    expect(remarksOf(null, mine.slice(0, 3))).toEqual([])
  })
})
