import { describe, expect, it } from 'vitest'
import type { Geometry } from '../src/api/shapes'
import { away, BLUR_MM, near, OFFERED, PX_PER_MM, REACH_MM, step, tapped, toSegment } from '../src/hull/pick'
import { layOut, middle } from '../src/hull/sheet'
import { bring, fit, toScreen, toSheet, zoom } from '../src/hull/view'

/** Two faces: the second turned by 90°, so that a wrong transform shows. */
function house(lines: [number, number, number, number][], turned = false): Geometry {
  const joints = lines.length
  return {
    sheet: { width_m: 20, height_m: 10 },
    kinds: [{ name: 'horizontal seam', piece: false, everywhere: false }, { name: 'pipe', piece: true, everywhere: false }, { name: 'overdriven fastener', piece: true, everywhere: true }],
    faces: [{ id: 'main/south', kind: 'wall', transform: turned ? [0, 1, -1, 0, 10, 0] : [1, 0, 0, 1, 0, 0], loops: [[0, 0, 10, 0, 10, 5, 0, 5]], openings: [], cold: false }],
    joints: {
      id: lines.map((_, k) => `j${k}`), kind: lines.map(() => 0), run: lines.map(() => 0), owner: lines.map(() => 0), other: lines.map(() => -1),
      length_m: lines.map(() => 1), count: lines.map(() => 1), stage: lines.map(() => 'sheathing'),
      offset: Array.from({ length: joints + 1 }, (_, k) => 2 * k), xy: lines.flat(), xyz: [],
    },
  } as unknown as Geometry // prettier-ignore
}

describe('the sheet', () => {
  it('puts face coordinates on the sheet with Y down', () => {
    const plain = layOut(house([[1, 2, 3, 2]]))
    expect([...plain.xy]).toEqual([1, 8, 3, 8])
    const turned = layOut(house([[1, 2, 3, 2]], true))
    expect([...turned.xy]).toEqual([8, 9, 8, 7])
  })
  it('finds the middle along the length', () => {
    expect(middle(layOut(house([[0, 0, 4, 0]])), 0)).toEqual([2, 10])
  })
})

describe('picking', () => {
  it('measures the distance from a segment by hand', () => {
    expect(toSegment(0, 3, 0, 0, 4, 0)).toBe(3)
    expect(toSegment(7, 4, 0, 0, 4, 0)).toBe(5)
    expect(toSegment(1, 1, 2, 2, 2, 2)).toBeCloseTo(Math.SQRT2, 12)
  })
  it('takes the nearest within 12 mm on the screen, and nothing beyond', () => {
    const sheet = layOut(house([[0, 0, 10, 0], [0, 4, 10, 4]]))
    const scale = 40 // px for a metre
    const reach = (REACH_MM * PX_PER_MM) / scale
    expect(tapped(sheet, 5, 10 - 1, scale, 'mouse')).toEqual([0])
    expect(tapped(sheet, 5, 10 - reach + 0.01, scale, 'mouse')).toEqual([0])
    expect(tapped(sheet, 5, 10 - reach - 0.01, scale, 'mouse')).toEqual([])
    expect(near(sheet, 5, 8, 3).map((one) => one.joint)).toHaveLength(2)
  })
  it('offers at most three where a finger can’t tell, and one where it can', () => {
    const close = layOut(house([0, 0.01, 0.02, 0.03, 0.04].map((y) => [0, y, 10, y])))
    expect(tapped(close, 5, 10, 30, 'touch')).toHaveLength(OFFERED)
    const apart = (BLUR_MM.touch * PX_PER_MM) / 30 + 0.02
    const two = layOut(house([[0, 0, 10, 0], [0, apart, 10, apart]]))
    expect(tapped(two, 5, 10, 30, 'touch')).toEqual([0])
  })
  it('does not pick what has no place of its own', () => {
    const geometry = house([[0, 0, 10, 0]])
    geometry.joints.kind[0] = 2
    expect(tapped(layOut(geometry), 5, 10, 30, 'mouse')).toEqual([])
  })
  it('walks by arrow keys to the next in that direction', () => {
    const sheet = layOut(house([[0, 0, 1, 0], [2, 0, 3, 0], [0, 2, 1, 2], [6, 0, 7, 0]]))
    expect(step(sheet, 0, 1, 0)).toBe(1)
    expect(step(sheet, 1, 1, 0)).toBe(3)
    expect(step(sheet, 0, 0, -1)).toBe(2)
    expect(step(sheet, 0, -1, 0)).toBe(0)
    expect(away(sheet, 0, 0.5, 10)).toBe(0)
  })
})

describe('placing', () => {
  it('fits the whole and zooms about the pointer', () => {
    const at = fit(20, 10, 800, 500, 0)
    expect(at).toEqual({ scale: 40, x: 0, y: 50 })
    const before = toSheet(at, 300, 200)
    const after = toSheet(zoom(at, 2, 300, 200, 40), 300, 200)
    expect(after[0]).toBeCloseTo(before[0], 9)
    expect(after[1]).toBeCloseTo(before[1], 9)
    const moved = bring(at, 100, 5, 800, 500)
    expect(toScreen(moved, 100, 5)[0]).toBeCloseTo(740, 9)
  })
})
