/** What every screen of the card is given. */
import type { Ink } from '../hull/paint'
import type { Sheet } from '../hull/sheet'
import type { System } from '../lib/units'
import type { Site } from './entries'
import type { Tongue } from './words'

export interface Hand {
  T: Tongue
  site: Site
  sheet: Sheet
  ink: Ink
  system: System
  /** A joint in words. */
  name: (joint: number) => string
}
