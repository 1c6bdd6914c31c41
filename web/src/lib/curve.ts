/** The curve between money and leakage as it is drawn. */
export interface Point {
  spent: number
  ach50: number
}

/** Points in rising order of money, each once. One that leaks more for more money stays: it lets less water in, and the best plan weighs both. */
export function frontier<P extends Point>(points: readonly P[]): P[] {
  const sorted = [...points].sort((a, b) => a.spent - b.spent || a.ach50 - b.ach50)
  const out: P[] = []
  for (const point of sorted) {
    const last = out.at(-1)
    if (last && Math.abs(point.spent - last.spent) < 0.005) continue
    out.push(point)
  }
  return out
}

/** Axis from a range: ends a little outside, steps of 1, 2 or 5. */
export function axis(low: number, high: number, count = 5): { low: number; high: number; ticks: number[] } {
  const span = Math.max(high - low, Math.abs(high) * 0.02, 1e-9)
  const [a, b] = [low - span * 0.06, high + span * 0.06]
  const raw = (b - a) / count
  const power = 10 ** Math.floor(Math.log10(raw))
  const step = [1, 2, 5, 10].map((f) => f * power).find((s) => s >= raw)!
  const ticks: number[] = []
  for (let t = Math.ceil(a / step) * step; t <= b; t += step) ticks.push(Math.abs(t) < step / 1e6 ? 0 : t)
  return { low: a, high: b, ticks }
}

export interface Box {
  x: number
  y: number
  w: number
  h: number
}
export const meet = (a: Box, b: Box): boolean => a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h

/** What steps take up: for each the level part, then the upright one; and each point with its dot. */
export function stepBoxes(points: readonly { x: number; y: number }[], dot: number): Box[] {
  return points.flatMap((p, i) => {
    const q = points[i - 1] ?? p
    return [{ x: q.x, y: q.y - 1, w: p.x - q.x, h: 2 }, { x: p.x - 1, y: Math.min(p.y, q.y), w: 2, h: Math.abs(p.y - q.y) }, { x: p.x - dot, y: p.y - dot, w: 2 * dot, h: 2 * dot }]
  })
}

/** Where words stand nearest to a place, inside a frame and clear of what is taken; null where there is no room. */
export function clearPlace(size: { w: number; h: number }, at: { x: number; y: number }, frame: Box, taken: readonly Box[], step = 4): (Box & { far: number }) | null {
  let best: (Box & { far: number }) | null = null
  for (let y = frame.y; y + size.h <= frame.y + frame.h; y += step)
    for (let x = frame.x; x + size.w <= frame.x + frame.w; x += step) {
      const box = { x, y, ...size }
      const far = Math.hypot(Math.max(x - at.x, 0, at.x - x - size.w), Math.max(y - at.y, 0, at.y - y - size.h))
      if ((!best || far < best.far) && !taken.some((one) => meet(one, box))) best = { ...box, far }
    }
  return best
}

/** Three others worth a look: the cheapest, the one with the least leakage, and another method. */
export function threeBest<O extends { method: string; money: number; air_cm2: number; water_l: number; breaks: string[]; chosen: boolean; label: string }>(
  options: readonly O[],
): O[] {
  const open = options.filter((one) => !one.chosen && !one.breaks.length)
  const out: O[] = []
  const take = (one: O | undefined) => {
    if (one && !out.includes(one) && out.length < 3) out.push(one)
  }
  const by = (rank: (one: O) => number, from: readonly O[] = open) => [...from].sort((a, b) => rank(a) - rank(b))[0]
  take(by((one) => one.money))
  take(by((one) => one.air_cm2 * 1e6 + one.money))
  const methods = () => new Set([...out.map((one) => one.method), ...options.filter((one) => one.chosen).map((one) => one.method)])
  take(by((one) => one.money, open.filter((one) => !methods().has(one.method))))
  for (const one of [...open.toSorted((a, b) => a.money - b.money), ...options.filter((o) => !o.chosen && o.breaks.length)]) take(one)
  return out
}
