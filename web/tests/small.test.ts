import { describe, expect, it } from 'vitest'
import { axis, frontier, threeBest } from '../src/lib/curve'
import { KIND_GROUPS, kindGroup, LOOKS, methodLook } from '../src/lib/looks'
import { stations, toFile, unread, type Head } from '../src/lib/readings'
import { readFileSync } from 'node:fs'
import { ES } from '../src/glove/es'
import { EN, faceWords, firstWords, kindWords, sentence } from '../src/glove/words'
import { sizes, whole } from '../src/lib/units'
import { place, STAGES } from '../src/lib/words'

describe('the curve', () => {
  it('shows each point once, cheapest first', () => {
    const points = [{ spent: 20, ach50: 0.5 }, { spent: 10, ach50: 1 }, { spent: 20, ach50: 0.5 }]
    expect(frontier(points)).toEqual([{ spent: 10, ach50: 1 }, { spent: 20, ach50: 0.5 }])
    expect(frontier([])).toEqual([])
  })
  it('has an axis with round steps round the range', () => {
    const found = axis(11240, 15384)
    expect(found.low).toBeLessThan(11240)
    expect(found.high).toBeGreaterThan(15384)
    expect(found.ticks.every((t) => t % 1000 === 0)).toBe(true)
    expect(axis(5, 5).ticks.length).toBeGreaterThan(0)
  })
  it('offers the cheapest, the tightest and another method, never what is chosen', () => {
    const o = (label: string, method: string, money: number, air_cm2: number, more = {}) => ({ label, method, money, air_cm2, water_l: 0, breaks: [] as string[], chosen: false, ...more })
    const all = [o('now', 'tape', 0, 0, { chosen: true }), o('b', 'tape', 5, 1), o('c', 'tape', 2, 2), o('d', 'tape', 90, -9), o('e', 'liquid', 40, -1), o('f', 'boot', -50, 5, { breaks: ['meets'] })]
    expect(threeBest(all).map((one) => one.label)).toEqual(['c', 'd', 'e'])
    expect(threeBest([all[0]!, all[5]!]).map((one) => one.label)).toEqual(['f'])
  })
})

describe('looks', () => {
  const luminance = (hex: string) => {
    const part = (k: number) => {
      const v = parseInt(hex.slice(1 + 2 * k, 3 + 2 * k), 16) / 255
      return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4
    }
    return 0.2126 * part(0) + 0.7152 * part(1) + 0.0722 * part(2)
  }
  const contrast = (a: string, b: string) => {
    const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p) as [number, number]
    return (x + 0.05) / (y + 0.05)
  }
  it('stand out from the sheet by 3:1, light and dark', () => {
    // Source: WCAG 2.2, success criterion 1.4.11 (non-text contrast 3:1). Tolerance: none.
    for (const [name, look] of Object.entries({ ...LOOKS, ...KIND_GROUPS })) {
      expect(contrast(look.ink, '#f1efe7'), name).toBeGreaterThanOrEqual(3)
      expect(contrast(look.dark, '#22282b'), name).toBeGreaterThanOrEqual(3)
    }
  })
  it('differ by more than colour', () => {
    const forms = Object.values(LOOKS).map((one) => `${one.weight} ${one.dash.join(' ')} ${one.mark}`)
    expect(new Set(forms).size).toBe(forms.length)
  })
  it('know every kind and give methods of one’s own a spare look', () => {
    expect(kindGroup('horizontal seam')).toBe('seam')
    expect(kindGroup('opening sill')).toBe('opening')
    expect(kindGroup('sill to foundation')).toBe('foot')
    expect(methodLook('flue_collar', ['flue_collar', 'tape'])).not.toBe(methodLook('zz', ['flue_collar', 'tape', 'zz']))
  })
})

describe('readings', () => {
  it('are read from plain lines, csv and yaml', () => {
    expect(stations('-60 291\n-50;257,5\n# note\n-50\t257.5')).toEqual([{ pressure: -60, flow: 291 }, { pressure: -50, flow: 257.5 }])
    expect(stations('depressurization,station,-61.8,291,,,\ndepressurization,station,-33,250,,,a door opened')).toEqual([{ pressure: -61.8, flow: 291 }])
    expect(stations('      - {pressure: -15.8, flow: 116}')).toEqual([{ pressure: -15.8, flow: 116 }])
  })
  it('make a file of three parts', () => {
    const head = { house: 'A, B', date: '2026-05-04', standard: 'ISO 9972', preparation: '', volume: '500 m3', envelope: '', floor: '', height: '', inside: '', outside: '', altitude: '', zeroBefore: '-1.6', zeroAfter: '', zeroBefore2: '0.4', zeroAfter2: '0.5', flowUnit: 'm3/h', reads: 'actual' } satisfies Head
    const text = toFile(head, [{ pressure: -60, flow: 291 }])
    expect(text).toContain('house,"A, B",')
    expect(text).toContain('depressurization,zero before mean,-1.6,,,,')
    expect(stations(text)).toEqual([{ pressure: -60, flow: 291 }])
    expect(text).not.toContain('zero after')
    expect(text).not.toContain('preparation')
    // Both directions, however they were mixed: each has its own zeros and stations, the one that was run first first.
    const both = toFile({ ...head, zeroAfter: '-1.2' }, [{ pressure: 50, flow: 250 }, { pressure: -50, flow: 257 }, { pressure: 30, flow: 180 }])
    expect(both.split('\n').filter((line) => /ssurization,/.test(line))).toEqual([
      'pressurization,zero before mean,-1.6,,,,', 'pressurization,station,50,250,,,', 'pressurization,station,30,180,,,', 'pressurization,zero after mean,-1.2,,,,',
      'depressurization,zero before mean,0.4,,,,', 'depressurization,station,-50,257,,,', 'depressurization,zero after mean,0.5,,,,',
    ]) // prettier-ignore
  })
})

