/** Short, active, one step a line. English is at hand; Spanish comes as a part of its own, so that a phone loads one of them. */
import { length, type System } from '../lib/units'
import type { Landing } from './wall'

export type Language = 'en' | 'es'

const W = {
  kept: (k: number, s: number) => `${k} kept here, ${s} sent`,
  done: 'Done', trouble: 'Trouble', toHere: 'Done to here', back: 'Back', next: 'Next', before: 'Before', keep: 'Keep', undo: 'Undo', faces: 'Pieces by face',
  read: 'Film reading', tubes: 'Packs used', sheet: 'Product sheet', card: 'Card check', photo: 'Photo', sun: 'Sun', shade: 'Shade',
  tapTooth: 'Tap the last wet tooth.', none: 'none wet', lower: 'Lower', higher: 'Higher', lastWet: 'last wet', nextDry: 'next dry',
  enough: 'Enough.', thin: 'Too thin: add now.', close: 'Close: it counts. Lay the next a little thicker.',
  pick: 'What is wrong?', troubles: ['A hole', 'Too wet', 'Gap too wide', 'Does not stick', 'Film too thin', 'Something else'],
  howMany: 'How many packs?', gauge: 'Which comb is in your hand? Look at its numbers.', leastSheet: 'Least wet film on the product sheet', sheetWhy: 'Take it from the sheet of the product in your hand.',
  cardWhy: 'Lay a bank card on the picture. Make the picture as wide as the card.', fits: 'It fits', larger: 'Larger', smaller: 'Smaller',
  refusedTitle: 'Not taken by the desk', refusedWhy: 'These stay here. Show them to the lead.', file: 'Save all as a file', stay: 'The phone may clear this page when it is short of room. Send soon.', noSignal: 'No signal', first: 'First', nothing: 'Nothing to seal on this face.', noPlan: 'No plan is on this phone yet. Come here once with signal.', ofSize: 'of', done1: 'done', look: 'Look up before you climb. Tie off on the roof.', desk: 'Desk', more: 'More', other: 'Other', update: 'New page', trueSize: 'true size', needCard: 'Not true size yet: do the card check.', notYet: 'not yet', notAsked: 'Not known yet if work may start here. Come here once with signal.', askLead: 'Ask the lead.',
  sign: 'Sign off nailing', signSteps: ['Look at every panel: spacing, edges, depth.', 'Plans and local code rule.', 'Inspection due? The inspector first.'], right: 'Nailing is right',
  hole: 'Which hole did you make?', holes: ['Pipe', 'Cable', 'Box or duct', 'Screw or anchor', 'Cut by mistake', 'Something else'], scan: 'Made a hole? Scan the tag on that wall.', marked: 'Marked.', leaveOpen: 'Leave it open. It will be sealed and looked at before it is covered.', another: 'One more hole',
  wide: 'wide', reach: 'out from it', aim: 'aim, wet', least: 'least', greatest: 'greatest', bead: 'bead', lap: 'lap', gap: 'gap', tooWide: 'wider than this screen', sendFirst: 'Send first', notSecure: 'This address is not secure: the page can not be kept for days without signal.', notKept: 'The browser refused to keep the page: without signal it can not be opened again.',
  here: 'Here', all: 'All', left: 'from the left end', up: 'up', inField: 'On the panel, on no joint', wholeWall: 'Whole wall', nearer: 'Nearer',
  tapPlace: 'Tap the place on the wall.', tapEnds: 'Tap where it begins.', tapOther: 'Now tap where it ends.', tapOut: 'Tap one to leave it out.', tapIn: 'Tap what is meant.', noStretch: 'Nothing of this run lies straight between the two. Tap again.', stretchIs: 'Done, from tap to tap:',
  checks: 'Checks', wall: 'This wall', part: 'Part done', check: { ready: 'Clean and dry', seen: 'Looked at', rolled: 'Rolled', probe: 'Probed', tug: 'Tug test', film: 'Film added' },
  seenHow: ['Sound all round', 'Sound, nowhere flat for the gauge', 'Not sound'], tugHow: ['It held', 'It came off'], howManyTried: 'How many places did you probe?', howManyFailed: 'How many of them failed?',
  ends: { 'trade through': 'Trade is through', 'unit set': 'Unit is set' }, notDue: { 'trade through': 'Not due yet. The trade goes through first.', 'unit set': 'Not due yet. The unit is set first.' },
  differs: 'As laid differs', differsWhy: 'Panels lie otherwise than drawn. Nothing is taken away: readings count for the wall.', differsYes: 'They lie otherwise', fasteners: 'Fasteners added', howManyFasteners: 'How many fasteners did you add?',
  open: 'Holes and flaws', noneOpen: 'Nothing is open on this wall.', look2: 'Look at the repair', withWhat: 'With what?', wallPhoto: 'Photo of the wall', photoOf: 'What is on the photo?', take: 'Take photo',
  thinNow: 'Too thin here. Add film, then measure here again.', again: 'Measure again', takenBut: 'Taken, but look at it', leftOut: 'Left out', lackPlace: 'It needs a place: say it again at the place.', lackHeld: 'Held for review: it proves nothing until the office has looked.',
  ready: {
    title: 'Ready without signal?', here: 'This is the page of the desk. A phone is made ready at the address that the invitation carries.', is: 'Ready.', card: 'To the card',
    never: 'This browser does not keep the page. The certificate is not trusted yet: go through the set-up page again, all steps. A warning that was tapped away is not enough.',
    todo: ['Wait: the page is being kept on this phone.', 'Switch to aeroplane mode, Wi-Fi off too. Then load this page again.', 'Switch the signal on again: the desk must hear of it.'],
    done: ['The page is kept on this phone.', 'It came up without signal.', 'The desk knows.'],
  },
}
export type Words = typeof W
/** All that a language says. Kinds and faces have English names already. */
export interface Tongue {
  language: Language
  W: Words
  kinds: Record<string, string>
  faces: Record<string, string>
  /** One sentence for a method; `{kind}` stands for the joint. */
  ways: Record<string, string>
  /** What goes before. */
  steps: Record<string, string>
  stages: Record<string, string>
  /** What stands in the way of a start, by the words of the service. */
  stops: Record<string, string>
}
export const EN: Tongue = {
  language: 'en', W, kinds: {}, faces: {},
  ways: { tape: 'Tape the {kind}. Roll every inch.', stretch: 'Stretch tape into the {kind}. Press it in, then roll.', liquid: 'Coat the {kind} with liquid flashing. No pinholes.', sealant: 'Seal the {kind} with one bead. Tool it.', gasket: 'Lay the gasket under the {kind}. No gaps at the ends.', boot: 'Pull the boot over the {kind}. Seal its edge.', coat: 'Coat the face at the {kind}.', cut_tails: 'Cut the {kind} flush. The false one goes outside the layer.', flue_collar: 'Fit the metal collar at the {kind}. Keep the clearance.', listed: 'Use the listed system at the {kind}. Follow its sheet.', weatherstrip: 'Fit weatherstrip and latch at the {kind}. It must press all round.', cover: 'Fix the rigid cover over the {kind}. Seal its edges.', '': 'Seal the {kind}.' },
  steps: { cleaning: 'wipe it clean', primer: 'prime it', filler: 'fill the gap', blocking: 'block behind it' },
  stages: {},
  stops: { 'nailing not signed off': 'Nailing on this face is not signed off.', 'straps and hold-downs failed their inspection': 'Straps or hold-downs on this face failed.' },
} // prettier-ignore

