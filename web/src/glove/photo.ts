/** Photos: the entry that names one goes first, its bytes follow in parts and go on where they stopped. */
import { get, Refused, Unreached } from '../api/client'
import { little, setLittle, database } from '../lib/store'
import { desk } from '../lib/desk.svelte'

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
export async function sendPhotos(house: string): Promise<void> {
  if (busy) return
  busy = true
  try {
    for (const sha of (await little<string[]>('photos')) ?? []) {
      const blob = await little<Blob>(`photo ${sha}`)
      if (blob && !(await arrived(house, sha, blob))) return
      const db = await database()
      await setLittle('photos', ((await little<string[]>('photos')) ?? []).filter((one) => one !== sha))
      await db.delete('little', `photo ${sha}`)
    }
  } catch (error) {
    if (!(error instanceof Unreached) && !(error instanceof Refused)) throw error
  } finally {
    busy = false
  }
}

async function arrived(house: string, sha: string, blob: Blob): Promise<boolean> {
  for (let start = 0; start < blob.size; start += PART) {
    const answer = await fetch(`/api/houses/${house}/photos/${sha}/parts?start=${start}&total=${blob.size}`, {
      method: 'PUT',
      headers: { 'Content-Type': 'application/octet-stream', 'X-Hullwright-Token': desk.session?.token ?? '' },
      body: blob.slice(start, start + PART),
    }).catch(() => null)
    if (!answer?.ok) return false
  }
  return (await get<{ complete: boolean }>(`/houses/${house}/photos/${sha}`)).complete
}
