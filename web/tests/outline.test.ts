import { describe, expect, it } from 'vitest'
import { buildingFile, closing, idOf, walk, type Leg } from '../src/lib/outline'

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
  it('names a house for its address', () => {
    expect(idOf('  Ñandú House #2 ')).toBe('n-andu-house-2'.replace('n-andu', idOf('Ñandú')))
    expect(idOf('///')).toBe('')
  })
})
