/** What is open on a wall: holes to seal, flaws to mend, repairs that nobody looked at. */
import type { Entry, States } from '../api/shapes'
import { onFace, type Draft, type Site } from './entries'
import type { Spot } from './queue'

export interface Open {
  /** Of the entry that a seal or mend names. */
  id: string
  hole: boolean
  text: string
  by: string
  spot: Spot
  /** It is closed, and waits for somebody to look. */
  looks: boolean
}
export interface Hole {
  id: string
  joint: string
  face: string
  place_m: [number, number, number] | null
  text: string
  made_by: string
  open: boolean
}
interface Known {
  holes: readonly Hole[]
  /** Of this wall, those that stand. */
  entries: readonly Entry[]
  states: States | null
  /** Texts of entries that wait on this phone. */
  waiting: readonly string[]
}
type Body = Partial<Entry> & { what?: Record<string, unknown> }
const LOOKS = new Set(['seen', 'probe', 'smoke'])
const FAILS: Record<string, (what: Record<string, unknown>) => boolean> = { seen: (w) => w.sound === false, probe: (w) => Number(w.failed) > 0, smoke: (w) => w.leaked === true, staples: (w) => Number(w.count) > 0, flaw: () => true }

function read(body: string): Body {
  try {
    return (JSON.parse(body) ?? {}) as Body
  } catch {
    return {}
  }
}
const spotOf = (one: Body): Spot => ({ joint: one.joint ?? '', joint_kind: one.joint_kind ?? '', face: one.face ?? '', place_m: (one.place_m as Spot['place_m']) ?? null, run: one.run ?? '' })

/** Open things of a wall: those of the register, those that wait here, and repairs without a look after them. */
export function openOn(face: string, known: Known): Open[] {
  const waiting = known.waiting.map(read)
  const all: Body[] = [...known.entries, ...waiting]
  const here = (one: Body) => one.face === face
  const still = new Set((known.states?.joints ?? []).flatMap((one) => one.open_flaws))
  const closed = new Map<string, Body>()
  for (const one of all) {
    if (one.kind === 'hole sealed') closed.set(String(one.what?.hole), one)
    if (one.kind === 'mended') closed.set(String(one.what?.flaw), one)
  }
  const holes: Open[] = [
    ...known.holes.filter((one) => one.face === face && one.open).map((one) => ({ id: one.id, hole: true, text: one.text, by: one.made_by, spot: { joint: one.joint, face: one.face, place_m: one.place_m }, looks: false })),
    ...waiting.filter((one) => one.kind === 'hole' && here(one)).map((one) => ({ id: one.id!, hole: true, text: String(one.what?.text), by: String(one.what?.made_by), spot: spotOf(one), looks: false })),
  ]
  const wrong = all.filter((one) => here(one) && FAILS[one.kind ?? '']?.(one.what ?? {}))
  // A check that failed is open until the service says otherwise; a flaw of the face stands on no joint.
  const flaws: Open[] = wrong
    .filter((one) => one.kind === 'flaw' || still.has(one.id!) || waiting.includes(one))
    .map((one) => ({ id: one.id!, hole: false, text: String(one.what?.text ?? one.kind), by: one.author ?? '', spot: spotOf(one), looks: false }))
  const open = [...holes, ...flaws].filter((one) => !closed.has(one.id))
  const order = (one: Body) => (one.number ? Number(one.number) : Infinity)
  const repairs = [...closed].flatMap(([id, repair]) => {
    if (!here(repair)) return []
    const at = all.indexOf(repair)
    // A look counts that came after the repair, in the store or in this phone's queue, at the same joint or place.
    const looked = all.some((one, k) => LOOKS.has(one.kind ?? '') && !FAILS[one.kind!]?.(one.what ?? {}) && k > at && order(one) >= order(repair) && sameSpot(one, repair))
    return looked ? [] : [{ id, hole: repair.kind === 'hole sealed', text: '', by: repair.author ?? '', spot: spotOf(repair), looks: true }]
  })
  return [...open, ...repairs]
}
function sameSpot(one: Body, other: Body): boolean {
  if (other.joint) return one.joint === other.joint || (!!one.run && !one.joint) || ((one.what?.of as string[] | undefined)?.includes(other.joint) ?? false)
  return !one.joint && JSON.stringify(one.place_m ?? null) === JSON.stringify(other.place_m ?? null)
}

/** The entry that closes it, or that says how the repair looks. */
export function repairOf(site: Site, one: Open, how: { sound: boolean } | { method: string; product: string; words: string }): Draft[] {
  const spot: Spot = { ...onFace(site, one.spot.face!), ...(one.spot.joint ? { joint: one.spot.joint, joint_kind: one.spot.joint_kind ?? '' } : {}), place_m: one.spot.place_m ?? null }
  if ('sound' in how) return [{ kind: 'seen', what: { seen_by: site.person, sound: how.sound }, spot }]
  if (one.hole) return [{ kind: 'hole sealed', what: { hole: one.id, product: how.product || how.method, detail: how.words }, spot }]
  return [{ kind: 'mended', what: { flaw: one.id, product: how.product || how.method }, spot }]
}
