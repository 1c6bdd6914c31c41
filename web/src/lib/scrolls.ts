/** A box that scrolls can be reached and scrolled by keyboard, and has a name. */
export function scrolls(node: HTMLElement, name: string): void {
  node.tabIndex = 0
  node.setAttribute('role', 'region')
  node.setAttribute('aria-label', name)
}
