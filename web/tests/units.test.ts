import { readFileSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { area, change, digits, feetInches, film, hours, length, money, readLength, water, width } from '../src/lib/units'
import { commaHint } from '../src/lib/typed'

// Source: NIST SP 811 (2008), appendix B: 1 in = 25.4 mm, 1 ft = 0.3048 m, 1 gal (US) = 3.785 411 784 L, all exact.
// Tolerance: none but the rounding of what is shown.
describe('quantities', () => {
  it('writes feet and inches as the trade does', () => {
    expect(feetInches(9.5 * 0.3048 + 0.5 * 0.0254)).toBe(`9'-6 1/2"`)
    expect(feetInches(0.0254 * 3.375)).toBe('3 3/8"')
    expect(feetInches(0.3048 * 12 - 1e-6)).toBe(`12'-0"`)
    expect(feetInches(0)).toBe('0"')
  })
  it('writes metric lengths', () => {
    expect(length(0.45, 'metric')).toBe('450 mm')
    expect(length(12.345, 'metric')).toBe('12.3 m')
  })
  it('writes small widths and films', () => {
    expect(width(0.009525, 'us')).toBe('3/8 in')
    expect(width(0.0095, 'metric')).toBe('9.5 mm')
    expect(film(304.8, 'us')).toBe('12 mil')
    expect(film(388.8, 'us')).toBe('15.3 mil')
    expect(film(304.8, 'metric')).toBe('305 µm')
  })
  it('writes areas, water, money and hours with no more digits than they bear', () => {
    expect(area(6.4516, 'us')).toBe('1 in²')
    expect(water(3.785411784, 'us')).toBe('1 gal')
    expect(money(12411.13, 'USD')).toBe('12\u202f411 USD')
    expect(money(-3.5, 'USD', true)).toBe('−3.50 USD')
    expect(money(0.001, 'USD', true)).toBe('±0 USD')
    expect(hours(0.5)).toBe('30 min')
    expect(digits(0.27946, 2)).toBe('0.28')
    expect(change(0.001, String, 0.005)).toBe('±0')
    expect(change(-0.2, String, 0.005)).toBe('−0.2')
  })
  it('reads what a person types, and only that', () => {
    expect(readLength(`9'-6 1/2"`, 'ft')).toBeCloseTo(9.5 * 0.3048 + 0.0127, 9)
    expect(readLength('9 ft 6 in', 'ft')).toBeCloseTo(9.5 * 0.3048, 9)
    expect(readLength('40', 'ft')).toBeCloseTo(12.192, 9)
    expect(readLength('6 1/2 in', 'm')).toBeNull()
    expect(readLength('6 1/2"', 'ft')).toBeCloseTo(0.1651, 9)
    expect(readLength('2780 mm', 'ft')).toBeCloseTo(2.78, 9)
    for (const bad of ['', 'wide', '4 x 5', '1/0"', '-3', '3 m 2']) expect(readLength(bad, 'ft')).toBeNull()
  })
  it('reads back what it writes, to a sixteenth', () => {
    // Tolerance: half a sixteenth of an inch, to which it is rounded.
    for (let m = 0.01; m < 30; m += 0.173) expect(Math.abs(readLength(feetInches(m, 16), 'ft')! - m)).toBeLessThanOrEqual(0.0254 / 32 + 1e-9)
  })
})

describe('a length as it is typed', () => {
  const { cases } = JSON.parse(readFileSync(new URL('../../tests/cases/typed_lengths.json', import.meta.url), 'utf8')) as { cases: { text: string; bare: 'ft' | 'm'; m: number | null; hint: string }[] }
  it.each(cases)('$text', ({ text, bare, m, hint }) => {
    const found = readLength(text, bare)
    if (m === null) expect(found).toBeNull()
    else expect(found).toBeCloseTo(m, 9)
    expect(commaHint(text)).toBe(hint)
  })
})
