import { box, type FaceOnSheet, type Sheet } from './sheet'

/** Joints and openings of each face as boxes [m], found once for a sheet. */
const near = new WeakMap<Sheet, Float32Array[]>()

/** What is written on each face; a mass that all of them are of is left out. */
export function faceNames(ids: readonly string[]): string[] {
  const mass = `${ids[0]?.split('/')[0]}/`
  const one = ids.every((id) => id.startsWith(mass))
  return ids.map((id) => (one ? id.slice(mass.length) : id.replace('/', ', ')))
}

/** A name over more things than this could not be read. */
const MOST = 6

/** Boxes x0, y0, x1, y1 of what a name should not lie on, by face. */
export function inTheWay(sheet: Sheet): Float32Array[] {
  const known = near.get(sheet)
  if (known) return known
  const found = sheet.faces.map((face) => {
    const [x0, y0, x1, y1] = box(face.loops[0]!)
    const boxes: number[] = []
    const add = (a: number, b: number, c: number, d: number) => {
      if (c >= x0 && a <= x1 && d >= y0 && b <= y1) boxes.push(a, b, c, d)
    }
    for (let k = 0; k < sheet.drawn.length; k++) {
      if (!sheet.drawn[k]) continue
      // A slanting joint is in the way along its line, not in the whole of its box.
      const [from, end] = [sheet.offset[k]!, sheet.offset[k + 1]!]
      for (let i = from; i < Math.max(end - 1, from + 1); i++) {
        const j = Math.min(i + 1, end - 1)
        const [ax, ay, bx, by] = [sheet.xy[2 * i]!, sheet.xy[2 * i + 1]!, sheet.xy[2 * j]!, sheet.xy[2 * j + 1]!]
        const parts = Math.abs(ax - bx) > 0.01 && Math.abs(ay - by) > 0.01 ? 16 : 1
        for (let p = 0; p < parts; p++) {
          const at = (t: number): [number, number] => [ax + (bx - ax) * t, ay + (by - ay) * t]
          const [[px, py], [qx, qy]] = [at(p / parts), at((p + 1) / parts)]
          add(Math.min(px, qx), Math.min(py, qy), Math.max(px, qx), Math.max(py, qy))
        }
      }
    }
    for (const opening of face.openings) add(...box(opening))
    return Float32Array.from(boxes)
  })
  near.set(sheet, found)
  return found
}

/**
 * Middle [m] for a name of a size [m] on a face: inside it, over as little as can be, near its middle. None where it does not fit
 * or could not be read for what it lies over. What lies in its way comes as boxes.
 */
export function placeName(face: FaceOnSheet, boxes: Float32Array, wide: number, high: number): [number, number] | null {
  const outline = face.loops[0]!
  const [x0, y0, x1, y1] = box(outline)
  if (wide > x1 - x0 || high > y1 - y0) return null
  let best: [number, number] | null = null
  let least = MOST + 1
  for (let row = 0; row < 31; row++) {
    for (let column = 0; column < 5; column++) {
      // From the middle outwards, so that of two as good the nearer one stays.
      const [u, v] = [out(column) / 6, out(row) / 32]
      const [x, y] = [(x0 + x1) / 2 + u * (x1 - x0 - wide), (y0 + y1) / 2 + v * (y1 - y0 - high)]
      const [a, b, c, d] = [x - wide / 2, y - high / 2, x + wide / 2, y + high / 2]
      if (!(within(outline, a, b) && within(outline, c, b) && within(outline, a, d) && within(outline, c, d))) continue
      let over = (Math.abs(u) + Math.abs(v)) * 0.5
      for (let i = 0; i < boxes.length && over < least; i += 4) if (boxes[i]! < c && boxes[i + 2]! > a && boxes[i + 1]! < d && boxes[i + 3]! > b) over++
      if (over < least) [least, best] = [over, [x, y]]
    }
  }
  return best
}

/** 0, 1, −1, 2, −2, … */
function out(k: number): number {
  return k % 2 ? (k + 1) / 2 : -k / 2
}

function within(loop: ArrayLike<number>, x: number, y: number): boolean {
  let inside = false
  for (let i = 0, j = loop.length - 2; i < loop.length; j = i, i += 2) {
    if (loop[i + 1]! > y !== loop[j + 1]! > y && x < ((loop[j]! - loop[i]!) * (y - loop[i + 1]!)) / (loop[j + 1]! - loop[i + 1]!) + loop[i]!) inside = !inside
  }
  return inside
}
