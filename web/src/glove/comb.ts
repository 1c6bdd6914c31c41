/** The wet-film comb: a reading lies between the last wet tooth and the next one, never on a number. */
export const SEVEN = 7
export const MIL_UM = 25.4

/** Gauges to choose from by the numbers that are stamped on one's own; the list goes with every reading. */
export interface Gauge {
  id: string
  unit: 'mil' | 'µm'
  teeth: number[]
}
const run = (from: number, to: number, by: number) => Array.from({ length: Math.floor((to - from) / by) + 1 }, (_, k) => from + k * by)
export const GAUGES: Gauge[] = [
  { id: 'mil by 2', unit: 'mil', teeth: run(2, 40, 2) },
  { id: 'mil by 1', unit: 'mil', teeth: run(1, 30, 1) },
  { id: 'µm by 25', unit: 'µm', teeth: run(25, 1000, 25) },
  { id: 'µm by 50', unit: 'µm', teeth: run(50, 1500, 50) },
]

export function micrometres(gauge: Gauge, tooth: number): number {
  return gauge.unit === 'mil' ? Math.round(tooth * MIL_UM * 10) / 10 : tooth
}

/** Number of the first of seven teeth round a target; moved by whole steps where the film is far off. */
export function window7(gauge: Gauge, target_um: number, moved = 0): number {
  const over = gauge.teeth.findIndex((tooth) => micrometres(gauge, tooth) >= target_um - 1e-9)
  const middle = (over < 0 ? gauge.teeth.length - 1 : over) + moved
  return Math.min(Math.max(0, gauge.teeth.length - SEVEN), Math.max(0, middle - 3))
}

export interface Reading {
  notches_um: number[]
  last_wet_um?: number
  next_dry_um?: number
}

/** Makes a reading of the last wet tooth; -1 where none was wet. */
export function read(gauge: Gauge, last: number): Reading {
  if (!Number.isInteger(last) || last < -1 || last >= gauge.teeth.length) throw new RangeError('the gauge has no such tooth')
  const um = (k: number) => micrometres(gauge, gauge.teeth[k]!)
  return {
    notches_um: gauge.teeth.map((_, k) => um(k)),
    ...(last >= 0 ? { last_wet_um: um(last) } : {}),
    ...(last + 1 < gauge.teeth.length ? { next_dry_um: um(last + 1) } : {}),
  }
}

export type Verdict = 'enough' | 'close' | 'too thin'

/** What one reading says about a least wet film; the service says the same (tests/cases/gauge_verdicts.json holds both). */
export function verdict(reading: Pick<Reading, 'last_wet_um' | 'next_dry_um'>, least_um: number): Verdict {
  const edge = least_um * (1 - 1e-9)
  if ((reading.last_wet_um ?? 0) >= edge) return 'enough'
  return (reading.next_dry_um ?? Infinity) < edge ? 'too thin' : 'close'
}
