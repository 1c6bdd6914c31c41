/** Light, dark or for the sun, as the device says or as chosen here; and the colours that a canvas needs. */
import type { Ground } from '../hull/paint'

/** `sun`: black on white, for a phone in full sun. */
export type Shade = 'device' | 'light' | 'dark' | 'sun'
const media = matchMedia('(prefers-color-scheme: dark)')

class Shading {
  chosen = $state<Shade>((localStorage.getItem('shade') as Shade | null) ?? 'device')
  device = $state(media.matches)
  dark = $derived(this.chosen === 'device' ? this.device : this.chosen === 'dark')
  ground = $derived<Ground>(
    this.chosen === 'sun'
      ? { ground: '#ffffff', sheet: '#ffffff', hole: '#e2e2e2', line: '#555555', ink: '#000000', faint: '#222222', dark: false }
      : this.dark
      ? { ground: '#171b1d', sheet: '#22282b', hole: '#2f3b40', line: '#4a5459', ink: '#e8e6df', faint: '#a9b1b5', dark: true }
      : { ground: '#fbfaf6', sheet: '#f1efe7', hole: '#dfe6e6', line: '#c9c6ba', ink: '#22282b', faint: '#4a5054', dark: false },
  )
  constructor() {
    media.addEventListener('change', () => (this.device = media.matches))
  }
  choose(shade: Shade): void {
    this.chosen = shade
    localStorage.setItem('shade', shade)
    this.apply()
  }
  apply(): void {
    document.documentElement.dataset.shade = this.chosen === 'sun' ? 'sun' : this.dark ? 'dark' : 'light'
  }
}
export const shading = new Shading()
export const still = (): boolean => matchMedia('(prefers-reduced-motion: reduce)').matches
