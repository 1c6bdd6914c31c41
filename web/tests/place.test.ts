import { describe, expect, it } from 'vitest'
import { clearPlace, meet, stepBoxes, type Box } from '../src/lib/curve'

/** Numbers that look like chance and are the same in every run. */
function chance(start: number): () => number {
  let state = start
  return () => (state = (state * 48271) % 2147483647) / 2147483647
}
const SIZE = { w: 92, h: 20 }
const frame = (W: number): Box => ({ x: 64, y: 16, w: W - 84, h: 270 })
const mark = (p: { x: number; y: number }, r = 11): Box => ({ x: p.x - r, y: p.y - r, w: 2 * r, h: 2 * r })
const inside = (a: Box, b: Box) => a.x >= b.x && a.y >= b.y && a.x + a.w <= b.x + b.w && a.y + a.h <= b.y + b.h

/** A curve of steps from high left to low right; `bend` bends it: below 1 it falls at once, above 1 late; 0 is flat. */
function curve(f: Box, count: number, bend: number, next: () => number): { x: number; y: number }[] {
  const xs = Array.from({ length: count }, () => f.x + 10 + next() * (f.w - 20)).sort((a, b) => a - b)
  return xs.map((x) => {
    const t = (x - f.x) / f.w
    return { x, y: bend ? f.y + 10 + (f.h - 20) * t ** bend : f.y + f.h * 0.6 + 6 * next() }
  })
}

describe('the words at the mark of the plan', () => {
  const next = chance(7)
  for (const W of [334, 736, 960]) {
    for (const [name, bend] of [['steep at once', 0.15], ['bent', 0.4], ['straight', 1], ['steep at the end', 4], ['flat', 0]] as const) {
      it(`cover neither curve nor points nor frame: ${name}, ${W} px wide`, () => {
        for (let turn = 0; turn < 60; turn++) {
          const f = frame(W)
          const points = curve(f, 2 + Math.floor(next() * 30), bend, next)
          // The plan at hand: on the curve, at its ends, or somewhere beside it.
          const at = [points[0]!, points.at(-1)!, points[Math.floor(next() * points.length)]!, { x: f.x + next() * f.w, y: f.y + next() * f.h }][turn % 4]!
          const taken = [...stepBoxes(points, 4), mark(at), { x: points[Math.floor(next() * points.length)]!.x - 2, y: 0, w: 4, h: 330 }]
          const found = clearPlace(SIZE, at, f, taken)
          expect(found, `turn ${turn}`).not.toBeNull()
          expect(inside(found!, f), `turn ${turn}`).toBe(true)
          expect(taken.filter((one) => meet(one, found!)), `turn ${turn}`).toEqual([])
          // Every stretch of the drawn line, looked at point by point, stays out of the words.
          const covered = (x: number, y: number) => x > found!.x && x < found!.x + found!.w && y > found!.y && y < found!.y + found!.h
          const on = points.flatMap((p, i) => Array.from({ length: 51 }, (_, n) => [n / 50, points[i - 1] ?? p, p] as const)).some(([t, q, p]) => covered(q.x + t * (p.x - q.x), q.y) || covered(p.x, q.y + t * (p.y - q.y)))
          expect(on, `turn ${turn}`).toBe(false)
        }
      })
    }
  }
  it('stand beside the mark where there is room', () => {
    const at = { x: 300, y: 150 }
    const found = clearPlace(SIZE, at, frame(736), [mark(at)])!
    // Source: the mark takes 11 px round its middle, places are looked at every 4 px. Tolerance: those 4 px.
    expect(found.far).toBeLessThanOrEqual(15)
    expect(found.far).toBeGreaterThanOrEqual(11)
  })
  it('stand in the nearest of all clear places', () => {
    const f = frame(334)
    for (let turn = 0; turn < 20; turn++) {
      const points = curve(f, 20, 0.3, next)
      const at = points[Math.floor(next() * 20)]!
      const taken = [...stepBoxes(points, 4), mark(at)]
      const found = clearPlace(SIZE, at, f, taken)!
      for (let x = f.x; x + SIZE.w <= f.x + f.w; x += 4)
        for (let y = f.y; y + SIZE.h <= f.y + f.h; y += 4) {
          const box = { x, y, ...SIZE }
          const [cx, cy] = [Math.min(Math.max(at.x, x), x + SIZE.w), Math.min(Math.max(at.y, y), y + SIZE.h)]
          if (Math.hypot(cx - at.x, cy - at.y) < found.far - 1e-9) expect(taken.some((one) => meet(one, box)), `turn ${turn}: ${x} ${y} is nearer`).toBe(true)
        }
    }
  })
  it('say that there is no room rather than cover something', () => {
    const full = { x: 64, y: 16, w: 250, h: 270 }
    expect(clearPlace(SIZE, { x: 100, y: 100 }, full, [full])).toBeNull()
    expect(clearPlace(SIZE, { x: 100, y: 100 }, { ...full, w: 91 }, [])).toBeNull()
    expect(clearPlace(SIZE, { x: 100, y: 100 }, { ...full, w: 92, h: 20 }, [])).toMatchObject({ x: 64, y: 16 })
  })
  it('know what a step takes up', () => {
    // Source: by hand; the line goes level to the next point's money, then up or down to its leakage.
    expect(stepBoxes([{ x: 10, y: 50 }, { x: 30, y: 20 }], 3)).toEqual([
      { x: 10, y: 49, w: 0, h: 2 }, { x: 9, y: 50, w: 2, h: 0 }, { x: 7, y: 47, w: 6, h: 6 },
      { x: 10, y: 49, w: 20, h: 2 }, { x: 29, y: 20, w: 2, h: 30 }, { x: 27, y: 17, w: 6, h: 6 },
    ]) // prettier-ignore
  })
})
