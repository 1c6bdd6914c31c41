/** May a piece be started: what the service said of its face, and what was kept or taken in since. */
import type { States } from '../api/shapes'
import type { Waiting } from '../lib/store'
import { told } from './told'

/** As the service says it (`proof/start.py`). */
export const NAILING = 'nailing not signed off'

/** States once entries of this device count, in their order; a whole face is meant where an entry names no joint. */
export function heard(states: States, bodies: readonly string[]): States {
  if (!states.not_to_start) return states
  const stops = { ...states.not_to_start }
  for (const body of bodies) {
    const { kind, joint, face, what } = told(body)
    if (!face || joint || !['nailing', 'withdrawn'].includes(kind ?? '')) continue
    const others = (stops[face] ?? []).filter((one) => one !== NAILING)
    // What a withdrawal leaves is known to the service alone: shut until it says so.
    const words = kind === 'nailing' && what?.passed === true ? others : [NAILING, ...others]
    if (words.length) stops[face] = words
    else delete stops[face]
  }
  return { ...states, not_to_start: stops }
}

/** What stands in the way on each face, by what waits here too; null where the service was never asked: then nothing may start. */
export function stopsOf(states: States | null, waiting: readonly Waiting[], house: string): Record<string, string[]> | null {
  if (!states?.not_to_start) return null
  return heard(states, waiting.filter((one) => one.house === house && !one.refused).map((one) => one.body)).not_to_start
}

/** Whether the service refused a sign-off of this face that lies here. */
export function refusedHere(refused: readonly Waiting[], house: string, face: string): boolean {
  return refused.some((one) => {
    const { kind, face: of, joint } = told(one.body)
    return one.house === house && kind === 'nailing' && of === face && !joint
  })
}
