/** What the walk found, as this browser keeps it. */
import type { Finding } from '../api/shapes'
import { plain } from './typed'
import { digits, type System } from './units'

const CFM = 0.3048 ** 3 * 60

/** Flow of a fan: cfm or m³/h. */
export function flow(m3h: number, system: System): string {
  return system === 'us' ? `${digits(m3h / CFM, 2)} cfm` : `${digits(m3h, 2)} m³/h`
}

/** Reads a typed flow [m³/h]: 20 cfm, 34 m3/h, 9 L/s, 20 (bare: the house's unit); null where it can't be read. */
export function readFlow(text: string, system: System): number | null {
  const found = /^(-?\d+(?:\.\d+)?)\s*(cfm|m3\/h|m³\/h|l\/s)?$/.exec(plain(text).trim().toLowerCase())
  if (!found) return null
  const unit = found[2] ?? (system === 'us' ? 'cfm' : 'm3/h')
  return Number(found[1]!) * (unit === 'cfm' ? CFM : unit === 'l/s' ? 3.6 : 1)
}

export interface Found {
  seen: Finding['seen']
  /** By how much the fan fell, as typed. */
  fell: string
  /** Minutes, as typed. */
  minutes: string
  /** Of a zone that was masked off: a face and a kind of joint on it, '' for all. A joint is its own key and has none. */
  zone?: [face: string, kind: string]
}
export type AllFound = Record<string, Found>

/** Reads what was kept; an older page kept the look alone. */
export function readFound(text: string | null): AllFound {
  const kept = JSON.parse(text ?? '{}') as Record<string, Found | Finding['seen']>
  return Object.fromEntries(Object.entries(kept).map(([on, one]) => [on, typeof one === 'string' ? { seen: one, fell: '', minutes: '' } : one]))
}

export const zoneKey = (face: string, kind: string) => `masked ${face} ${kind}`

/** What is sent, and the joints whose numbers can't be read: these are not sent, and nothing is left out in silence. */
export function toSend(found: AllFound, system: System): { findings: Finding[]; wrong: string[] } {
  const findings: Finding[] = []
  const wrong: string[] = []
  for (const [key, { seen, fell, minutes, zone }] of Object.entries(found)) {
    const on = zone ? zone[0] || zone[1] : key
    const kind = zone?.[0] ? zone[1] : ''
    // What was masked off tells nothing but by the fan: without a reading it is not sent.
    const moved = seen === 'masked' || (seen === 'sealed' && fell.trim()) ? readFlow(fell, system) : undefined
    const took = seen === 'sealed' && minutes.trim() ? Number(plain(minutes).trim()) : undefined
    if (moved === null || (took !== undefined && !(took >= 0))) wrong.push(key)
    else findings.push({ on, seen, kind, note: '', ...(moved === undefined ? {} : { moved_m3_h: moved }), ...(took === undefined ? {} : { minutes: took }) })
  }
  return { findings, wrong }
}
