/** How a method is drawn: pattern, weight and colour together; the same looks as on paper. */
export interface Look {
  ink: string
  dark: string
  weight: number
  dash: number[]
  mark: Mark
}
export type Mark = 'ring' | 'dot' | 'square' | 'diamond' | 'cross'

const look = (ink: string, dark: string, weight: number, dash: number[], mark: Mark): Look => ({ ink, dark, weight, dash, mark })

export const LOOKS: Record<string, Look> = {
  tape: look('#2f6f8f', '#7fc1de', 2, [], 'square'),
  stretch: look('#14435c', '#a9d8ec', 2.4, [5, 1.6], 'diamond'),
  liquid: look('#b3541e', '#f0a06a', 3.4, [], 'dot'),
  sealant: look('#6b5b1f', '#d8c468', 2, [1, 1.6], 'ring'),
  gasket: look('#4b4453', '#bfb3cc', 2.6, [8, 2, 1.5, 2], 'ring'),
  boot: look('#1d6b4f', '#77cfae', 2, [3, 1.5], 'ring'),
  coat: look('#8c3b5a', '#e79ab8', 1.2, [1, 2.5], 'cross'),
  listed: look('#a3231f', '#f28b82', 2.6, [6, 1.5, 1, 1.5], 'diamond'),
  cut_tails: look('#5a6b2a', '#c2d483', 2.2, [10, 2], 'cross'),
  unsealed: look('#8a8a84', '#8a8a84', 1, [2, 3], 'cross'),
}
const SPARE: Look[] = [
  look('#22303c', '#b7c6d2', 2.2, [12, 3], 'diamond'),
  look('#3b3f75', '#a9afe8', 1.8, [6, 2, 2, 2], 'square'),
  look('#7a2f2f', '#e59a9a', 2.8, [2, 2], 'ring'),
]

/** Look of a method; methods of the user's own take a spare one by their place among the known. */
export function methodLook(method: string, known: readonly string[] = []): Look {
  const found = LOOKS[method]
  if (found) return found
  const others = known.filter((name) => !(name in LOOKS)).sort()
  return SPARE[Math.max(0, others.indexOf(method)) % SPARE.length]!
}

/** States of a joint, from nothing done to closed in. */
export const STATE_LOOKS: Record<string, Look> = {
  'not yet due': look('#a9a9a2', '#7d7d77', 0.8, [1, 4], 'ring'),
  bare: look('#8a8a84', '#9a9a94', 1, [2, 3], 'cross'),
  prepared: look('#6b5b1f', '#d8c468', 1.6, [4, 3], 'ring'),
  sealed: look('#b3541e', '#f0a06a', 2.4, [9, 2], 'square'),
  proved: look('#1d6b4f', '#77cfae', 3.2, [], 'dot'),
  covered: look('#22303c', '#b7c6d2', 4.2, [1.2, 1.2], 'diamond'),
  punctured: look('#a3231f', '#f28b82', 3.4, [2, 2], 'cross'),
}

/** Groups of kinds: what sort of place it is, so that a drawing by kind stays readable. */
export const KIND_GROUPS: Record<string, Look> = {
  seam: look('#2f6f8f', '#7fc1de', 1.2, [], 'square'),
  corner: look('#14435c', '#a9d8ec', 2.6, [], 'diamond'),
  foot: look('#6b5b1f', '#d8c468', 3, [6, 1.6], 'square'),
  'roof line': look('#8c3b5a', '#e79ab8', 2.4, [9, 2], 'diamond'),
  opening: look('#b3541e', '#f0a06a', 2.4, [], 'ring'),
  'passes through': look('#1d6b4f', '#77cfae', 2, [3, 1.5], 'dot'),
  other: look('#4b4453', '#bfb3cc', 1.8, [1, 2], 'cross'),
}
export function kindGroup(kind: string): string {
  if (kind.endsWith(' seam') || kind === 'floor line') return 'seam'
  if (/^(outside|inside) corner|three-way|foundation corner|cantilever/.test(kind)) return 'corner'
  if (/^sill|slab|basement/.test(kind)) return 'foot'
  if (/eave|rake|ridge|hip|valley|roof to wall|parapet|soffit|curb/.test(kind)) return 'roof line'
  if (/opening/.test(kind)) return 'opening'
  if (/pipe|box|cable|beam|flue|tail|light|hatch|chase/.test(kind)) return 'passes through'
  return 'other'
}
