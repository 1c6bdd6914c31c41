import { describe, expect, it } from 'vitest'
import { faceNames, inTheWay, placeName } from '../src/hull/naming'
import type { FaceOnSheet, Sheet } from '../src/hull/sheet'

const face = (...points: number[]): FaceOnSheet => ({ id: 'a', kind: 'wall', loops: [Float32Array.from(points)], openings: [], cold: false })
const wall = face(0, 0, 10, 0, 10, 6, 0, 6)
const gable = face(0, 6, 5, 0, 10, 6)
const lies = ([x, y]: [number, number], wide: number, high: number, boxes: number[]) => {
  let count = 0
  for (let i = 0; i < boxes.length; i += 4) if (boxes[i]! < x + wide / 2 && boxes[i + 2]! > x - wide / 2 && boxes[i + 1]! < y + high / 2 && boxes[i + 3]! > y - high / 2) count++
  return count
}
const sheetOf = (one: FaceOnSheet, ...joints: number[][]): Sheet => ({
  width: 10, height: 6, faces: [one], offset: joints.reduce((all, points) => [...all, all.at(-1)! + points.length / 2], [0]), xy: Float32Array.from(joints.flat()),
  drawn: new Uint8Array(joints.length).fill(1), piece: new Uint8Array(joints.length), boxes: new Float32Array(joints.length * 4),
}) // prettier-ignore

describe('the name of a face', () => {
  it('leaves the mass out where there is one only', () => {
    expect(faceNames(['block/south', 'block/east 1 party wall'])).toEqual(['south', 'east 1 party wall'])
    expect(faceNames(['main/south', 'wing/south'])).toEqual(['main, south', 'wing, south'])
    expect(faceNames([])).toEqual([])
  })
  it('stands in the middle where nothing is in its way', () => {
    expect(placeName(wall, new Float32Array(), 4, 1)).toEqual([5, 3])
  })
  it('goes aside from a seam through the middle, and no further than it must', () => {
    const seam = [0, 3, 10, 3]
    const spot = placeName(wall, Float32Array.from(seam), 4, 1)!
    expect(lies(spot, 4, 1, seam)).toBe(0)
    // Rows lie 5/32 m apart: the fourth is the first that clears half a name of 1 m.
    expect(Math.abs(spot[1] - 3)).toBeCloseTo(0.625, 6)
  })
  it('lies over as little as can be where it can not be free', () => {
    // Rows of seams closer than a name is high, but for one pair below.
    const seams = [0, 0.5, 1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5.5].flatMap((y) => [0, y, 10, y])
    const spot = placeName(wall, Float32Array.from(seams), 4, 0.7)!
    let least = Infinity
    for (let y = 0.35; y <= 5.65; y += 0.01) least = Math.min(least, lies([5, y], 4, 0.7, seams))
    expect(least).toBe(0)
    expect(lies(spot, 4, 0.7, seams)).toBe(0)
  })
  it('stays inside a gable', () => {
    const [x, y] = placeName(gable, new Float32Array(), 4, 0.8)!
    // The gable is as wide as 10 y / 6 at y below its top; the upper edge of the name is the narrow one.
    expect(((y - 0.4) * 10) / 6).toBeGreaterThanOrEqual(4 + 2 * Math.abs(x - 5))
  })
  it('is left out where it does not fit', () => {
    expect(placeName(wall, new Float32Array(), 10.1, 1)).toBeNull()
    expect(placeName(wall, new Float32Array(), 4, 6.1)).toBeNull()
    expect(placeName(gable, new Float32Array(), 9, 1)).toBeNull()
  })
  it('is left out where it could not be read', () => {
    const seams = Array.from({ length: 61 }, (_, k) => [0, k / 10, 10, k / 10]).flat()
    expect(placeName(wall, Float32Array.from(seams), 4, 1)).toBeNull()
    expect(placeName(wall, Float32Array.from(seams), 4, 0.15)).not.toBeNull()
  })
  it('knows the joints and openings of its own face', () => {
    const withDoor = { ...wall, openings: [Float32Array.from([1, 2, 2, 2, 2, 6, 1, 6])] }
    const boxes = [...inTheWay(sheetOf(withDoor, [0, 3, 10, 3], [20, 3, 30, 3], [5, 5]))[0]!]
    expect(boxes).toEqual([0, 3, 10, 3, 5, 5, 5, 5, 1, 2, 2, 6])
  })
  it('may lie below a slanting joint, in the corner of its box', () => {
    const boxes = inTheWay(sheetOf(wall, [0, 0, 10, 6]))[0]!
    expect(lies([7.5, 1.5], 2, 1, [...boxes])).toBe(0)
    expect(lies([5, 3], 2, 1, [...boxes])).toBeGreaterThan(0)
  })
})
