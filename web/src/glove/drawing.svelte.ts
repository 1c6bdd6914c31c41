/** The drawing that the crew works by: the one that was issued last, kept for days without signal. */
import { Refused, Unreached } from '../api/client'
import type { Geometry } from '../api/shapes'
import { layOut, type Sheet } from '../hull/sheet'
import { desk } from '../lib/desk.svelte'

class Drawing {
  geometry = $state.raw<Geometry | null>(null)
  sheet = $state.raw<Sheet | null>(null)
  private of = ''

  /** Reads the issued drawing anew; where it can't be had, the one that is kept, else the file as it stands. */
  async read(house: string): Promise<void> {
    if (this.of !== house) this.geometry = this.sheet = null
    this.of = house
    const found = await desk.kept<Geometry>(house, '/geometry?issued=true').catch((error: unknown) => {
      if (!(error instanceof Refused) && !(error instanceof Unreached)) throw error
      return desk.geometry
    })
    // An answer of an older page has no surfaces: nothing is made up for it.
    if (this.of !== house || !found?.joints.surface) return
    if (found.hash === this.geometry?.hash && found.revision === this.geometry.revision && found.joints.id.length === this.geometry.joints.id.length) return
    this.geometry = found
    this.sheet = layOut(found)
  }
}
export const drawing = new Drawing()
