import type { Geometry, PlanRun, States } from '../api/shapes'
import { KIND_GROUPS, kindGroup, methodLook, STATE_LOOKS, type Look } from '../lib/looks'
import { methodName } from '../lib/words'
import type { Ink } from './paint'

export const BY = ['method', 'kind', 'water', 'leak', 'state'] as const
export type By = (typeof BY)[number]
export interface Legend {
  name: string
  look: Look
  count: number
}
export interface Shown {
  ink: Ink
  legend: Legend[]
}
const RAIN: Look = { ink: '#1f5f8b', dark: '#8cc7ee', weight: 1.4, dash: [], mark: 'dot' }
const AIR: Look = { ink: '#8c2f1b', dark: '#ff9d7a', weight: 1.4, dash: [7, 2], mark: 'diamond' }
const LITTLE: Look = { ink: '#8a8a84', dark: '#8a8a84', weight: 0.9, dash: [], mark: 'ring' }

/** Chooses the look of every joint for the question asked. */
export function inkFor(by: By, geometry: Geometry, runs: Map<string, PlanRun>, states: States | null, tried?: { run: string; method: string }): Shown {
  const { joints } = geometry
  const runOf = (k: number) => geometry.runs[joints.run[k]!]
  if (by === 'water' || by === 'leak') return weighed(by, geometry, runs)
  if (by === 'state') {
    const state = new Map((states?.joints ?? []).map((one) => [one.joint, one.state as string]))
    return named((k) => state.get(joints.id[k]!) ?? 'bare', geometry, (name) => STATE_LOOKS[name]!)
  }
  if (by === 'kind') return named((k) => kindGroup(geometry.kinds[joints.kind[k]!]!.name), geometry, (name) => KIND_GROUPS[name]!)
  const method = (k: number) => {
    const run = runOf(k)
    if (!run) return 'unsealed'
    return tried?.run === run.id ? tried.method : (runs.get(run.id)?.method ?? 'unsealed')
  }
  const known = [...new Set(joints.id.map((_, k) => method(k)))].sort()
  const { ink, legend } = named(method, geometry, (name) => methodLook(name, known))
  return { ink, legend: legend.map((one) => ({ ...one, name: methodName(one.name) })) }
}

function named(nameOf: (k: number) => string, geometry: Geometry, lookOf: (name: string) => Look): Shown {
  const names = new Map<string, number>()
  const counts: number[] = []
  const of = geometry.joints.id.map((_, k) => {
    const name = nameOf(k)
    let number = names.get(name)
    if (number === undefined) names.set(name, (number = names.size))
    counts[number] = (counts[number] ?? 0) + 1
    return number
  })
  const legend = [...names].map(([name, number]) => ({ name, look: lookOf(name), count: counts[number]! }))
  return { ink: { looks: legend.map((one) => one.look), of }, legend: legend.toSorted((a, b) => b.count - a.count) }
}

/** Weight of the line by the share of the run that each joint has: per metre, so that long joints do not look worse. */
function weighed(by: 'water' | 'leak', geometry: Geometry, runs: Map<string, PlanRun>): Shown {
  const { joints } = geometry
  const per = geometry.runs.map((run) => {
    const found = runs.get(run.id)
    const total = found ? (by === 'water' ? found.water_l : found.air_cm2) : 0
    return run.quantity > 0 ? total / run.quantity : 0
  })
  const values = joints.id.map((_, k) => per[joints.run[k]!] ?? 0)
  const sorted = [...values].filter((v) => v > 0).sort((a, b) => a - b)
  const high = sorted[Math.floor(sorted.length * 0.98)] ?? 1
  const grow = values.map((v) => (v > 0 ? 0.6 + 5 * Math.min(1, v / high) ** 0.6 : 0.6))
  const of = values.map((v) => (v > high * 0.02 ? 1 : 0))
  const look = by === 'water' ? RAIN : AIR
  const legend = [
    { name: by === 'water' ? 'rain passes: the thicker, the more' : 'air passes: the thicker, the more', look: { ...look, weight: 3.4 }, count: of.filter((n) => n === 1).length },
    { name: 'hardly any', look: LITTLE, count: of.filter((n) => n === 0).length },
  ]
  return { ink: { looks: [LITTLE, look], of, grow }, legend }
}
