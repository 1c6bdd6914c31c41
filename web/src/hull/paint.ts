import type { Look, Mark } from '../lib/looks'
import { faceNames, inTheWay, placeName } from './naming'
import type { Sheet } from './sheet'
import type { Placing } from './view'

export interface Ground {
  ground: string
  sheet: string
  hole: string
  line: string
  ink: string
  faint: string
  dark: boolean
}
/** How joints are drawn: the look of each, and by how much its weight grows. */
export interface Ink {
  looks: Look[]
  /** Number in looks for each joint. */
  of: ArrayLike<number>
  /** Factor on the weight of each joint; all 1 where left out. */
  grow?: ArrayLike<number>
}

/** Draws the whole sheet. Joints of one look and weight go in one stroke. */
export function paint(
  ctx: CanvasRenderingContext2D,
  sheet: Sheet,
  at: Placing,
  ink: Ink,
  ground: Ground,
  size: { width: number; height: number; names?: boolean },
): void {
  ctx.save()
  ctx.fillStyle = ground.ground
  ctx.fillRect(0, 0, size.width, size.height)
  faces(ctx, sheet, at, ground)
  if (size.names !== false) names(ctx, sheet, at, ground)
  const unit = thin(at.scale)
  const groups = new Map<string, number[]>()
  for (let k = 0; k < sheet.drawn.length; k++) {
    if (!sheet.drawn[k] || unseen(sheet, k, at, size)) continue
    const step = ink.grow ? Math.round((ink.grow[k] ?? 1) * 4) / 4 : 1
    const name = `${ink.of[k]} ${step}`
    const there = groups.get(name)
    if (there) there.push(k)
    else groups.set(name, [k])
  }
  // Heavy ones first: a thin line is never covered by its neighbour.
  const weight = (name: string) => { const [number, step] = name.split(' ').map(Number) as [number, number]; return ink.looks[number]!.weight * step }
  for (const [name, joints] of [...groups].sort((a, b) => weight(b[0]) - weight(a[0]))) {
    const [number, step] = name.split(' ').map(Number) as [number, number]
    draw(ctx, sheet, at, joints, ink.looks[number]!, Math.max(0.5, unit * step), ground.dark)
  }
  ctx.restore()
}

/** Thinnest line [px] at a scale [px/m]: thin on the whole house, thicker near by. */
export function thin(scale: number): number {
  return Math.min(2.2, Math.max(0.55, 0.55 + (scale - 12) / 90))
}

function unseen(sheet: Sheet, k: number, at: Placing, size: { width: number; height: number }): boolean {
  const b = sheet.boxes
  const i = k * 4
  return (
    b[i + 2]! * at.scale + at.x < -20 || b[i]! * at.scale + at.x > size.width + 20 ||
    b[i + 3]! * at.scale + at.y < -20 || b[i + 1]! * at.scale + at.y > size.height + 20
  ) // prettier-ignore
}

export function trace(ctx: CanvasRenderingContext2D, points: ArrayLike<number>, at: Placing, from = 0, to = points.length / 2): void {
  ctx.moveTo(points[2 * from]! * at.scale + at.x, points[2 * from + 1]! * at.scale + at.y)
  for (let i = from + 1; i < to; i++) ctx.lineTo(points[2 * i]! * at.scale + at.x, points[2 * i + 1]! * at.scale + at.y)
}

function faces(ctx: CanvasRenderingContext2D, sheet: Sheet, at: Placing, ground: Ground): void {
  ctx.lineWidth = 1
  ctx.setLineDash([])
  for (const face of sheet.faces) {
    ctx.beginPath()
    for (const loop of face.loops) {
      trace(ctx, loop, at)
      ctx.closePath()
    }
    ctx.fillStyle = ground.sheet
    ctx.fill('evenodd')
    ctx.strokeStyle = ground.line
    ctx.stroke()
    ctx.fillStyle = ground.hole
    for (const opening of face.openings) {
      ctx.beginPath()
      trace(ctx, opening, at)
      ctx.closePath()
      ctx.fill()
    }
  }
}

/** Places of the names at a scale: panning keeps them. */
const placed = new WeakMap<Sheet, { scale: number; at: ([number, number] | null)[] }>()

