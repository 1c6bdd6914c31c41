import type { Geometry, Laid, Plan } from '../api/shapes'
import { stageOrder } from '../lib/words'

export interface Piece {
  run: string
  kind: string
  face: string
  stage: string
  method: string
  product: string
  prepared: string[]
  /** Numbers of its joints. */
  joints: number[]
  quantity: number
  countable: boolean
  /** Width, film, bead: what the crew draws and lays. */
  laid: Laid
}

/** Sizes of what lies on a run where no plan says them. */
const NOTHING: Laid = {}

/** What a crew does, one piece a screen: by stage, by face, from the left end. Patches that a revision left come first on their face. */
export function pieces(geometry: Geometry, plan: Plan): Piece[] {
  const planned = new Map(plan.runs.map((run) => [run.id, run]))
  const x = (k: number) => geometry.joints.xy[2 * geometry.joints.offset[k]!] ?? 0
  return geometry.runs
    .flatMap((drawn): Piece[] => {
      const run = planned.get(drawn.id)
      // A run that the file has no more is sealed as it was issued; a patch as the crew says.
      const method = run?.method ?? drawn.method ?? ''
      if (!drawn.joints.length || method === 'unsealed' || (!method && drawn.kind !== PATCH)) return []
      return [{
        run: drawn.id, kind: drawn.kind, face: drawn.face, stage: drawn.stage, method, product: run?.product ?? drawn.product ?? '',
        prepared: run?.prepared ?? [], joints: drawn.joints, quantity: drawn.quantity, countable: drawn.piece, laid: run ?? NOTHING,
      }] // prettier-ignore
    })
    .sort((a, b) => stageOrder(a.stage) - stageOrder(b.stage) || a.face.localeCompare(b.face) || Number(b.kind === PATCH) - Number(a.kind === PATCH) || x(a.joints[0]!) - x(b.joints[0]!))
}
/** Kind of a hole that a revision left. */
export const PATCH = 'patch'

/** Where a joint lies: the middle of its points, so that the entry finds its joint again after the house was edited. */
export function placeOf(geometry: Geometry, k: number): [number, number, number] {
  const [from, to] = [geometry.joints.offset[k]!, geometry.joints.offset[k + 1]!]
  const sum = [0, 0, 0]
  for (let i = from; i < to; i++) for (let d = 0; d < 3; d++) sum[d]! += geometry.joints.xyz[3 * i + d]! / (to - from)
  return sum.map((v) => Math.round(v * 1e4) / 1e4) as [number, number, number]
}
