/** What the service said of entries of this phone that it took: left out, without a place, held for review. */
import type { Receipt, States } from '../api/shapes'
import { little, setLittle, type Waiting } from '../lib/store'
import { told } from './told'

/** An entry that was taken, as long as somebody may still have to look at it. */
export interface Sent {
  id: string
  body: string
  /** What its receipt said at once of a face that was covered without an OK; of everything else the states say more, and forget it once it is mended. */
  reason: string
}
export interface Remark {
  id: string
  body: string
  held: string[]
  /** What it needs, in the word of the service; '' where nothing. */
  lacking: string
  leftOut: { joint: string; why: string }[]
  reason: string
}
const MOST = 300

export async function noteSent(house: string, gone: readonly Waiting[], receipts: readonly Receipt[]): Promise<void> {
  const before = (await little<Sent[]>(`mine ${house}`)) ?? []
  const now = gone.map((one) => ({ id: one.id, body: one.body, reason: told(one.body).kind === 'covered' ? (receipts.find((r) => r.id === one.id)?.reason ?? '') : '' }))
  await setLittle(`mine ${house}`, [...before.filter((one) => !now.some((two) => two.id === one.id)), ...now].slice(-MOST))
}

/** Entries of this phone that do not count as they were meant. */
export function remarksOf(states: Pick<States, 'unclear' | 'held'> | null, mine: readonly Sent[]): Remark[] {
  const unclear = new Map((states?.unclear ?? []).map((one) => [String(one.entry), one as { left_out?: { joint: string; why: string }[]; lacking?: string }]))
  return mine.flatMap(({ id, body, reason }) => {
    const said = unclear.get(id)
    const held = states?.held?.[id] ?? []
    const found = { id, body, held, lacking: said?.lacking ?? '', leftOut: said?.left_out ?? [], reason }
    return held.length || found.lacking || found.leftOut.length || reason ? [found] : []
  })
}
