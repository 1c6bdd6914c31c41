/** A place on the wall: what a tap on the drawing of a face means. */
import type { Geometry } from '../api/shapes'

export type Point = [number, number, number]
/** How far a place may lie from a joint to be on it [m]; the service has the same (proof/data/rules.toml, [reach]). */
export const REACH = { measured: 6 * 0.0254, damage: 3 * 0.0254 } as const

export interface Landing {
  face: string
  /** On the wall [m]. */
  place: Point
  /** Number of the joint that it is on; -1 where it is in the field of the face. */
  joint: number
  /** From the left end and the foot of the face, as one measures it there [m]. */
  left: number
  up: number
  /** On the sheet. */
  at: [number, number]
}

const round = (v: number) => Math.round(v * 1e4) / 1e4

/** From the unrolled sheet to the coordinates of a face. */
export function toFace(g: Geometry, face: number, X: number, Y: number): [number, number] {
  const [a, b, c, d, e, f] = g.faces[face]!.transform as [number, number, number, number, number, number]
  const [u, v] = [X - e, g.sheet.height_m - Y - f]
  const det = a * d - b * c
  return [(d * u - c * v) / det, (a * v - b * u) / det]
}
/** From the coordinates of a face to the unrolled sheet. */
export function toSheet(g: Geometry, face: number, x: number, y: number): [number, number] {
  const [a, b, c, d, e, f] = g.faces[face]!.transform as [number, number, number, number, number, number]
  return [a * x + c * y + e, g.sheet.height_m - (b * x + d * y + f)]
}
/** From the coordinates of a face to the wall. */
export function lift(g: Geometry, face: number, x: number, y: number): Point {
  const { origin, across, up } = g.faces[face]!.frame
  return [0, 1, 2].map((i) => round(origin[i]! + x * across[i]! + y * up[i]!)) as Point
}
function drop(g: Geometry, face: number, p: Point): [number, number] {
  const { origin, across, up } = g.faces[face]!.frame
  const dot = (axis: number[]) => p.reduce((sum, v, i) => sum + (v - origin[i]!) * axis[i]!, 0)
  return [dot(across), dot(up)]
}

/** The point of a joint that lies next to a place, how far off it is, and where along the joint [m]. */
export function nearestOn(g: Geometry, k: number, p: Point): { place: Point; away: number; along: number } {
  const { offset, xyz } = g.joints
  const point = (i: number): Point => [xyz[3 * i]!, xyz[3 * i + 1]!, xyz[3 * i + 2]!]
  const [from, to] = [offset[k]!, offset[k + 1]!]
  let best = { place: point(from), away: Math.hypot(...sub(p, point(from))), along: 0 }
  let reached = 0
  for (let i = from; i + 1 < to; i++) {
    const [start, step] = [point(i), sub(point(i + 1), point(i))]
    const long = Math.hypot(...step)
    if (long === 0) continue
    const t = Math.min(1, Math.max(0, step.reduce((sum, v, d) => sum + v * (p[d]! - start[d]!), 0) / long ** 2))
    const place = start.map((v, d) => round(v + t * step[d]!)) as Point
    const away = Math.hypot(...sub(p, place))
    if (away < best.away) best = { place, away, along: reached + t * long }
    reached += long
  }
  return best
}
function sub(a: Point, b: Point): Point {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/** Joints that lie on a face or at its edge and have a place of their own. */
export function jointsOn(g: Geometry, face: number): number[] {
  return g.joints.id.flatMap((_, k) => ((g.joints.owner[k] === face || g.joints.other[k] === face) && !g.kinds[g.joints.kind[k]!]!.everywhere ? [k] : []))
}

/** What a tap means. Among the joints of a run it is the nearest point of them; else the place itself, and the joint that it is on. */
export function land(g: Geometry, face: number, X: number, Y: number, among: readonly number[] | null = null): Landing {
  const tapped = lift(g, face, ...toFace(g, face, X, Y))
  const near = (among ?? jointsOn(g, face)).map((k) => ({ k, ...nearestOn(g, k, tapped) })).toSorted((a, b) => a.away - b.away || g.joints.length_m[a.k]! - g.joints.length_m[b.k]!)
  const first = near[0]
  const on = first && (among || first.away <= REACH.damage) ? first : undefined
  const place = on && among ? on.place : tapped
  const [x, y] = drop(g, face, place)
  const left = Math.min(...g.faces[face]!.loops[0]!.filter((_, i) => i % 2 === 0))
  const foot = Math.min(...g.faces[face]!.loops[0]!.filter((_, i) => i % 2 === 1))
  return { face: g.faces[face]!.id, place, joint: on?.k ?? -1, left: x - left, up: y - foot, at: toSheet(g, face, x, y) }
}

/** Off the straight line between two taps a joint is not meant [m]; nearer to an end than this the end is meant (estimate: a thumb). */
const NEAR = 0.05

export interface Part {
  joint: number
  from: number
  to: number
  whole: boolean
}
/** What of the joints of a run lies between two taps on the straight way from one to the other. */
export function between(g: Geometry, joints: readonly number[], one: Landing, two: Landing): Part[] {
  if (one.joint < 0 || two.joint < 0) return []
  if (one.joint === two.joint) {
    const [a, b] = [one, two].map((l) => nearestOn(g, l.joint, l.place).along) as [number, number]
    return part(g, one.joint, Math.min(a, b), Math.max(a, b))
  }
  const way = sub(two.place, one.place)
  const long = Math.hypot(...way)
  const unit = way.map((v) => v / long) as Point
  return joints.flatMap((k) => {
    const ends = [0, g.joints.offset[k + 1]! - g.joints.offset[k]! - 1].map((i) => {
      const at = 3 * (g.joints.offset[k]! + i)
      const from = sub([g.joints.xyz[at]!, g.joints.xyz[at + 1]!, g.joints.xyz[at + 2]!], one.place)
      const s = from.reduce((sum, v, d) => sum + v * unit[d]!, 0)
      return { s, off: Math.sqrt(Math.max(0, from.reduce((sum, v) => sum + v * v, 0) - s * s)) }
    }) as [{ s: number; off: number }, { s: number; off: number }]
    const [a, b] = ends
    if (a.off > NEAR || b.off > NEAR) return []
    const at = (s: number) => (a.s === b.s ? 0 : Math.min(1, Math.max(0, (s - a.s) / (b.s - a.s)))) * g.joints.length_m[k]!
    if (Math.max(a.s, b.s) < 0 || Math.min(a.s, b.s) > long) return []
    const [from, to] = [at(0), at(long)]
    return part(g, k, Math.min(from, to), Math.max(from, to))
  })
}
function part(g: Geometry, joint: number, from: number, to: number): Part[] {
  const long = g.joints.length_m[joint]!
  const [start, end] = [from < NEAR ? 0 : round(from), to > long - NEAR ? long : round(to)]
  return end > start ? [{ joint, from: start, to: end, whole: start === 0 && end === long }] : []
}
