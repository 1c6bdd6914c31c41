/** Spanish as it is usual on building sites, plain and in the polite form. It was not read by a native speaker yet. */
import type { Tongue } from './words'

export const ES: Tongue = {
  language: 'es',
  W: {
  kept: (k, s) => `${k} aquí, ${s} enviados`,
  done: 'Hecho', trouble: 'Problema', toHere: 'Hecho hasta aquí', back: 'Volver', next: 'Sigue', before: 'Antes', keep: 'Guardar', undo: 'Deshacer', faces: 'Piezas por cara',
  read: 'Medir película', tubes: 'Envases usados', sheet: 'Hoja del producto', card: 'Medir tarjeta', photo: 'Foto', sun: 'Sol', shade: 'Sombra',
  tapTooth: 'Toque el último diente mojado.', none: 'ninguno', lower: 'Menos', higher: 'Más', lastWet: 'último mojado', nextDry: 'siguiente seco',
  enough: 'Suficiente.', thin: 'Muy delgada: agregue ahora.', close: 'Casi: esta medida cuenta. Ponga la siguiente un poco más gruesa.',
  pick: '¿Qué pasa?', troubles: ['Un agujero', 'Muy mojado', 'Hueco muy ancho', 'No pega', 'Película delgada', 'Otra cosa'],
  howMany: '¿Cuántos envases?', gauge: '¿Qué peine tiene en la mano? Mire sus números.', leastSheet: 'Película mojada mínima de la hoja', sheetWhy: 'Está en la hoja del producto que tiene en la mano.',
  cardWhy: 'Ponga una tarjeta de banco sobre el dibujo. Haga el dibujo igual de ancho.', fits: 'Es igual', larger: 'Más grande', smaller: 'Más chico',
  refusedTitle: 'La oficina no los tomó', refusedWhy: 'Se quedan aquí. Muéstrelos al jefe.', file: 'Guardar todo en archivo', stay: 'El teléfono puede borrar esta página si le falta espacio. Envíe pronto.', noSignal: 'Sin señal', first: 'Primero', nothing: 'Nada que sellar en esta cara.', noPlan: 'Todavía no hay plan en este teléfono. Venga una vez con señal.', ofSize: 'de', done1: 'hecho', look: 'Mire arriba antes de subir. Amárrese en el techo.', desk: 'Oficina', more: 'Más', other: 'Otros', update: 'Página nueva', trueSize: 'tamaño real', needCard: 'Aún no es tamaño real: mida la tarjeta.', notYet: 'todavía no', notAsked: 'Todavía no se sabe si aquí se puede empezar. Venga una vez con señal.', askLead: 'Pregunte al jefe.',
  sign: 'Firmar el clavado', signSteps: ['Mire cada panel: separación, bordes, hondura.', 'Mandan los planos y el código local.', '¿Falta la inspección? Primero el inspector.'], right: 'El clavado está bien',
  hole: '¿Qué agujero hizo?', holes: ['Tubo', 'Cable', 'Caja o ducto', 'Tornillo o anclaje', 'Corte por error', 'Otra cosa'], scan: '¿Hizo un agujero? Escanee la etiqueta de esa pared.', marked: 'Marcado.', leaveOpen: 'Déjelo abierto. Se sella y se revisa antes de taparlo.', another: 'Otro agujero',
  wide: 'de ancho', reach: 'alrededor', aim: 'película mojada, meta', least: 'mínimo', greatest: 'máximo', bead: 'cordón', lap: 'traslape', gap: 'hueco', tooWide: 'más ancho que la pantalla', sendFirst: 'Envíe primero', notSecure: 'Esta dirección no es segura: la página no se puede guardar para días sin señal.', notKept: 'El navegador no quiso guardar la página: sin señal no se puede abrir otra vez.',
  ready: {
    title: '¿Listo sin señal?', here: 'Esta es la página de la oficina. El teléfono se prepara en la dirección de la invitación.', is: 'Listo.', card: 'A la tarjeta',
    never: 'Este navegador no guarda la página. Aún no confía en el certificado: siga otra vez todos los pasos de la página de preparación. Saltarse un aviso no basta.',
    todo: ['Espere: la página se está guardando en este teléfono.', 'Ponga el modo avión, con el Wi-Fi apagado. Después cargue esta página otra vez.', 'Encienda la señal otra vez: la oficina debe saberlo.'],
    done: ['La página está guardada en este teléfono.', 'Apareció sin señal.', 'La oficina lo sabe.'],
  },
  },
  kinds: {
  'horizontal seam': 'junta horizontal de paneles', 'vertical seam': 'junta vertical de paneles', 'floor line': 'línea de piso', 'outside corner': 'esquina de afuera',
  'inside corner': 'esquina de adentro', 'sill to foundation': 'solera con cimiento', 'slab edge': 'borde de losa', 'foundation corner': 'esquina del cimiento', 'foundation wall to floor': 'muro de cimiento con piso',
  eave: 'alero', rake: 'borde inclinado del techo', ridge: 'cumbrera', hip: 'limatesa', valley: 'limahoya', 'roof to wall, head': 'techo con pared, arriba', 'roof to wall, side': 'techo con pared, lado',
  'parapet base': 'pie del pretil', 'parapet edge': 'borde del pretil', soffit: 'sofito', cantilever: 'voladizo', 'opening head': 'arriba de la abertura', 'opening jamb': 'lado de la abertura', 'opening sill': 'antepecho de la abertura',
  'rough-opening corner': 'esquina de la abertura', 'three-way corner': 'esquina de tres lados', curb: 'brocal', pipe: 'tubo', 'box or duct': 'caja o ducto', 'cable group': 'grupo de cables', beam: 'viga', flue: 'chimenea metálica',
  'rafter tail': 'cola de cabrio', 'overdriven fastener': 'clavo hundido', 'overdriven fastener under tape or liquid': 'clavo hundido bajo cinta o líquido', 'change of material': 'cambio de material', 'wall to ceiling': 'pared con techo',
  'partition top plate': 'solera de tabique', 'attic hatch': 'escotilla del ático', chase: 'ducto de obra', 'light or fan': 'luz o ventilador', 'wall to cold garage': 'pared al garaje frío', 'party wall edge': 'borde de pared común',
  'shaft edge': 'borde del pozo', 'seal behind a later attachment': 'sello detrás de lo que se fija después',
  },
  faces: { south: 'sur', north: 'norte', east: 'este', west: 'oeste', roof: 'techo', slab: 'losa', 'crawl floor': 'piso del espacio de acceso', 'basement floor': 'piso del sótano', 'floor over air': 'piso al aire', 'at garage': 'junto al garaje', 'slab edge': 'borde de losa', 'garage wall': 'pared del garaje', 'foundation wall': 'muro de cimiento', 'party wall': 'pared común', 'shaft wall': 'pared del pozo', ceiling: 'cielo raso', floor: 'piso', parapet: 'pretil', gable: 'hastial', main: 'principal', wing: 'ala', dormer: 'buhardilla' },
  ways: { tape: 'Ponga cinta en: {kind}. Pase el rodillo por todo.', stretch: 'Ponga cinta elástica en: {kind}. Apriete y pase el rodillo.', liquid: 'Cubra con sellador líquido: {kind}. Sin poros.', sealant: 'Selle con un cordón: {kind}. Alíselo.', gasket: 'Ponga el empaque en: {kind}. Sin huecos en las puntas.', boot: 'Ponga la bota en: {kind}. Selle el borde.', coat: 'Cubra la cara en: {kind}.', cut_tails: 'Corte al ras: {kind}. La falsa va afuera de la capa.', flue_collar: 'Ponga el collar metálico en: {kind}. Guarde la distancia.', listed: 'Use el sistema aprobado en: {kind}. Siga su hoja.', weatherstrip: 'Ponga burlete y cerrojo en: {kind}. Debe apretar en todo el borde.', cover: 'Fije la tapa rígida sobre: {kind}. Selle los bordes.', '': 'Selle: {kind}.' },
  steps: { cleaning: 'límpielo', primer: 'ponga imprimador', filler: 'llene el hueco', blocking: 'ponga madera atrás' },
  stops: { 'nailing not signed off': 'El clavado de esta cara no está firmado.', 'straps and hold-downs failed their inspection': 'Los flejes o anclajes de esta cara fallaron.' },
  stages: { foundation: 'cimiento', sheathing: 'paneles', openings: 'aberturas', services: 'instalaciones', roof: 'techo', later: 'después' },
} // prettier-ignore
