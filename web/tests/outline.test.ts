import { describe, expect, it } from 'vitest'
import { buildingFile, closing, idOf, planes, walk, type Leg } from '../src/lib/outline'

const legs = (...list: [number, number][]): Leg[] => list.map(([length, turn]) => ({ length, turn }))
const box = legs([12, 90], [8, 90], [12, 90], [8, 90])

describe('walking the outline', () => {
  it('closes a rectangle, either way round', () => {
    expect(walk(box)).toMatchObject({ problem: '', inside: 0 })
    expect(walk(box).area).toBeCloseTo(96, 9)
    expect(walk(legs([12, -90], [8, -90], [12, -90], [8, -90]))).toMatchObject({ problem: '', inside: 0 })
  })
  it('counts inside corners of an L and finds its area by hand', () => {
    // 10 x 8 with a 4 x 3 corner taken out: 80 - 12 = 68.
    const l = walk(legs([10, 90], [5, 90], [4, -90], [3, 90], [6, 90], [8, 90]))
    expect(l.problem).toBe('')
    expect(l.area).toBeCloseTo(68, 9)
    expect(l.inside).toBe(1)
  })
  it('says what is wrong', () => {
    expect(walk(legs([12, 90], [8, 90])).problem).toBe('few')
    const open = walk(legs([12, 90], [8, 90], [11, 90], [8, 90]))
    expect(open.problem).toBe('open')
    expect(open.gap).toBeCloseTo(1, 9)
    expect(walk(legs([NaN, 90], [8, 90], [12, 90])).problem).toBe('length')
    expect(walk(legs([4, 135], [Math.SQRT2 * 4, -135], [4, -135], [Math.SQRT2 * 4, -135])).problem).toBe('crosses')
  })
  it('finds the wall that leads back to the start', () => {
    const back = closing(box.slice(0, 3))
    expect(back.length).toBeCloseTo(8, 9)
    expect(back.turn).toBeCloseTo(0, 9)
  })
  it('writes the building file', () => {
    const text = buildingFile({ name: 'North "lot"', unit: 'ft', legs: legs([12.192, 90], [8.5344, 90], [12.192, 90], [8.5344, 90]), heading: 0, storeys: [2.7432], base: 0.2032, roof: 'gable', pitch: 6, along: 1, openings: [{ wall: 1, storey: 1, kind: 'window', at: 1.2192, width: 0.9144, height: 1.2192, up: 0.6096 }, { wall: 2, storey: 1, kind: 'door', at: 3.048, width: 0.9144, height: 2.032, up: 0 }], passes: [{ wall: 1, storey: 1, kind: 'pipe', at: 3.048, width: 0.1143, height: 0.1143, up: 0.3048 }] })
    expect(text).toContain('outline: [[0, 0], [40, 0], [40, 28], [0, 28]]')
    expect(text).toContain('name: "North \\"lot\\""')
    expect(text).toContain('{mass: main, side: side 1, storey: 1, kind: window, size: [3, 4], sill: 2, at: 4}')
    expect(text).toContain('kind: pipe, diameter: 4.5, at: [[10, 1]]')
    expect(text).toContain('frame: wood')
  })
  it('writes what passes the roof, wings and a cold garage', () => {
    const thing = (wall: number) => ({ wall, storey: 1, kind: 'pipe', at: 3.6576, width: 0.1143, height: 0.1143, up: 1.8288 })
    const base = { name: 'L', unit: 'ft' as const, legs: legs([12.192, 90], [8.5344, 90], [12.192, 90], [8.5344, 90]), heading: 0, storeys: [2.7432], base: 0.2032, pitch: 6, along: 1, openings: [] }
    const text = buildingFile({ ...base, roof: 'gable', passes: [thing(-3), thing(2)], bodies: [{ cold: true, size: [6.7056, 6.7056], at: [12.192, -0.6096], height: 2.7432, roof: 'shed', runs: 'north' }, { cold: false, size: [3.048, 3.048], at: [0, 8.5344], height: 2.4384, roof: 'gable', runs: 'north-south' }] })
    expect(text).toContain('{mass: main, through: roof side 3, kind: pipe, diameter: 4.5, at: [[12, 6]]}')
    expect(text).toContain('through: side 2, storey: 1, kind: pipe')
    expect(text).toMatch(/- name: garage 1\n {4}inside: no .*\n {4}size: \[22, 22\]\n {4}at: \[40, -2\]/)
    expect(text).toContain('roof: {form: shed, pitch: 6:12, falls: north}')
    expect(text).toContain('roof: {form: gable, pitch: 6:12, ridge: north-south}')
    expect(buildingFile({ ...base, roof: 'flat', passes: [thing(0)] })).toContain('through: roof, kind: pipe')
  })
  it('knows the planes of each roof', () => {
    expect(planes('flat', 1, 4)).toEqual([0])
    expect(planes('shed', 2, 4)).toEqual([-2])
    expect(planes('gable', 1, 4)).toEqual([-1, -3])
    expect(planes('gable', 4, 4)).toEqual([-2, -4])
    expect(planes('hip', 1, 5)).toEqual([-1, -2, -3, -4, -5])
  })
  it('names a house for its address', () => {
    expect(idOf('  Ñandú House #2 ')).toBe('nandu-house-2')
    expect(idOf('Öller Straße 5')).toBe('oller-strasse-5')
    expect(idOf('///')).toBe('')
  })
})
