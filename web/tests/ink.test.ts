import { describe, expect, it } from 'vitest'
import type { Geometry, States } from '../src/api/shapes'
import { inkFor } from '../src/hull/ink'
import { STATE_LOOKS } from '../src/lib/looks'

const names = Object.keys(STATE_LOOKS)
const geometry = { joints: { id: [...names, 'unknown'], kind: [], run: [] }, kinds: [], runs: [] } as unknown as Geometry
const states = { joints: names.map((state) => ({ joint: state, state })) } as unknown as States

describe('the house by state', () => {
  it('draws each joint as its state, the unsaid as bare, and counts them', () => {
    const { ink, legend } = inkFor('state', geometry, new Map(), states)
    names.forEach((state, k) => expect(ink.looks[ink.of[k]!], state).toBe(STATE_LOOKS[state]))
    expect(ink.looks[ink.of[ink.of.length - 1]!]).toBe(STATE_LOOKS.bare)
    expect(Object.fromEntries(legend.map((one) => [one.name, one.count]))).toEqual({ 'not yet due': 1, bare: 2, prepared: 1, sealed: 1, proved: 1, covered: 1, punctured: 1 })
  })
  it('tells states apart without colour', () => {
    expect(new Set(names.map((state) => JSON.stringify([STATE_LOOKS[state]!.weight, STATE_LOOKS[state]!.dash]))).size).toBe(names.length)
  })
})

describe('the house by method', () => {
  it('calls methods by their plain words, and a joint without one left unsealed', () => {
    const house = { joints: { id: ['a', 'b'], kind: [0, 0], run: [0, 1] }, kinds: [{ name: 'pipe' }], runs: [{ id: 'r' }] } as unknown as Geometry
    const runs = new Map([['r', { method: 'cut_tails' }]]) as unknown as Parameters<typeof inkFor>[2]
    expect(inkFor('method', house, runs, null).legend.map((one) => one.name).sort()).toEqual(['left unsealed', 'tails cut, false tails'])
  })
})
