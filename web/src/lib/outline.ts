/** A house by walking round its outline: length, turn, length, turn. Writes the same building file that a person writes. */
export interface Leg {
  /** Length of the wall [m]. */
  length: number
  /** Turn at its end [degrees], left positive. */
  turn: number
}
export type Unit = 'ft' | 'm'
export type Point = [number, number]

/** Corners of the walk [m]; the last wall runs back to the start by itself. */
export function corners(legs: readonly Leg[], heading = 0): Point[] {
  const out: Point[] = [[0, 0]]
  let [x, y, way] = [0, 0, heading]
  for (const leg of legs) {
    x += leg.length * Math.cos((way * Math.PI) / 180)
    y += leg.length * Math.sin((way * Math.PI) / 180)
    out.push([x, y])
    way += leg.turn
  }
  return out
}

export interface Walk {
  /** Corners without the end [m]. */
  points: Point[]
  /** How far the walk ends from its start [m]. */
  gap: number
  area: number
  /** Inside corners: only a flat roof goes over them in one body. */
  inside: number
  problem: '' | 'few' | 'open' | 'crosses' | 'length'
}
/** A tape walked round a house ends this near to its start [m]; estimate. */
export const CLOSE = 0.1

export function walk(legs: readonly Leg[], heading = 0): Walk {
  const all = corners(legs, heading)
  const [x, y] = all.at(-1)!
  const gap = Math.hypot(x, y)
  const points = all.slice(0, -1)
  const area = signed(points)
  const inside = points.filter((_, k) => Math.sign(cross(points, k)) * Math.sign(area) < 0 && Math.abs(cross(points, k)) > 1e-9).length
  const problem = legs.some((leg) => !(leg.length > 0)) ? 'length' : legs.length < 3 ? 'few' : gap > CLOSE ? 'open' : crosses(points) ? 'crosses' : ''
  return { points, gap, area: Math.abs(area), inside, problem }
}

/** The wall that would bring the walk back to its start: its length and the turns before and at its end. */
export function closing(legs: readonly Leg[], heading = 0): { length: number; turn: number } {
  const [x, y] = corners(legs, heading).at(-1)!
  const way = heading + legs.reduce((sum, leg) => sum + leg.turn, 0)
  const back = (Math.atan2(-y, -x) * 180) / Math.PI
  return { length: Math.hypot(x, y), turn: norm(back - way) }
}
const norm = (deg: number) => ((((deg + 180) % 360) + 360) % 360) - 180

function signed(points: readonly Point[]): number {
  return points.reduce((sum, [x, y], k) => {
    const [nx, ny] = points[(k + 1) % points.length]!
    return sum + (x * ny - nx * y) / 2
  }, 0)
}
function cross(points: readonly Point[], k: number): number {
  const n = points.length
  const [a, b, c] = [points[(k + n - 1) % n]!, points[k]!, points[(k + 1) % n]!]
  return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
}
function crosses(points: readonly Point[]): boolean {
  const n = points.length
  const side = (a: Point, b: Point, c: Point) => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
  for (let i = 0; i < n; i++)
    for (let j = i + 2; j < n; j++) {
      if (i === 0 && j === n - 1) continue
      const [a, b, c, d] = [points[i]!, points[i + 1]!, points[j]!, points[(j + 1) % n]!]
      if (side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0) return true
    }
  return false
}

export interface Thing {
  /** Number of the wall; of a roof plane: less than nought, the wall it falls to; 0: the flat roof. */
  wall: number
  storey: number
  kind: string
  /** From the left end of the wall seen from outside, to the left edge or the middle [m]. */
  at: number
  width: number
  height: number
  /** Sill or middle above the floor [m]. */
  up: number
}
/** A wing, or a cold garage: a rectangle beside the walked body. */
export interface Body {
  cold: boolean
  /** East-west and north-south [m]. */
  size: Point
  /** Its south-west corner from that of the walked body [m], east and north. */
  at: Point
  height: number
  roof: Sketch['roof']
  /** Ridge east-west or north-south; a shed falls to this side. */
  runs: string
}
export interface Sketch {
  name: string
  unit: Unit
  legs: Leg[]
  heading: number
  storeys: number[]
  base: number
  roof: 'flat' | 'gable' | 'hip' | 'shed'
  /** Rise over a run of 12. */
  pitch: number
  /** Number of the wall that the ridge runs along, or that a shed falls to. */
  along: number
  openings: Thing[]
  passes: Thing[]
  bodies?: Body[]
}

