/** Short, active, one step a line; in English and Spanish. */
export type Language = 'en' | 'es'

const EN = {
  kept: (k: number, s: number) => `${k} kept here, ${s} sent`,
  done: 'Done', trouble: 'Trouble', toHere: 'Done to here', back: 'Back', next: 'Next', before: 'Before', keep: 'Keep', undo: 'Undo', faces: 'Pieces by face',
  read: 'Film reading', tubes: 'Packs used', sheet: 'Product sheet', card: 'Card check', photo: 'Photo',
  tapTooth: 'Tap the last wet tooth.', none: 'none wet', lower: 'Lower', higher: 'Higher', lastWet: 'last wet', nextDry: 'next dry', over: 'all wet',
  enough: 'Film is thick enough.', thin: 'Too thin. Add now, while it is wet.', open: 'Just at the limit: read again beside it.',
  pick: 'What is wrong?', troubles: ['A hole', 'Too wet', 'Gap too wide', 'Does not stick', 'Film too thin', 'Something else'],
  howMany: 'How many packs?', gauge: 'Which comb is in your hand? Look at its numbers.', least: 'Least wet film on the product sheet', width: 'Width on the product sheet', sheetWhy: 'Take both from the sheet of the product in your hand.',
  cardWhy: 'Lay a bank card on the picture. Make the picture as wide as the card.', fits: 'It fits', larger: 'Larger', smaller: 'Smaller',
  refusedTitle: 'Not taken by the desk', refusedWhy: 'These stay here. Show them to the lead.', file: 'Save all as a file', stay: 'The phone may clear this page when it is short of room. Send soon.', noSignal: 'No signal', first: 'First', nothing: 'Nothing to seal on this face.', noPlan: 'No plan is on this phone yet. Come here once with signal.', ofSize: 'of', done1: 'done', look: 'Look up before you climb. Tie off on the roof.', desk: 'Desk', more: 'More', update: 'New page', trueSize: 'True size', needCard: 'Not true size yet: do the card check.', waiting: 'A new page is ready. It comes in once all is sent.', tooSmall: 'Send first',
}
type Words = typeof EN
const ES: Words = {
  kept: (k, s) => `${k} aquí, ${s} enviados`,
  done: 'Hecho', trouble: 'Problema', toHere: 'Hecho hasta aquí', back: 'Volver', next: 'Sigue', before: 'Antes', keep: 'Guardar', undo: 'Deshacer', faces: 'Piezas por cara',
  read: 'Medir película', tubes: 'Envases usados', sheet: 'Hoja del producto', card: 'Medir tarjeta', photo: 'Foto',
  tapTooth: 'Toque el último diente mojado.', none: 'ninguno', lower: 'Menos', higher: 'Más', lastWet: 'último mojado', nextDry: 'siguiente seco', over: 'todos mojados',
  enough: 'La película alcanza.', thin: 'Muy delgada. Ponga más ahora, mientras está fresca.', open: 'Justo en el límite: mida otra vez al lado.',
  pick: '¿Qué pasa?', troubles: ['Un agujero', 'Muy mojado', 'Hueco muy ancho', 'No pega', 'Película delgada', 'Otra cosa'],
  howMany: '¿Cuántos envases?', gauge: '¿Qué peine tiene en la mano? Mire sus números.', least: 'Película mojada mínima de la hoja', width: 'Ancho en la hoja', sheetWhy: 'Tome los dos de la hoja del producto que tiene en la mano.',
  cardWhy: 'Ponga una tarjeta de banco sobre el dibujo. Haga el dibujo igual de ancho.', fits: 'Es igual', larger: 'Más grande', smaller: 'Más chico',
  refusedTitle: 'La oficina no los tomó', refusedWhy: 'Se quedan aquí. Muéstrelos al jefe.', file: 'Guardar todo en archivo', stay: 'El teléfono puede borrar esta página si le falta espacio. Envíe pronto.', noSignal: 'Sin señal', first: 'Primero', nothing: 'Nada que sellar en esta cara.', noPlan: 'Todavía no hay plan en este teléfono. Venga una vez con señal.', ofSize: 'de', done1: 'hecho', look: 'Mire arriba antes de subir. Amárrese en el techo.', desk: 'Oficina', more: 'Más', update: 'Página nueva', trueSize: 'Tamaño real', needCard: 'Aún no es tamaño real: mida la tarjeta.', waiting: 'Hay una página nueva. Entra cuando todo esté enviado.', tooSmall: 'Envíe primero',
}
export const WORDS: Record<Language, Words> = { en: EN, es: ES }

