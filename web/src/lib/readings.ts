/** Fan-test readings as they are typed: read here only to draw them while one types; the answer comes from the desk. */
export interface Station {
  pressure: number
  flow: number
}

/** Lines of typed readings that are no reading, as they stand: none is passed over in silence. Notes behind # are no lines. */
export function unread(text: string): string[] {
  return text.split(/\r?\n/).map((line) => line.trim()).filter((line) => line.replace(/#.*$/, '').trim() && !stations(line).length)
}

/** Pairs of pressure [Pa] and flow from lines of two numbers, from the csv form or from the yaml form. */
export function stations(text: string): Station[] {
  const out: Station[] = []
  for (const raw of text.split(/\r?\n/)) {
    const line = raw.replace(/#.*$/, '').trim()
    const yaml = /pressure:\s*(-?\d+(?:\.\d+)?)[^,}]*,\s*flow:\s*(\d+(?:\.\d+)?)/.exec(line)
    if (yaml && !/exclude:/.test(line)) {
      out.push({ pressure: Number(yaml[1]), flow: Number(yaml[2]) })
      continue
    }
    const cells = line.split(/[,;\t]/).map((cell) => cell.trim())
    if (cells[1] === 'station' && cells[2] && cells[3] && !cells[6]) out.push({ pressure: Number(cells[2]), flow: Number(cells[3]) })
    else {
      const plain = /^(-?\d+(?:[.]\d+)?)[\s,;\t]+(\d+(?:[.]\d+)?)$/.exec(line)
      if (plain) out.push({ pressure: Number(plain[1]), flow: Number(plain[2]) })
    }
  }
  return out.filter((one) => Number.isFinite(one.pressure) && one.pressure !== 0 && one.flow > 0)
}

/** What belongs to a test besides the stations. */
export interface Head {
  house: string
  date: string
  standard: string
  preparation: string
  volume: string
  envelope: string
  floor: string
  height: string
  inside: string
  outside: string
  altitude: string
  zeroBefore: string
  zeroAfter: string
  /** Of the other direction, where both were run. */
  zeroBefore2: string
  zeroAfter2: string
  flowUnit: string
  reads: string
}

/** Directions of the stations, the one that comes first first. */
export function ways(list: readonly Station[]): ('depressurization' | 'pressurization')[] {
  return [...new Set(list.map((one) => (one.pressure < 0 ? ('depressurization' as const) : ('pressurization' as const))))]
}

/** The fan-test file of what was typed: csv in three parts. */
export function toFile(head: Head, list: readonly Station[]): string {
  const cell = (text: string) => (/[",\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text)
  const rows: [string, string][] = [
    ['house', head.house], ['date', head.date], ['standard', head.standard], ['procedure', list.length > 2 ? 'multi-point' : list.length === 2 ? 'two-point' : 'single-point'],
    ['preparation', head.preparation], ['building.volume', head.volume], ['building.envelope', head.envelope], ['building.floor', head.floor], ['building.height', head.height],
    ['air.inside', head.inside], ['air.outside', head.outside], ['air.altitude', head.altitude], ['device.reads', head.reads],
  ] // prettier-ignore
  const lines = ['test', 'key,value,note', ...rows.filter(([, value]) => value.trim()).map(([key, value]) => `${key},${cell(value.trim())},`)]
  lines.push('readings', `direction,kind,pressure [Pa],flow [${head.flowUnit}],device pressure [Pa],setting,exclude`)
  const zero = (way: string, kind: string, value: string) => value.trim() && lines.push(`${way},${kind},${cell(value.trim())},,,,`)
  for (const [turn, way] of (list.length ? ways(list) : (['depressurization'] as const)).entries()) {
    zero(way, 'zero before mean', turn ? head.zeroBefore2 : head.zeroBefore)
    for (const one of list) if (one.pressure < 0 === (way === 'depressurization')) lines.push(`${way},station,${one.pressure},${one.flow},,,`)
    zero(way, 'zero after mean', turn ? head.zeroAfter2 : head.zeroAfter)
  }
  return `${lines.join('\n')}\n`
}
