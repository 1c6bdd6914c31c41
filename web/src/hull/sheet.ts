import type { Geometry } from '../api/shapes'

/** The unrolled hull in numbers: every joint once, on the sheet, in metres with Y down. */
export interface Sheet {
  width: number
  height: number
  faces: FaceOnSheet[]
  /** Joint k has the points offset[k] … offset[k + 1]. */
  offset: number[]
  xy: Float32Array
  /** 1 where the joint has a place of its own. */
  drawn: Uint8Array
  /** 1 where it is a piece rather than a line. */
  piece: Uint8Array
  boxes: Float32Array
}
export interface FaceOnSheet {
  id: string
  kind: string
  loops: Float32Array[]
  openings: Float32Array[]
  cold: boolean
}

/** Lays a house out. */
export function layOut(geometry: Geometry): Sheet {
  const { joints, faces, kinds, sheet } = geometry
  const high = sheet.height_m
  const put = (t: number[], from: ArrayLike<number>): Float32Array => {
    const out = new Float32Array(from.length)
    for (let i = 0; i < from.length; i += 2) {
      const x = from[i]!
      const y = from[i + 1]!
      out[i] = t[0]! * x + t[2]! * y + t[4]!
      out[i + 1] = high - (t[1]! * x + t[3]! * y + t[5]!)
    }
    return out
  }
  const count = joints.id.length
  const xy = new Float32Array(joints.xy.length)
  const drawn = new Uint8Array(count)
  const piece = new Uint8Array(count)
  const boxes = new Float32Array(count * 4)
  for (let k = 0; k < count; k++) {
    const [from, to] = [joints.offset[k]!, joints.offset[k + 1]!]
    const kind = kinds[joints.kind[k]!]!
    const face = faces[joints.owner[k]!]!
    drawn[k] = kind.everywhere || to === from ? 0 : 1
    piece[k] = kind.piece || to - from === 1 ? 1 : 0
    const points = put(face.transform, joints.xy.slice(from * 2, to * 2))
    xy.set(points, from * 2)
    boxes.set(box(points), k * 4)
  }
  const laid = faces.map((face) => {
    const loops = face.loops.map((loop) => put(face.transform, loop))
    return {
      id: face.id,
      kind: face.kind,
      loops,
      openings: face.openings.map((o) => put(face.transform, o.polygon)),
      cold: face.cold,
    }
  })
  return { width: sheet.width_m, height: high, faces: laid, offset: joints.offset, xy, drawn, piece, boxes }
}

export function box(points: ArrayLike<number>): [number, number, number, number] {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity]
  for (let i = 0; i < points.length; i += 2) {
    x0 = Math.min(x0, points[i]!)
    x1 = Math.max(x1, points[i]!)
    y0 = Math.min(y0, points[i + 1]!)
    y1 = Math.max(y1, points[i + 1]!)
  }
  return [x0, y0, x1, y1]
}

/** Middle of a joint along its length. */
export function middle(sheet: Sheet, k: number): [number, number] {
  const [from, to] = [sheet.offset[k]!, sheet.offset[k + 1]!]
  const { xy } = sheet
  if (to - from === 1 || sheet.piece[k]) return [xy[from * 2]!, xy[from * 2 + 1]!]
  let total = 0
  for (let i = from; i < to - 1; i++) total += Math.hypot(xy[2 * i + 2]! - xy[2 * i]!, xy[2 * i + 3]! - xy[2 * i + 1]!)
  let left = total / 2
  for (let i = from; i < to - 1; i++) {
    const [ax, ay, bx, by] = [xy[2 * i]!, xy[2 * i + 1]!, xy[2 * i + 2]!, xy[2 * i + 3]!]
    const long = Math.hypot(bx - ax, by - ay)
    if (long >= left && long > 0) return [ax + ((bx - ax) * left) / long, ay + ((by - ay) * left) / long]
    left -= long
  }
  return [xy[from * 2]!, xy[from * 2 + 1]!]
}