const KINDS_ES: Record<string, string> = {
  'panel seam, level': 'junta horizontal de paneles', 'panel seam, upright': 'junta vertical de paneles', 'floor line': 'línea de piso', 'outside corner': 'esquina de afuera',
  'inside corner': 'esquina de adentro', 'sill to foundation': 'solera con cimiento', 'slab edge': 'borde de losa', 'foundation corner': 'esquina del cimiento', 'foundation wall to floor': 'muro de cimiento con piso',
  eave: 'alero', rake: 'borde inclinado del techo', ridge: 'cumbrera', hip: 'limatesa', valley: 'limahoya', 'roof to wall, head': 'techo con pared, arriba', 'roof to wall, side': 'techo con pared, lado',
  'parapet base': 'pie del pretil', 'parapet edge': 'borde del pretil', soffit: 'sofito', cantilever: 'voladizo', 'opening head': 'arriba de la abertura', 'opening jamb': 'lado de la abertura', 'opening sill': 'antepecho de la abertura',
  'rough-opening corner': 'esquina de la abertura', 'three-way corner': 'esquina de tres lados', curb: 'brocal', pipe: 'tubo', 'box or duct': 'caja o ducto', 'cable group': 'grupo de cables', beam: 'viga', flue: 'chimenea metálica',
  'rafter tail': 'cola de cabrio', 'overdriven fastener': 'clavo hundido', 'overdriven fastener under a seam band': 'clavo hundido bajo la junta', 'change of material': 'cambio de material', 'wall to ceiling': 'pared con techo',
  'partition top plate': 'solera de tabique', 'attic hatch': 'escotilla del ático', chase: 'ducto de obra', 'light or fan': 'luz o ventilador', 'contact with cold garage': 'contacto con garaje frío', 'party wall edge': 'borde de pared común',
  'shaft edge': 'borde del pozo', 'strip behind a thing fixed later': 'franja detrás de lo que se fija después',
} // prettier-ignore
const FACE_ES: Record<string, string> = { south: 'sur', north: 'norte', east: 'este', west: 'oeste', roof: 'techo', bottom: 'fondo', 'slab edge': 'borde de losa', 'garage wall': 'pared del garaje', main: 'principal', wing: 'ala', dormer: 'buhardilla' }

export function kindWords(kind: string, language: Language): string {
  return language === 'es' ? (KINDS_ES[kind] ?? kind) : kind
}
export function faceWords(face: string, language: Language): string {
  const words = face.replace('/', ', ')
  if (language === 'en') return words
  return Object.entries(FACE_ES).toSorted((a, b) => b[0].length - a[0].length).reduce((text, [from, to]) => text.replaceAll(new RegExp(`\\b${from}\\b`, 'g'), to), words)
}

const DO: Record<Language, Record<string, string>> = {
  en: { tape: 'Tape the {kind}. Roll every inch.', stretch: 'Stretch tape into the {kind}. Press it in, then roll.', liquid: 'Coat the {kind} with liquid flashing. No pinholes.', sealant: 'Seal the {kind} with one bead. Tool it.', gasket: 'Lay the gasket under the {kind}. No gaps at the ends.', boot: 'Pull the boot over the {kind}. Seal its edge.', coat: 'Coat the face at the {kind}.', cut_tails: 'Cut the {kind} flush. The false one goes outside the layer.', flue_collar: 'Fit the metal collar at the {kind}. Keep the clearance.', listed: 'Use the listed system at the {kind}. Follow its sheet.', '': 'Seal the {kind}.' },
  es: { tape: 'Ponga cinta en: {kind}. Pase el rodillo por todo.', stretch: 'Ponga cinta elástica en: {kind}. Apriete y pase el rodillo.', liquid: 'Cubra con sellador líquido: {kind}. Sin poros.', sealant: 'Selle con un cordón: {kind}. Alíselo.', gasket: 'Ponga el empaque en: {kind}. Sin huecos en las puntas.', boot: 'Ponga la bota en: {kind}. Selle el borde.', coat: 'Cubra la cara en: {kind}.', cut_tails: 'Corte al ras: {kind}. La falsa va afuera de la capa.', flue_collar: 'Ponga el collar metálico en: {kind}. Guarde la distancia.', listed: 'Use el sistema aprobado en: {kind}. Siga su hoja.', '': 'Selle: {kind}.' },
} // prettier-ignore
const FIRST: Record<Language, Record<string, string>> = {
  en: { cleaning: 'wipe it clean', primer: 'prime it', filler: 'fill the gap', blocking: 'block behind it' },
  es: { cleaning: 'límpielo', primer: 'ponga imprimador', filler: 'llene el hueco', blocking: 'ponga madera atrás' },
}
/** One sentence for one piece. */
export function sentence(method: string, kind: string, language: Language): string {
  const table = DO[language]
  return (table[method] ?? table['']!).replace('{kind}', kindWords(kind, language))
}
export function firstWords(steps: readonly string[], language: Language): string {
  return steps.map((step) => FIRST[language][step] ?? step).join(', ')
}
