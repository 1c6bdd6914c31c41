export interface Told {
  kind?: string
  joint?: string
  run?: string
  face?: string
  what?: { passed?: unknown; from_m?: unknown; to_m?: unknown; hole?: unknown; flaw?: unknown; text?: unknown }
  device_time?: string
  device_sequence?: number
}

/** What the text of an entry says; nothing where it is torn. */
export function told(body: string): Told {
  try {
    return (JSON.parse(body) ?? {}) as Told
  } catch {
    return {}
  }
}
