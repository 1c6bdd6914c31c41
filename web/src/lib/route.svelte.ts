/** Where one is: #/house/view. A key in the fragment is taken out before anything else sees it. */
export const VIEWS = ['House', 'Choice', 'Order', 'Days', 'Glove card', 'Fan test', 'Leaks', 'Record'] as const
export type View = (typeof VIEWS)[number] | 'New house' | 'People' | 'Ready' | 'Hole'
const SLUGS: Record<string, View> = Object.fromEntries([...VIEWS, 'New house' as const, 'People' as const, 'Ready' as const].map((v) => [slug(v), v]))

export function slug(view: View): string {
  return view.toLowerCase().replace(' ', '-')
}

class Route {
  house = $state('')
  view = $state<View>('House')
  /** Face whose tag was scanned. */
  tag = $state('')
  go(house: string, view: View): void {
    location.hash = `#/${house || '-'}/${slug(view)}`
  }
  read(): void {
    const scanned = /^#tag=([a-z0-9-]+)\/(.+)$/.exec(location.hash)
    if (scanned) {
      this.house = scanned[1]!
      this.tag = decodeURIComponent(scanned[2]!)
      this.view = 'Hole'
      return
    }
    const [, house = '', view = ''] = location.hash.slice(1).split('/')
    if (house === 'glove') {
      // The installed card starts here, whatever house was open last.
      this.view = 'Glove card'
      return
    }
    this.house = house === '-' ? '' : house
    this.view = SLUGS[view] ?? 'House'
  }
}
export const route = new Route()
export const link = (house: string, view: View): string => `#/${house || '-'}/${slug(view)}`

/** A key, invitation or shared link that came in the address; it is removed from the address at once. */
export function takeKey(): { key: string; looks: boolean } | null {
  const found = /^#(key|invitation|link)=([A-Za-z0-9_-]+)$/.exec(location.hash)
  if (!found) return null
  history.replaceState(null, '', '/')
  return { key: found[2]!, looks: found[1] === 'link' }
}
