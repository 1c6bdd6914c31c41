import { describe, expect, it } from 'vitest'
import { alsoWords, differenceWords, lacks, type Change, type Difference } from '../src/views/record'

const base: Difference = { changes: ['moved'], sort: 'opening', kind: 'window', was: 'W1', now: 'W1', face: 'main/south', moved_m: 1.524, size_was_m: null, size_now_m: null }
const said = (id: string) => ({ 'main/south': 'south wall', 'main/east': 'east wall', j1: 'seam 1', j2: 'seam 2' })[id] ?? id

describe('what a drawing changes', () => {
  it('is said thing by thing, in the reader’s units', () => {
    // By hand: 1.524 m is 5 ft.
    expect(differenceWords(base, 'us', said)).toBe("window W1, south wall: moved by 5'-0\"")
    expect(differenceWords(base, 'metric', said)).toBe('window W1, south wall: moved by 1.52 m')
    const sized: Difference = { ...base, changes: ['moved', 'changed size'], size_was_m: [0.9144, 1.2192], size_now_m: [1.2192, 1.2192] }
    expect(differenceWords(sized, 'us', said)).toBe(`window W1, south wall: moved by 5'-0", changed size from 3'-0" × 4'-0" to 4'-0" × 4'-0"`)
    expect(differenceWords({ ...base, changes: ['went'], now: '' }, 'us', said)).toBe('window W1, south wall: went')
    expect(differenceWords({ ...base, changes: ['renamed'], was: 'W9' }, 'us', said)).toBe('window W1, south wall: renamed from W9')
    expect(differenceWords({ ...base, changes: ['came'], sort: 'wall or roof', kind: 'wall', was: '', now: 'main/east', face: 'main/east' }, 'us', said)).toBe('east wall: came')
  })
  it('names what else is new, gone, planned otherwise', () => {
    const change: Change = { differences: [], new: [{ joint: 'a', from_m: 0, to_m: 1 }], gone: [], renamed: 2, replanned: ['b'] }
    expect(alsoWords(change)).toEqual(['1 stretch of a joint is new', '1 joint is to be sealed otherwise', '2 joints go by another id and keep their proof'])
  })
})

describe('what is in the way of covering', () => {
  const blocker = (id: string, joint: string, reason: string, missing: string[] = [], where = '') => ({ id, joint, reason, missing, where })
  it('is said once for all that lack the same, the face first, with every name an OK can except', () => {
    const ready = { blockers: [blocker('j1:unproved', 'j1', 'unproved', ['film lot proved']), blocker('main/south:nailing', '', 'nailing not signed off', ['have nailing and straps inspected']), blocker('j2:unproved', 'j2', 'unproved', ['film lot proved']), blocker('j2:rivals', 'j2', 'two corrections stand', [], 'seam 2, as the service says it')] }
    expect(lacks(ready, said)).toEqual([
      { ids: ['main/south:nailing'], words: 'nailing not signed off: have nailing and straps inspected', where: ['south wall'] },
      { ids: ['j1:unproved', 'j2:unproved'], words: 'unproved: film lot proved', where: ['seam 1', 'seam 2'] },
      { ids: ['j2:rivals'], words: 'two corrections stand', where: ['seam 2, as the service says it'] },
    ])
    expect(lacks(ready, said).flatMap((one) => one.ids)).toHaveLength(ready.blockers.length)
  })
})
