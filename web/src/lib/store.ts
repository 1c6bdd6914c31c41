/** What this browser keeps: last answers for offline reading. */
import { openDB, type DBSchema, type IDBPDatabase } from 'idb'

export interface Waiting {
  id: string
  house: string
  body: string
  hash: string
  made: string
  sequence: number
  /** '' while it waits; the reason where it was refused. */
  refused: string
}
interface Shelf extends DBSchema {
  answers: { key: string; value: { at: string; value: unknown } }
  queue: { key: string; value: Waiting }
  little: { key: string; value: unknown }
}
export const NAME = 'hullwright'
/** Raised where a shelf comes in. Whatever an older page left in `queue` stays there and is read (`queue.ts`, `whole`). */
export const VERSION = 2

let opened: Promise<IDBPDatabase<Shelf>> | undefined
/** A page that came back from a newer one takes the shelves as they are; one that is in a newer page's way lets go. */
export function database(): Promise<IDBPDatabase<Shelf>> {
  opened ??= open(VERSION).catch((error: unknown) => {
    if ((error as DOMException).name === 'VersionError') return open(undefined)
    throw error
  })
  return opened
}
function open(version: number | undefined): Promise<IDBPDatabase<Shelf>> {
  return openDB<Shelf>(NAME, version, {
    upgrade(db) {
      for (const name of ['answers', 'queue', 'little'] as const) {
        if (!db.objectStoreNames.contains(name)) db.createObjectStore(name, name === 'queue' ? { keyPath: 'id' } : undefined)
      }
    },
    blocking(_, __, event) {
      opened = undefined
      ;(event.target as IDBDatabase).close()
    },
  })
}

export async function remember(key: string, value: unknown): Promise<void> {
  await (await database()).put('answers', { at: new Date().toISOString(), value }, key)
}
export async function recall<T>(key: string): Promise<{ at: string; value: T } | undefined> {
  return (await (await database()).get('answers', key)) as { at: string; value: T } | undefined
}
export async function little<T>(key: string): Promise<T | undefined> {
  return (await (await database()).get('little', key)) as T | undefined
}
export async function setLittle(key: string, value: unknown): Promise<void> {
  await (await database()).put('little', value, key)
}
