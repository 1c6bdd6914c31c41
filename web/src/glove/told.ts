export interface Told {
  kind?: string
  joint?: string
  face?: string
  what?: { passed?: unknown }
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