describe('work and words', () => {
  it('says a place as one says it', () => {
    expect(place('main/south')).toBe('main, south')
    expect(place('wing/east + wing/east slab edge:sill to foundation')).toBe('wing, east + east slab edge: sill to foundation')
    expect(place('main/north + wing/roof east + wing/roof west:three-way corner')).toBe('main, north + wing, roof east + wing, roof west: three-way corner')
    expect(place('main/south/2/window 1:rough-opening corner 2')).toBe('main, south, 2, window 1: rough-opening corner 2')
    expect(place('vents:1')).toBe('vents: 1')
  })
  it('says what lies on a run, and nothing of what a method has not', () => {
    const laid = { width_m: 0.05715, wet_um: 388.8, least_wet_um: 311, greatest_wet_um: 777.6, gap_m: 0.003175, bead_m: 0.00855, lap_m: null }
    // Source: inch 25.4 mm, mil 25.4 µm by definition. Tolerance: 1/16 in, a tenth of a mil.
    expect(sizes(laid, false, 'us')).toEqual(['2 1/4 in wide', 'aim, wet 15.3 mil', 'least 12.2 mil', 'greatest 30.6 mil', 'bead 5/16 in', 'gap 1/8 in'])
    expect(sizes({ width_m: 0.05, lap_m: 0.05 }, true, 'metric')).toEqual(['50 mm out from it', 'lap 50 mm'])
    expect(sizes({}, false, 'us')).toEqual([])
  })
})

describe('the two languages', () => {
  // Keys of the catalogue, read from its files: a kind or method that comes in later is missed here.
  const named = (file: string) => readFileSync(new URL(`../../src/hullwright/catalog/data/${file}.toml`, import.meta.url), 'utf8')
  const kinds = [...named('kinds').matchAll(/^"([^"]+)" = /gm)].map((found) => found[1]!)
  const methods = [...named('methods').matchAll(/^\[(\w+)\]/gm)].map((found) => found[1]!)
  it('have every key, and none left in English', () => {
    expect(Object.keys(ES.W).sort()).toEqual(Object.keys(EN.W).sort())
    for (const part of ['ways', 'steps'] as const) expect(Object.keys(ES[part]).sort(), part).toEqual(Object.keys(EN[part]).sort())
    expect(Object.keys(ES.stages)).toEqual([...STAGES])
    for (const [key, words] of Object.entries(EN.W)) {
      const other = ES.W[key as keyof typeof EN.W]
      if (typeof words === 'function') expect((other as typeof words)(3, 2)).toMatch(/3.*2/)
      else if (Array.isArray(words)) expect((other as string[]).map((one) => one.length > 0)).toEqual(words.map(() => true))
      else expect(other, key).not.toBe(words)
    }
  })
  it('name every kind and every method of the catalogue', () => {
    expect(kinds.length).toBeGreaterThan(40)
    expect(kinds.filter((kind) => !(kind in ES.kinds))).toEqual([])
    expect(methods.length).toBeGreaterThan(10)
    expect(methods.filter((method) => method !== 'unsealed' && !(method in EN.ways))).toEqual([])
    for (const T of [EN, ES]) for (const way of Object.values(T.ways)) expect(way).toContain('{kind}')
  })
  it('make one sentence for a piece', () => {
    expect(sentence(EN, 'tape', 'outside corner')).toBe('Tape the outside corner. Roll every inch.')
    expect(sentence(ES, 'tape', 'outside corner')).toContain('esquina de afuera')
    expect(sentence(ES, 'never heard of', 'pipe')).toBe('Selle: tubo.')
    expect(kindWords(ES, 'never heard of')).toBe('never heard of')
    expect(faceWords(ES, 'main/south')).toBe('principal, sur')
    expect(firstWords(ES, ['cleaning', 'odd'])).toBe('límpielo, odd')
  })
})

describe('what was typed and is no reading', () => {
  it('is told line by line, notes and empty lines apart', () => {
    expect(unread('-50 257\n\n# windy\n-40 222 # gust\nhello\n-30\n-20,5 141,2')).toEqual(['hello', '-30', '-20,5 141,2'])
    expect(unread('')).toEqual([])
  })
  it('has no part of a file in it', () => {
    expect(stations('-50 257\n-40;222')).toHaveLength(2)
    expect(unread('-50 257\n-40;222')).toEqual([])
  })
})

describe('pieces', () => {
  it('are whole: as many as are enough', () => {
    expect([35.4, 3, 3.0000000001, 0.2].map(whole)).toEqual(['36', '3', '3', '1'])
  })
})
