import { stageOrder } from './words'

interface Run {
  id: string
  face: string
  stage: string
  hours: number
  method: string
}
export interface Stage<R extends Run> {
  name: string
  hours: number
  faces: { face: string; hours: number; runs: R[] }[]
}

/** What is done, by stage in the order of work and by face; runs that are left as they are do not count. */
export function byStage<R extends Run>(runs: readonly R[]): Stage<R>[] {
  const stages = new Map<string, Map<string, R[]>>()
  for (const run of runs) {
    if (run.method === 'bare' && run.hours === 0) continue
    const faces = stages.get(run.stage) ?? new Map<string, R[]>()
    stages.set(run.stage, faces)
    faces.set(run.face, [...(faces.get(run.face) ?? []), run])
  }
  const sum = (list: readonly R[]) => list.reduce((total, run) => total + run.hours, 0)
  return [...stages]
    .sort(([a], [b]) => stageOrder(a) - stageOrder(b) || a.localeCompare(b))
    .map(([name, faces]) => ({
      name,
      hours: sum([...faces.values()].flat()),
      faces: [...faces].map(([face, list]) => ({ face, hours: sum(list), runs: list })).sort((a, b) => b.hours - a.hours),
    }))
}
