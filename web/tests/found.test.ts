import { describe, expect, it } from 'vitest'
import { flow, readFlow, readFound, toSend, zoneKey } from '../src/lib/found'

describe('what the walk found', () => {
  it('is sent with the flow in m³/h and the minutes that a sealed place took', () => {
    const { findings, wrong } = toSend({ a: { seen: 'sealed', fell: '20', minutes: '12' }, b: { seen: 'leak', fell: '', minutes: '' } }, 'us')
    expect(wrong).toEqual([])
    // Source: 1 cfm = (0.3048 m)³ × 60 a hour = 1.699 010 796 m³/h (NIST SP 811, appendix B.8, foot: exact). Tolerance: 1e-6, of the product.
    expect(findings[0]!.moved_m3_h).toBeCloseTo(33.980216, 5)
    expect(findings).toMatchObject([{ on: 'a', seen: 'sealed', minutes: 12 }, { on: 'b', seen: 'leak' }])
    expect(findings[1]).not.toHaveProperty('moved_m3_h')
  })
  it('says where a number can not be read, and sends nothing of that place', () => {
    const { findings, wrong } = toSend({ a: { seen: 'sealed', fell: 'much', minutes: '' }, b: { seen: 'sealed', fell: '20 cfm', minutes: '-3' }, c: { seen: 'sealed', fell: '', minutes: '' } }, 'us')
    expect(wrong).toEqual(['a', 'b'])
    expect(findings.map((one) => one.on)).toEqual(['c'])
  })
  it('sends no flow with a place that is no longer called sealed', () => {
    expect(toSend({ a: { seen: 'leak', fell: 'much', minutes: 'x' } }, 'metric')).toEqual({ findings: [{ on: 'a', seen: 'leak', kind: '', note: '' }], wrong: [] })
  })
  it('names a zone that was masked off by its face and kind, and sends it with its reading only', () => {
    const zone = (face: string, kind: string, fell: string) => ({ [zoneKey(face, kind)]: { seen: 'masked' as const, fell, minutes: '', zone: [face, kind] as [string, string] } })
    const { findings, wrong } = toSend({ ...zone('main/east', 'eave', '10 L/s'), ...zone('', 'pipe', '5'), ...zone('main/east', '', '') }, 'metric')
    // Source: 1 L/s = 3.6 m³/h exact. Tolerance: none, whole numbers.
    expect(findings).toEqual([{ on: 'main/east', seen: 'masked', kind: 'eave', note: '', moved_m3_h: 36 }, { on: 'pipe', seen: 'masked', kind: '', note: '', moved_m3_h: 5 }])
    expect(wrong).toEqual([zoneKey('main/east', '')])
  })
  it('reads what an older page kept', () => {
    expect(readFound('{"a":"nothing","b":{"seen":"sealed","fell":"3","minutes":""}}')).toEqual({ a: { seen: 'nothing', fell: '', minutes: '' }, b: { seen: 'sealed', fell: '3', minutes: '' } })
    expect(readFound(null)).toEqual({})
  })
})

describe('flows of a fan', () => {
  it('are read with their unit, or in that of the house', () => {
    // Source: as above; 1 L/s = 3.6 m³/h exact. Tolerance: 1e-6, of the product.
    expect(readFlow('34 m3/h', 'us')).toBe(34)
    expect(readFlow('34', 'metric')).toBe(34)
    expect(readFlow('10 L/s', 'us')).toBeCloseTo(36, 6)
    expect(readFlow('1 cfm', 'metric')).toBeCloseTo(1.699010796, 6)
    expect(readFlow('\u22122.5', 'metric')).toBe(-2.5)
    for (const text of ['', '-2,5', '1,200 cfm', 'cfm', '20 gpm', '1.2.3', '20 cfm 5']) expect(readFlow(text, 'us')).toBeNull()
  })
  it('are written in the unit of the house', () => {
    expect(flow(33.98, 'us')).toBe('20 cfm')
    expect(flow(33.98, 'metric')).toBe('34 m³/h')
  })
})
