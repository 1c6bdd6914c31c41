/** What word processors and phones make of a number: curly quotes, dashes, written fractions, decimal commas. As the service reads them (hullwright.typed); tests/cases/typed_lengths.json holds both. */
const MARKS: [RegExp, string][] = [
  [/[\u2018\u2019\u201b\u2032\u00b4\u02b9]/g, "'"],
  [/[\u201c\u201d\u201f\u2033\u02ba]/g, '"'],
  [/[\u2010-\u2013\u2212]/g, '-'],
  [/\u2044/g, '/'],
  [/[\u00a0\u2009\u202f]/g, ' '],
]

/** The text with typewriter marks; a fraction that is one letter is written as three, apart from a number before it. */
export function plain(text: string): string {
  const spelled = text.replace(/(\d?)([\u00bc-\u00be\u2150-\u215e])/g, (_, before: string, letter: string) => `${before}${before ? ' ' : ''}${letter.normalize('NFKC')}`)
  return MARKS.reduce((words, [from, to]) => words.replace(from, to), spelled)
}

/** How to write a number with a comma in it; '' where there is none. A comma is never read in silence: it parts thousands for some and decimals for others. */
export function commaHint(text: string): string {
  const found = /(\d+),(\d+(?:,\d+)*)/.exec(text)
  if (!found) return ''
  const [whole, rest] = [found[1]!, found[2]!.split(',')]
  if (rest.every((group) => group.length === 3) && whole.length <= 3 && whole !== '0') return `write ${whole}${rest.join('')}${rest.length === 1 ? `, or ${whole}.${rest[0]} where the comma is a decimal sign` : ''}`
  return rest.length === 1 ? `the decimal sign is a point: write ${whole}.${rest[0]}` : 'write one number, with a point as its decimal sign'
}
