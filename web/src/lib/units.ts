/** Quantities as the trade reads them; SI inside, converted here only. */
import type { Laid } from '../api/shapes'
import { plain } from './typed'

export type System = 'us' | 'metric'

const INCH = 0.0254
const FOOT = 0.3048

function gcd(a: number, b: number): number {
  return b ? gcd(b, a % b) : a
}

/** Feet, inches and a fraction: 9'-6 1/2". */
export function feetInches(metres: number, part = 8): string {
  const sign = metres < 0 ? '−' : ''
  const parts = Math.round((Math.abs(metres) / INCH) * part)
  const feet = Math.floor(parts / (12 * part))
  const rest = parts - feet * 12 * part
  return `${sign}${feet ? `${feet}'-` : ''}${inchWords(rest, part)}"`
}

function inchWords(parts: number, part: number): string {
  const whole = Math.floor(parts / part)
  const left = parts - whole * part
  if (!left) return String(whole)
  const by = gcd(left, part)
  const fraction = `${left / by}/${part / by}`
  return whole ? `${whole} ${fraction}` : fraction
}

/** Length of a joint. */
export function length(metres: number, system: System): string {
  if (system === 'us') return metres >= 100 * FOOT ? `${grouped(Math.round(metres / FOOT))} ft` : feetInches(metres)
  return metres < 1 ? `${Math.round(metres * 1000)} mm` : `${digits(metres, 3)} m`
}

/** Small width such as a bead: 3/8 in or 10 mm. */
export function width(metres: number, system: System): string {
  if (system === 'us') return `${inchWords(Math.round((metres / INCH) * 16), 16)} in`
  return `${digits(metres * 1000, 2)} mm`
}

/** Film thickness: mil to a tenth, since a least film often lies between two notches, or µm. */
export function film(micrometres: number, system: System): string {
  return system === 'us' ? `${Math.round(micrometres / 2.54) / 10} mil` : `${Math.round(micrometres)} µm`
}

/** Leakage area: in² or cm². */
export function area(cm2: number, system: System): string {
  const value = system === 'us' ? cm2 / 6.4516 : cm2
  return `${digits(value, 2)} ${system === 'us' ? 'in²' : 'cm²'}`
}

/** Volume of water: gal or L. */
export function water(litres: number, system: System): string {
  const value = system === 'us' ? litres / 3.785411784 : litres
  return `${digits(value, 2)} ${system === 'us' ? 'gal' : 'L'}`
}

/** Money with its currency: whole units from 10 up. */
export function money(value: number, currency: string, signed = false): string {
  const size = Math.abs(value)
  const words = size < 9.995 && size > 0 ? (size < 0.005 ? '0' : size.toFixed(2)) : grouped(Math.round(size))
  const sign = words === '0' ? (signed ? '±' : '') : value < 0 ? '−' : signed ? '+' : ''
  return `${sign}${words} ${currency}`.trim()
}

/** A change with its sign; too small to matter says so. */
export function change(value: number, show: (v: number) => string, least: number): string {
  if (Math.abs(value) < least) return '±0'
  return `${value < 0 ? '−' : '+'}${show(Math.abs(value))}`
}

/** Not more digits than `count` that matter. */
export function digits(value: number, count: number): string {
  if (value === 0) return '0'
  const places = Math.max(0, count - 1 - Math.floor(Math.log10(Math.abs(value))))
  return places > 6 ? '0' : grouped(Number(value.toFixed(Math.min(places, 6))))
}

/** Pieces are whole: an expected number of them is told as the whole number that is enough. */
export function whole(count: number): string {
  return grouped(Math.ceil(count - 1e-6))
}

export function hours(value: number): string {
  if (value < 1 / 60) return '0 min'
  if (value < 1.5) return `${Math.round(value * 60)} min`
  return `${digits(value, value < 100 ? 2 : 3)} h`
}

/** Reads a typed length: 9'-6 1/2", 9 ft 6 in, 2.78 m, 40 (bare: the given unit). Metres, or null where it can't be read: a comma is named (typed.ts, commaHint), never taken for a point. */
export function readLength(text: string, bare: 'ft' | 'in' | 'm' | 'mm'): number | null {
  const words = plain(text).trim()
  const one = /^(\d+(?:\.\d+)?)\s*(ft|in|mm|cm|m|'|")?$/.exec(words)
  const unit: Record<string, number> = { ft: FOOT, "'": FOOT, in: INCH, '"': INCH, m: 1, cm: 0.01, mm: 0.001 }
  if (one) return Number(one[1]) * unit[one[2] ?? bare]!
  const both = /^(?:(\d+)\s*(?:'|ft)\s*-?\s*)?(?:(\d+(?:\.\d+)?))?\s*(?:(\d+)\/(\d+))?\s*(?:"|in)?$/.exec(words)
  if (!both || words === '' || (both[1] === undefined && both[2] === undefined && both[3] === undefined)) return null
  if (both[3] !== undefined && Number(both[4]) === 0) return null
  const inches = Number(both[2] ?? 0) + (both[3] ? Number(both[3]) / Number(both[4]) : 0)
  if (both[1] === undefined && bare !== 'in' && bare !== 'ft') return null
  return Number(both[1] ?? 0) * FOOT + inches * INCH
}

/** Sizes of what lies on a run, each with its name; what a method has not is left out. */
export function sizes(laid: Laid, piece: boolean, system: System, W = { wide: 'wide', reach: 'out from it', aim: 'aim, wet', least: 'least', greatest: 'greatest', bead: 'bead', lap: 'lap', gap: 'gap' }): string[] {
  const some = (value: number | null | undefined, show: (v: number) => string) => (value ? [show(value)] : [])
  return [
    ...some(laid.width_m, (v) => `${width(v, system)} ${piece ? W.reach : W.wide}`),
    ...some(laid.wet_um, (v) => `${W.aim} ${film(v, system)}`),
    ...some(laid.least_wet_um, (v) => `${W.least} ${film(v, system)}`),
    ...some(laid.greatest_wet_um, (v) => `${W.greatest} ${film(v, system)}`),
    ...some(laid.bead_m, (v) => `${W.bead} ${width(v, system)}`),
    ...some(laid.lap_m, (v) => `${W.lap} ${width(v, system)}`),
    ...some(laid.gap_m, (v) => `${W.gap} ${width(v, system)}`),
  ]
}

function grouped(value: number): string {
  const [whole, part] = String(value).split('.')
  const spaced = whole!.length > 4 ? whole!.replace(/\B(?=(\d{3})+$)/g, '\u202f') : whole!
  return part ? `${spaced}.${part}` : spaced
}
