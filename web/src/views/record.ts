/** What the record says, in words: what a drawing changes, what is in the way of covering. */
import type { Ready, Revisions } from '../api/shapes'
import { length, type System } from '../lib/units'

export type Change = NonNullable<Revisions['differs']>
export type Difference = Change['differences'][number]

/** One thing that came, went, moved, changed size or was renamed. */
export function differenceWords(one: Difference, system: System, said: (id: string) => string): string {
  const name = one.sort === 'wall or roof' ? said(one.now || one.was) : [one.kind, one.now || one.was].join(' ')
  const size = (v: readonly number[] | null) => (v ? `${length(v[0]!, system)} × ${length(v[1]!, system)}` : '?')
  const did = one.changes.map((change) => {
    if (change === 'moved') return `moved by ${length(one.moved_m, system)}`
    if (change === 'changed size') return one.size_was_m && one.size_now_m ? `changed size from ${size(one.size_was_m)} to ${size(one.size_now_m)}` : 'changed size'
    return change === 'renamed' ? `renamed from ${said(one.was)}` : change
  })
  const where = one.sort === 'wall or roof' ? '' : `, ${said(one.face)}`
  return `${name}${where}: ${did.join(', ')}`
}
/** What lies between two drawings beside the things themselves. */
export function alsoWords(change: Change): string[] {
  const some = (count: number, one: string, more: string) => (count ? [count === 1 ? `1 ${one}` : `${count} ${more}`] : [])
  return [
    ...some(change.new.length, 'stretch of a joint is new', 'stretches of joints are new'),
    ...some(change.gone.length, 'stretch of a joint is gone', 'stretches of joints are gone'),
    ...some(change.replanned.length, 'joint is to be sealed otherwise', 'joints are to be sealed otherwise'),
    ...some(change.renamed, 'joint goes by another id and keeps its proof', 'joints go by another id and keep their proof'),
  ]
}

export interface Lack {
  /** Names by which an OK to cover can except them. */
  ids: string[]
  /** What is lacking, and what to do. */
  words: string
  /** Joints that lack it, in words; '' for the face. */
  where: string[]
}
/** Things in the way, those that lack the same together: the face first, then what most joints lack. */
export function lacks(ready: Pick<Ready, 'blockers'>, said: (id: string) => string): Lack[] {
  const groups = new Map<string, Lack>()
  for (const one of ready.blockers) {
    const words = `${one.reason}${one.missing.length ? `: ${one.missing.join(', ')}` : ''}`
    const group = groups.get(words) ?? { ids: [], words, where: [] }
    if (group.ids.includes(one.id)) continue
    group.ids.push(one.id)
    // Of the face: what the name of the blocker says before its colon, where that is a mark or a run.
    const of = one.joint || one.id.slice(0, one.id.lastIndexOf(':'))
    group.where.push(one.where || said(of))
    groups.set(words, group)
  }
  const ofFace = (lack: Lack) => Number(ready.blockers.some((one) => lack.ids.includes(one.id) && !one.joint))
  return [...groups.values()].toSorted((a, b) => ofFace(b) - ofFace(a) || b.ids.length - a.ids.length)
}
