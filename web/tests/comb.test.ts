import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { GAUGES, micrometres, read, verdict, window7 } from '../src/glove/comb'

const table = JSON.parse(readFileSync(new URL('../../tests/cases/gauge_verdicts.json', import.meta.url), 'utf-8')) as {
  cases: { last_wet_um: number | null; next_dry_um: number | null; least_wet_um: number; verdict: string; why: string }[]
}
const mil2 = GAUGES.find((one) => one.id === 'mil by 2')!

describe('the comb', () => {
  it('reads an interval between the last wet tooth and the next dry one', () => {
    // Source: ASTM D4414-95(2020), section 7: the wet film lies between the last wetted tooth and the next that is not.
    // Tolerance: none; 1 mil = 25.4 µm exactly (NIST SP 811, appendix B).
    const reading = read(mil2, mil2.teeth.indexOf(20))
    expect([reading.last_wet_um, reading.next_dry_um]).toEqual([508, 558.8])
    expect(reading.notches_um).toHaveLength(mil2.teeth.length)
  })
  it('says nothing about a lower end where no tooth was wet, nor about an upper one where all were', () => {
    expect(read(mil2, -1)).not.toHaveProperty('last_wet_um')
    expect(read(mil2, -1).next_dry_um).toBe(50.8)
    const all = read(mil2, mil2.teeth.length - 1)
    expect(all).not.toHaveProperty('next_dry_um')
    expect(() => read(mil2, mil2.teeth.length)).toThrow(RangeError)
  })
  it('gives the one verdict that the service gives: the table of cases holds both', () => {
    // Source: tests/cases/gauge_verdicts.json, expected by the rule alone. Tolerance: none.
    for (const one of table.cases) {
      const reading = { ...(one.last_wet_um === null ? {} : { last_wet_um: one.last_wet_um }), ...(one.next_dry_um === null ? {} : { next_dry_um: one.next_dry_um }) }
      expect(verdict(reading, one.least_wet_um), one.why).toBe(one.verdict)
    }
    expect(new Set(table.cases.map((one) => one.verdict)).size).toBe(3)
  })
  it('judges what the gauge on the page reads', () => {
    const least = 12 * 25.4
    expect(verdict(read(mil2, mil2.teeth.indexOf(12)), least)).toBe('enough')
    expect(verdict(read(mil2, mil2.teeth.indexOf(10)), least)).toBe('close')
    expect(verdict(read(mil2, mil2.teeth.indexOf(8)), least)).toBe('too thin')
    expect(verdict(read(mil2, -1), least)).toBe('too thin')
  })
  it('shows seven teeth with the target in their middle, and stays on the gauge at its ends', () => {
    for (const gauge of GAUGES)
      for (let um = 5; um < 3000; um += 7)
        for (const moved of [-40, -4, 0, 4, 40]) {
          const first = window7(gauge, um, moved)
          expect(first).toBeGreaterThanOrEqual(0)
          expect(first + 7).toBeLessThanOrEqual(gauge.teeth.length)
        }
    const first = window7(mil2, 12 * 25.4)
    expect(mil2.teeth[first + 3]).toBe(12)
    expect(micrometres(mil2, 12)).toBeCloseTo(304.8, 6)
  })
})
