import type { Sheet } from './sheet'
import { middle } from './sheet'

/** A CSS pixel is 1/96 inch. */
export const PX_PER_MM = 96 / 25.4
/** A tap takes the nearest joint within this distance. */
export const REACH_MM = 12
/** Joints that are nearer to each other than a pointer can tell [mm]. */
export const BLUR_MM = { mouse: 0.8, pen: 0.8, touch: 2.5 } as const
export const OFFERED = 3

export interface Near {
  joint: number
  /** Distance on the sheet [m]. */
  distance: number
}

/** Joints within reach of a point on the sheet, the nearest first. Reach in metres of the sheet. */
export function near(sheet: Sheet, x: number, y: number, reach: number): Near[] {
  const found: Near[] = []
  for (let k = 0; k < sheet.drawn.length; k++) {
    if (!sheet.drawn[k] || outside(sheet.boxes, k, x, y, reach)) continue
    const distance = away(sheet, k, x, y)
    if (distance <= reach) found.push({ joint: k, distance })
  }
  // Of two that are equally near, a piece lies on the line and is the smaller target.
  return found.sort((a, b) => a.distance - b.distance || sheet.piece[b.joint]! - sheet.piece[a.joint]!)
}

/** What a tap means: nothing, one joint, or a few that the pointer can't tell apart. */
export function tapped(sheet: Sheet, x: number, y: number, scale: number, pointer: keyof typeof BLUR_MM): number[] {
  const perMetre = scale / PX_PER_MM // screen mm for one metre of the sheet
  const all = near(sheet, x, y, REACH_MM / perMetre)
  const first = all[0]
  if (!first) return []
  const blur = BLUR_MM[pointer] / perMetre
  const close = all.filter((one) => one.distance <= first.distance + blur)
  // Pieces drawn on a line cover it: they come first.
  close.sort((a, b) => sheet.piece[b.joint]! - sheet.piece[a.joint]! || a.distance - b.distance)
  return close.slice(0, OFFERED).map((one) => one.joint)
}

function outside(boxes: Float32Array, k: number, x: number, y: number, reach: number): boolean {
  const i = k * 4
  return x < boxes[i]! - reach || x > boxes[i + 2]! + reach || y < boxes[i + 1]! - reach || y > boxes[i + 3]! + reach
}

/** Distance of a point from a joint [m]. */
export function away(sheet: Sheet, k: number, x: number, y: number): number {
  const { xy, offset } = sheet
  const [from, to] = [offset[k]!, offset[k + 1]!]
  if (sheet.piece[k] || to - from === 1) return Math.hypot(x - xy[2 * from]!, y - xy[2 * from + 1]!)
  let least = Infinity
  for (let i = from; i < to - 1; i++) least = Math.min(least, toSegment(x, y, xy[2 * i]!, xy[2 * i + 1]!, xy[2 * i + 2]!, xy[2 * i + 3]!))
  return least
}

export function toSegment(x: number, y: number, ax: number, ay: number, bx: number, by: number): number {
  const [dx, dy] = [bx - ax, by - ay]
  const long = dx * dx + dy * dy
  const t = long === 0 ? 0 : Math.min(1, Math.max(0, ((x - ax) * dx + (y - ay) * dy) / long))
  return Math.hypot(x - ax - t * dx, y - ay - t * dy)
}

/** The next joint in a direction from where one is, as the arrow keys go: near and not far off the line. */
export function step(sheet: Sheet, from: number, dx: number, dy: number): number {
  const [x, y] = middle(sheet, from)
  let best = from
  let least = Infinity
  for (let k = 0; k < sheet.drawn.length; k++) {
    if (k === from || !sheet.drawn[k]) continue
    const [mx, my] = middle(sheet, k)
    const along = (mx - x) * dx + (my - y) * dy
    const across = Math.abs((mx - x) * dy - (my - y) * dx)
    if (along <= 1e-6) continue
    const cost = along + 2.5 * across
    if (cost < least) {
      least = cost
      best = k
    }
  }
  return best
}

/** The drawn joint that is nearest to a point. */
export function nearest(sheet: Sheet, x: number, y: number): number {
  let best = -1
  let least = Infinity
  for (let k = 0; k < sheet.drawn.length; k++) {
    if (!sheet.drawn[k]) continue
    const distance = away(sheet, k, x, y)
    if (distance < least) [best, least] = [k, distance]
  }
  return best
}
