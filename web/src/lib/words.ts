/** Names of methods in plain words; what is not here is shown as it is written in the file. */
const METHODS: Record<string, string> = {
  cut_tails: 'tails cut, false tails',
  flue_collar: 'collar at the flue',
  unsealed: 'left unsealed',
  listed: 'listed system',
}
export function methodName(name: string): string {
  return METHODS[name] ?? name.replaceAll('_', ' ')
}
export const STAGES = ['foundation', 'sheathing', 'openings', 'services', 'units', 'roof', 'later'] as const
/** Stages in the order of work; others stand at the end. */
export function stageOrder(name: string): number {
  const at = (STAGES as readonly string[]).indexOf(name)
  return at < 0 ? STAGES.length : at
}

/** A face, joint or run as one says it: `wing/east + wing/north:eave` is `wing, east + north: eave`. */
export function place(id: string): string {
  const [head = '', ...rest] = id.split(':')
  const [first = '', ...others] = head.split(' + ')
  const mass = `${first.split('/')[0]}/`
  const faces = [first, ...others.map((other) => (other.startsWith(mass) ? other.slice(mass.length) : other))]
  return [faces.map((face) => face.replaceAll('/', ', ')).join(' + '), ...rest].join(': ')
}
