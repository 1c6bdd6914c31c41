/** Light or dark, as the device says or as chosen here; and the colours that a canvas needs. */
import type { Ground } from '../hull/paint'

export type Shade = 'device' | 'light' | 'dark'
const media = matchMedia('(prefers-color-scheme: dark)')

class Shading {
  chosen = $state<Shade>((localStorage.getItem('shade') as Shade | null) ?? 'device')
  device = $state(media.matches)
  dark = $derived(this.chosen === 'device' ? this.device : this.chosen === 'dark')
  ground = $derived<Ground>(
    this.dark
      ? { ground: '#171b1d', sheet: '#22282b', hole: '#2f3b40', line: '#4a5459', ink: '#e8e6df', faint: '#a9b1b5', dark: true }
      : { ground: '#fbfaf6', sheet: '#f1efe7', hole: '#dfe6e6', line: '#c9c6ba', ink: '#22282b', faint: '#596064', dark: false },
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
    document.documentElement.dataset.shade = this.dark ? 'dark' : 'light'
  }
}
export const shading = new Shading()
export const still = (): boolean => matchMedia('(prefers-reduced-motion: reduce)').matches
