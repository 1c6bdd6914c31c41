/** Photos: the entry that names one goes first, its bytes follow in parts and go on where they stopped. */
import { get, put, Refused, Unreached } from '../api/client'
import { little, setLittle, database } from '../lib/store'

const PART = 512 * 1024

export async function photoEntry(file: Blob): Promise<{ sha256: string }> {
  const bytes = await file.arrayBuffer()
  const sum = await crypto.subtle.digest('SHA-256', bytes)
  const sha256 = [...new Uint8Array(sum)].map((byte) => byte.toString(16).padStart(2, '0')).join('')
  await setLittle(`photo ${sha256}`, new Blob([bytes]))
  const names = (await little<string[]>('photos')) ?? []
  await setLittle('photos', [...new Set([...names, sha256])])
  return { sha256 }
}

let busy = false
/** Sends what waits of a house's photos; one that can't go now does not keep the others back. */
export async function sendPhotos(house: string): Promise<void> {
  if (busy) return
  busy = true
  try {
    for (const sha of (await little<string[]>('photos')) ?? []) {
      const blob = await little<Blob>(`photo ${sha}`)
      if (blob && !(await arrived(house, sha, blob))) continue
      const db = await database()
      await setLittle('photos', ((await little<string[]>('photos')) ?? []).filter((one) => one !== sha))
      await db.delete('little', `photo ${sha}`)
    }
  } catch (error) {
    if (!(error instanceof Unreached)) throw error
  } finally {
    busy = false
  }
}

interface There {
  next_byte: number
  complete: boolean
}
/** Goes on at the byte where the desk says that it stopped; true once all of it is there. */
async function arrived(house: string, sha: string, blob: Blob): Promise<boolean> {
  try {
    let there = await get<There>(`/houses/${house}/photos/${sha}`)
    while (!there.complete) {
      const start = there.next_byte
      there = await put<There>(`/houses/${house}/photos/${sha}/parts?start=${start}&total=${blob.size}`, blob.slice(start, start + PART))
      if (!there.complete && there.next_byte <= start) return false
    }
    return true
  } catch (error) {
    if (error instanceof Refused) return false // of another house, or its entry is not there yet
    throw error
  }
}
