/** Entries as the rules of evidence need them: what each is about, and its figures. */
import type { Geometry } from '../api/shapes'
import { placeOf, type Piece } from './pieces'
import type { Spot } from './queue'
import { between, type Landing } from './wall'

export interface Draft {
  kind: string
  what: Record<string, unknown>
  spot: Spot
}
/** What the card knows of the house and of who holds it. */
export interface Site {
  geometry: Geometry
  plan: string
  person: string
}
/** Entry that ends a stage, so that its joints are due; as the service has it (proof/data/rules.toml, [stage]). */
export const ENDS: Record<string, 'trade through' | 'unit set'> = { services: 'trade through', later: 'trade through', units: 'unit set' }

const base = (site: Site): Spot => ({ plan: site.plan, ...(site.geometry.revision ? { revision: site.geometry.revision } : {}) })
const idOf = (site: Site, k: number) => site.geometry.joints.id[k]!
const everywhere = (site: Site, one: Piece) => !!site.geometry.kinds.find((kind) => kind.name === one.kind)?.everywhere

export function onRun(site: Site, one: Piece): Spot {
  return { ...base(site), run: one.run, joint_kind: one.kind, face: one.face }
}
export function onFace(site: Site, face: string): Spot {
  return { ...base(site), face }
}
export function onJoint(site: Site, k: number): Spot {
  const g = site.geometry
  return { ...base(site), joint: g.joints.id[k]!, joint_kind: g.kinds[g.joints.kind[k]!]!.name, face: g.faces[g.joints.owner[k]!]!.id, place_m: placeOf(g, k) }
}
/** A place on the wall; the joint that it is on is said beside it. */
export function onPlace(site: Site, at: Landing): Spot {
  const g = site.geometry
  const joint = at.joint < 0 ? {} : { joint: g.joints.id[at.joint]!, joint_kind: g.kinds[g.joints.kind[at.joint]!]!.name }
  return { ...base(site), ...joint, face: at.face, place_m: at.place }
}

/** How a piece is sealed: method, crew, what it lies on; null where nobody knows what it lies on. */
export function lot(site: Site, one: Piece, method = one.method, product = one.product): Record<string, unknown> | null {
  const surface = one.joints.map((k) => site.geometry.joints.surface[k]).find(Boolean)
  if (!surface || !method) return null
  return { method, crew: site.person, surface, ...(product ? { product } : {}) }
}
/** A run that is done: one entry. What is counted by face is named joint by joint. */
export function done(site: Site, one: Piece, how: Record<string, unknown>): Draft[] {
  if (everywhere(site, one)) return one.joints.map((k) => ({ kind: 'done', what: how, spot: onJoint(site, k) }))
  return [{ kind: 'done', what: how, spot: onRun(site, one) }]
}
/** A stretch of a run that is done, from tap to tap. */
export function donePart(site: Site, one: Piece, how: Record<string, unknown>, from: Landing, to: Landing): Draft[] {
  return between(site.geometry, one.joints, from, to).map((part) => ({
    kind: 'done',
    what: part.whole ? how : { ...how, from_m: part.from, to_m: part.to },
    spot: onJoint(site, part.joint),
  }))
}
/** Clean, dry, primed where the plan asks for it. */
export function ready(site: Site, one: Piece, primer: string): Draft[] {
  const spot = onRun(site, one)
  const steps = one.prepared.length ? { steps: one.prepared } : {}
  return [
    { kind: 'prepared', what: steps, spot },
    { kind: 'surface', what: { dry: true }, spot },
    ...(primer ? [{ kind: 'primed', what: { product: primer }, spot }] : []),
  ]
}
/** Pieces that were tapped as a group: names of their joints. One piece is named as itself, all of a run as the run. */
function group(site: Site, one: Piece, chosen: readonly number[]): { spot: Spot; of: { of?: string[] } } {
  if (chosen.length === 1) return { spot: onJoint(site, chosen[0]!), of: {} }
  if (chosen.length === one.joints.length && one.joints.every((k) => chosen.includes(k))) return { spot: onRun(site, one), of: {} }
  return { spot: onFace(site, one.face), of: { of: chosen.map((k) => idOf(site, k)) } }
}
export function seen(site: Site, one: Piece, chosen: readonly number[], how: { sound: boolean; flat?: boolean }): Draft {
  const { spot, of } = group(site, one, chosen)
  return { kind: 'seen', what: { seen_by: site.person, ...how, ...of }, spot }
}
/** A photo shows what was tapped on it: each piece by its name. Of a face as a whole where nothing was tapped. */
export function photo(site: Site, face: string, chosen: readonly number[], what: { sha256: string }): Draft {
  if (!chosen.length) return { kind: 'photo', what, spot: onFace(site, face) }
  return { kind: 'photo', what: { ...what, of: chosen.map((k) => idOf(site, k)) }, spot: onFace(site, face) }
}
/** Joints that one photo of a piece shows: a whole opening with its corners, all boxes or tails of the row. */
export function shownWith(geometry: Geometry, one: Piece): number[] {
  const { mark, id } = geometry.joints
  const marks = new Set(one.joints.map((k) => mark[k]).filter(Boolean))
  const opening = /opening/.test(one.kind)
  return opening && marks.size ? id.flatMap((_, k) => (marks.has(mark[k]!) ? [k] : [])) : [...one.joints]
}

/** How many openings a run is of; 0 where it is of none. */
export function marksOf(geometry: Geometry, one: Piece): number {
  return /opening/.test(one.kind) ? new Set(one.joints.map((k) => geometry.joints.mark[k])).size : 0
}

export type Check = 'ready' | 'seen' | 'rolled' | 'probe' | 'tug' | 'film'
const STEPS: Record<string, Check[]> = {
  liquid: ['film'], coat: ['film'], tape: ['rolled', 'probe', 'tug'], '': ['rolled', 'probe'], stretch: ['rolled', 'probe', 'tug'], sealant: ['seen', 'probe'],
} // prettier-ignore
/** Checks that a piece may need, by method and form (a patch, whose method no plan says: those that need no method); the service says which are lacking. */
export function checksOf(one: Piece): Check[] {
  const own = STEPS[one.method] ?? ['seen']
  return ['ready', ...new Set<Check>([...own, ...(one.countable ? (['seen'] as const) : [])])]
}
