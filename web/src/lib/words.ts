/** Names of methods in plain words; what is not here is shown as it is written in the file. */
const METHODS: Record<string, string> = {
  cut_tails: 'tails cut, false tails',
  flue_collar: 'collar at the flue',
  bare: 'left as it is',
  listed: 'listed system',
}
export function methodName(name: string): string {
  return METHODS[name] ?? name.replaceAll('_', ' ')
}
export const STAGES = ['foundation', 'sheathing', 'openings', 'services', 'roof', 'later'] as const
/** Stages in the order of work; others stand at the end. */
export function stageOrder(name: string): number {
  const at = (STAGES as readonly string[]).indexOf(name)
  return at < 0 ? STAGES.length : at
}