/** Roof planes that a walked body has, by the wall they fall to; 0 for the flat roof. */
export function planes(roof: Sketch['roof'], along: number, walls: number): number[] {
  if (roof === 'flat') return [0]
  if (roof === 'shed') return [-along]
  const all = Array.from({ length: walls }, (_, k) => -k - 1)
  return roof === 'gable' && walls === 4 ? [-along, -(((along + 1) % 4) + 1)].sort((a, b) => b - a) : all
}

/** Text of the building file. */
export function buildingFile(s: Sketch): string {
  const per = s.unit === 'ft' ? 0.3048 : 1
  const num = (m: number) => String(Math.round((m / per) * 1e4) / 1e4)
  const points = walk(s.legs, s.heading).points
  const [west, south] = [Math.min(...points.map((p) => p[0])), Math.min(...points.map((p) => p[1]))]
  const outline = points.map(([x, y]) => `[${num(x - west)}, ${num(y - south)}]`).join(', ')
  const roof = s.roof === 'flat' ? 'flat' : `{form: ${s.roof}, pitch: ${s.pitch}:12${s.roof === 'gable' ? `, ridge: side ${s.along}` : s.roof === 'shed' ? `, falls: side ${s.along}` : ''}}`
  const lines = [
    '# Walked round with a tape. Lengths without a unit are in the unit below; a line may be changed by hand.',
    `units: ${s.unit}`,
    `name: ${JSON.stringify(s.name)}`,
    `barrier: {top: roof deck, bottom: {kind: slab, level: 0}}`,
    'masses:',
    '  - name: main',
    `    outline: [${outline}]`,
    `    base: ${num(s.base)}`,
    `    storeys: [${s.storeys.map(num).join(', ')}]`,
    `    roof: ${roof}`,
    ...(s.bodies ?? []).flatMap((b, k) => [
      `  - name: ${b.cold ? 'garage' : 'wing'} ${k + 1}`,
      ...(b.cold ? ['    inside: no               # cold: outside the layer'] : []),
      `    size: [${b.size.map(num).join(', ')}]`,
      `    at: [${b.at.map(num).join(', ')}]         # its south-west corner, from that of the main body`,
      `    base: ${num(s.base)}`,
      `    storeys: [${num(b.height)}]`,
      `    roof: ${b.roof === 'flat' ? 'flat' : `{form: ${b.roof}, pitch: ${s.pitch}:12${b.roof === 'gable' ? `, ridge: ${b.runs}` : b.roof === 'shed' ? `, falls: ${b.runs}` : ''}}`}`,
    ]),
  ]
  if (s.openings.length) lines.push('openings:', ...s.openings.map((o) => `  - {mass: main, side: side ${o.wall}, storey: ${o.storey}, kind: ${o.kind}, size: [${num(o.width)}, ${num(o.height)}], ${o.kind === 'door' ? '' : `sill: ${num(o.up)}, `}at: ${num(o.at)}${o.kind === 'door' ? ', frame: wood' : ''}}`))
  if (s.passes.length) lines.push('penetrations:', ...s.passes.map((p) => `  - {mass: main, through: ${p.wall > 0 ? `side ${p.wall}, storey: ${p.storey}` : p.wall ? `roof side ${-p.wall}` : 'roof'}, kind: ${p.kind}, ${p.kind === 'box' || p.kind === 'beam' ? `size: [${small(p.width, s.unit)}, ${small(p.height, s.unit)}]` : `diameter: ${small(p.width, s.unit)}`}, at: [[${num(p.at)}, ${num(p.up)}]]}`))
  return `${lines.join('\n')}\n`
}
/** Diameters and sections: bare numbers are inches in a file in feet, millimetres in one in metres. */
function small(m: number, unit: Unit): string {
  return String(Math.round((unit === 'ft' ? m / 0.0254 : m * 1000) * 1000) / 1000)
}
/** Name of a house as it stands in its address; letters lose their marks, not their place. */
export function idOf(name: string): string {
  return name.toLowerCase().replaceAll('ß', 'ss').replaceAll('æ', 'ae').replaceAll('ø', 'o').normalize('NFKD').replace(/\p{M}/gu, '').replace(/[^a-z0-9]+/g, '-').replace(/^-+|-+$/g, '').slice(0, 60).replace(/-+$/, '')
}
