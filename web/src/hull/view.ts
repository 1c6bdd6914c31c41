/** Where the sheet lies on the screen: screen = sheet · scale + (x, y). */
export interface Placing {
  scale: number
  x: number
  y: number
}
export const MOST_SCALE = 900

export function fit(width: number, height: number, across: number, up: number, pad = 24): Placing {
  const scale = Math.max(1e-3, Math.min((across - 2 * pad) / width, (up - 2 * pad) / height))
  return { scale, x: (across - width * scale) / 2, y: (up - height * scale) / 2 }
}

/** Zooms so that the point under the pointer stays. */
export function zoom(at: Placing, factor: number, px: number, py: number, least: number): Placing {
  const scale = Math.min(MOST_SCALE, Math.max(least * 0.5, at.scale * factor))
  const k = scale / at.scale
  return { scale, x: px - (px - at.x) * k, y: py - (py - at.y) * k }
}

export function toSheet(at: Placing, px: number, py: number): [number, number] {
  return [(px - at.x) / at.scale, (py - at.y) / at.scale]
}

export function toScreen(at: Placing, x: number, y: number): [number, number] {
  return [x * at.scale + at.x, y * at.scale + at.y]
}

/** Brings a place into sight with as little movement as needed. */
export function bring(at: Placing, x: number, y: number, across: number, up: number, pad = 60): Placing {
  const [px, py] = toScreen(at, x, y)
  const move = (p: number, size: number) => (p < pad ? pad - p : p > size - pad ? size - pad - p : 0)
  return { ...at, x: at.x + move(px, across), y: at.y + move(py, up) }
}