/** The words of a language; Spanish is fetched, or comes from what the worker keeps. */
export async function tongue(language: Language): Promise<Tongue> {
  return language === 'es' ? (await import('./es')).ES : EN
}
export function kindWords(T: Tongue, kind: string): string {
  return T.kinds[kind] ?? kind
}
/** What stands in the way, one a line; what an older page does not know is said in the words of the service. */
export function stopWords(T: Tongue, stops: readonly string[]): string[] {
  return stops.map((one) => T.stops[one] ?? one)
}
export function faceWords(T: Tongue, face: string): string {
  const parts = Object.entries(T.faces).toSorted((a, b) => b[0].length - a[0].length)
  return parts.reduce((text, [from, to]) => text.replaceAll(new RegExp(`\\b${from}\\b`, 'g'), to), face.replace('/', ', '))
}
/** A length as a thumb on a drawing gives it: to the inch, or to two centimeters. */
export function tapped(metres: number, system: System): string {
  const step = system === 'us' ? 0.0254 : 0.02
  return length(Math.round(metres / step) * step, system)
}
/** Where a tap lies: the joint, and how far from the left end and the foot of the wall one measures it. */
export function whereWords(T: Tongue, at: Landing, name: (joint: number) => string, system: System): string {
  return `${at.joint < 0 ? T.W.inField : name(at.joint)}: ${tapped(at.left, system)} ${T.W.left}, ${tapped(at.up, system)} ${T.W.up}`
}
/** One sentence for one piece. */
export function sentence(T: Tongue, method: string, kind: string): string {
  return (T.ways[method] ?? T.ways['']!).replace('{kind}', kindWords(T, kind))
}
export function firstWords(T: Tongue, steps: readonly string[]): string {
  return steps.map((step) => T.steps[step] ?? step).join(', ')
}