function names(ctx: CanvasRenderingContext2D, sheet: Sheet, at: Placing, ground: Ground): void {
  const px = 12
  ctx.font = `${px}px system-ui, sans-serif`
  ctx.textAlign = 'center'
  ctx.textBaseline = 'middle'
  ctx.lineWidth = 4
  ctx.lineJoin = 'round'
  ctx.strokeStyle = ground.sheet
  ctx.fillStyle = ground.faint
  const words = faceNames(sheet.faces.map((face) => face.id))
  let known = placed.get(sheet)
  if (known?.scale !== at.scale) {
    const boxes = inTheWay(sheet)
    const spots = sheet.faces.map((face, k) => placeName(face, boxes[k]!, (ctx.measureText(words[k]!).width + 6) / at.scale, (px + 2) / at.scale))
    placed.set(sheet, (known = { scale: at.scale, at: spots }))
  }
  for (const [k, spot] of known.at.entries()) {
    if (!spot) continue
    const [x, y] = [spot[0] * at.scale + at.x, spot[1] * at.scale + at.y]
    ctx.strokeText(words[k]!, x, y)
    ctx.fillText(words[k]!, x, y)
  }
}

function draw(ctx: CanvasRenderingContext2D, sheet: Sheet, at: Placing, joints: number[], look: Look, unit: number, dark: boolean): void {
  const colour = dark ? look.dark : look.ink
  const wide = look.weight * unit
  ctx.strokeStyle = ctx.fillStyle = colour
  ctx.lineWidth = wide
  ctx.lineCap = 'butt'
  ctx.lineJoin = 'round'
  ctx.setLineDash(look.dash.map((part) => part * Math.max(1, wide)))
  ctx.beginPath()
  for (const k of joints) if (!sheet.piece[k]) trace(ctx, sheet.xy, at, sheet.offset[k]!, sheet.offset[k + 1]!)
  ctx.stroke()
  ctx.setLineDash([])
  for (const k of joints) {
    if (!sheet.piece[k]) continue
    const i = sheet.offset[k]! * 2
    mark(ctx, look.mark, sheet.xy[i]! * at.scale + at.x, sheet.xy[i + 1]! * at.scale + at.y, Math.max(2, 1.5 * wide), Math.max(1, unit))
  }
}

/** Draws the shape of a piece. */
export function mark(ctx: CanvasRenderingContext2D, shape: Mark, x: number, y: number, r: number, wide: number): void {
  ctx.lineWidth = wide
  ctx.beginPath()
  if (shape === 'dot' || shape === 'ring') ctx.arc(x, y, r, 0, 7)
  else if (shape === 'square') ctx.rect(x - r, y - r, 2 * r, 2 * r)
  else if (shape === 'diamond') {
    ctx.moveTo(x, y - r * 1.3)
    ctx.lineTo(x + r * 1.3, y)
    ctx.lineTo(x, y + r * 1.3)
    ctx.lineTo(x - r * 1.3, y)
    ctx.closePath()
  } else {
    ctx.moveTo(x - r, y - r)
    ctx.lineTo(x + r, y + r)
    ctx.moveTo(x - r, y + r)
    ctx.lineTo(x + r, y - r)
  }
  if (shape === 'ring' || shape === 'cross') ctx.stroke()
  else ctx.fill()
}

/** Rings a joint: a halo in ink with a gap of paper, so that it does not rest on colour. */
export function ring(ctx: CanvasRenderingContext2D, sheet: Sheet, at: Placing, k: number, ground: Ground, dashed = false): void {
  ctx.save()
  ctx.lineCap = 'round'
  ctx.lineJoin = 'round'
  const go = (wide: number, colour: string, r: number) => {
    ctx.lineWidth = wide
    ctx.strokeStyle = colour
    ctx.beginPath()
    if (sheet.piece[k]) {
      const i = sheet.offset[k]! * 2
      ctx.arc(sheet.xy[i]! * at.scale + at.x, sheet.xy[i + 1]! * at.scale + at.y, r, 0, 7)
    } else trace(ctx, sheet.xy, at, sheet.offset[k]!, sheet.offset[k + 1]!)
    ctx.stroke()
  }
  ctx.globalCompositeOperation = 'source-over'
  if (sheet.piece[k]) {
    go(6, ground.ground, 12)
    if (dashed) ctx.setLineDash([3, 4])
    go(2.5, ground.ink, 12)
  } else {
    ctx.globalAlpha = dashed ? 0.35 : 0.28
    if (dashed) ctx.setLineDash([2, 14])
    go(16, ground.ink, 0)
  }
  ctx.restore()
}
