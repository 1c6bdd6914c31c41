"""What the tests of the glove card share: sizes, contrast, phones that are let in, faces that are signed off."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

from page_kit import PHONE, Desk

MM = 160 / 25.4
"""CSS pixels of a millimetre on a phone: 160 to the inch, as phones lay them out."""
REACH = 110.0
"""One thumb reaches what lies with its middle within 110 mm of either lower corner of the screen [mm].

Source: estimate; the hand holds the phone at a lower corner, a gloved thumb with a little give of the grip.
"""
SIZES = """() => [...document.querySelectorAll('.glove .t')].map(e => { const r = e.getBoundingClientRect()
  return [e.innerText.trim().slice(0, 20), r.width, r.height, r.left, innerWidth - r.right, r.top, r.bottom] })"""
CONTRAST = """() => {
  const part = v => { v /= 255; return v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4 }
  const shine = c => .2126 * part(c[0]) + .7152 * part(c[1]) + .0722 * part(c[2])
  const read = t => { const c = document.createElement('canvas').getContext('2d', {willReadFrequently: true}); c.fillStyle = t; c.fillRect(0, 0, 1, 1); return [...c.getImageData(0, 0, 1, 1).data] }
  const ground = e => { for (; e; e = e.parentElement) { const c = read(getComputedStyle(e).backgroundColor); if (c[3] > 250) return c } return [255, 255, 255, 255] }
  const out = [], walk = document.createTreeWalker(document.querySelector('.glove'), NodeFilter.SHOW_TEXT)
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement, text = walk.currentNode.textContent.trim()
    if (!text || !e.getClientRects().length) continue
    const style = getComputedStyle(e), svg = e.closest('svg')
    const ink = read(svg ? style.fill : style.color), path = svg?.querySelector('path')
    const under = path ? read(getComputedStyle(path).fill) : ground(e)
    const [a, b] = [shine(ink), shine(under)].sort((x, y) => y - x)
    out.push([text.slice(0, 30), (a + .05) / (b + .05)])
  }
  return out }"""
QUEUE = """async ([list, start]) => {
  const asked = r => new Promise((d, n) => { r.onsuccess = () => d(r.result); r.onerror = r.onblocked = () => n(r.error ?? new Error('blocked')) })
  const db = await asked(indexedDB.open('hullwright'))
  let kept, tries = 0
  while (!(kept = await asked(db.transaction('answers').objectStore('answers').get('session')))) {
    if (++tries > 200) throw new Error('the page never kept who is signed in')
    await new Promise(d => setTimeout(d, 50))
  }
  const s = kept.value
  for (const [k, one] of list.entries()) {
    const id = crypto.randomUUID(), made = new Date().toISOString()
    const body = JSON.stringify({id, kind: one.kind, author: s.person, device: s.device, device_time: made, device_sequence: start + k, known: 0,
      joint: one.joint ?? '', joint_kind: '', face: one.face ?? '', place_m: null, plan: '', what: one.what, supersedes: one.supersedes ?? ''})
    const sum = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(body)), hash = [...new Uint8Array(sum)].map(b => b.toString(16).padStart(2, '0')).join('')
    await new Promise((d, n) => { const t = db.transaction('queue', 'readwrite'); t.objectStore('queue').add({id, house: 'plain-house', body, hash, made, sequence: start + k, refused: ''}); t.oncomplete = d; t.onabort = () => n(t.error) })
  }
  db.close() }"""
"""Puts entries into the queue as the card does, signal or not."""
KEPT = "n => document.querySelector('.status')?.dataset.kept === String(n)"
SIGN = """async ([passed, faces]) => { const s = await (await fetch('/api/session')).json()
  const stopped = Object.keys((await (await fetch('/api/houses/plain-house/states')).json()).not_to_start)
  const drawn = (await (await fetch('/api/houses/plain-house/geometry')).json()).faces.map(f => f.id)
  const entries = (faces.length ? faces : passed ? stopped : drawn).map((face, k) => { const id = crypto.randomUUID()
    return {id, body: JSON.stringify({id, kind: 'nailing', author: s.person, device: s.device, device_time: new Date().toISOString(), device_sequence: 5000 + k, known: 0,
      joint: '', joint_kind: '', face, place_m: null, plan: '', what: {passed}, supersedes: ''})} })
  if (!entries.length) return []
  const answer = await (await fetch('/api/houses/plain-house/entries', {method: 'POST', headers: {'Content-Type': 'application/json', 'X-Hullwright-Token': s.token}, body: JSON.stringify({entries})})).json()
  return answer.receipts.filter(one => one.status !== 'stored') }"""


def sign_off(lead: Any, *faces: str, passed: bool = True) -> None:
    """Sign the nailing of faces off, or say that it failed: entries of a lead, as any other. Without faces: of all."""
    assert lead.evaluate(SIGN, [passed, list(faces)]) == []


def measure(page: Any, *, edge: float = 4.0) -> None:
    """Every target is 18 mm or more, none at the edge, under another or out of reach."""
    page.locator(".glove .t").first.wait_for()
    targets = page.evaluate(SIZES)
    assert targets
    for name, width, height, left, right, top, bottom in targets:
        assert min(width, height) >= 18 * MM - 0.6, f"{name}: {width / MM:.1f} x {height / MM:.1f} mm"
        assert min(left, right) >= edge * MM - 0.6, f"{name} reaches into the dead edge"
        assert top >= 0
        assert bottom <= page.evaluate("() => innerHeight") + 0.6, f"{name} is swiped to"
        for corner in (0, 360):
            apart = math.hypot((left + (360 - right)) / 2 - corner, (top + bottom) / 2 - 740)
            assert apart <= REACH * MM, f"{name}: {apart / MM:.0f} mm from a lower corner"
    for a in targets:
        for b in targets:
            apart = (
                a is b
                or a[3] >= 360 - b[4] - 0.6
                or b[3] >= 360 - a[4] - 0.6
                or a[5] >= b[6] - 0.6
                or b[5] >= a[6] - 0.6
            )
            assert apart, f"{a[0]} lies over {b[0]}"


def readable(page: Any, name: Sequence[str]) -> None:
    """Every text stands out by 7:1; no serious finding of the accessibility rules, which the page holds already."""
    found = page.evaluate(CONTRAST)
    assert len(found) >= 2, name
    # Source: WCAG 2.2, success criterion 1.4.6 (7:1). Tolerance: none.
    assert not [(text, round(ratio, 2)) for text, ratio in found if ratio < 7.0], name
    told = page.evaluate("() => axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa']})")
    bad = [
        (one["id"], one["nodes"][0]["html"][:160])
        for one in told["violations"]
        if one["impact"] in {"serious", "critical"}
    ]
    assert not bad, (name, bad)


def tap(page: Any, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).tap()


def tap_wall(page: Any, x: float = 0.5, y: float = 0.5) -> None:
    """Tap the drawing of the wall at a share of its width and height; wait until what was tapped is said."""
    wall = page.locator(".wall")
    box = wall.bounding_box()
    before = page.locator(".said").inner_text()
    wall.tap(position={"x": box["width"] * x, "y": box["height"] * y})
    page.wait_for_function("t => document.querySelector('.said').innerText !== t", arg=before)


def reading(page: Any, notch: int, x: float = 0.5) -> None:
    """Take a film reading at a place of the piece in hand; the notch is the number among the seven."""
    tap(page, "Film reading")
    tap_wall(page, x)
    tap(page, "Here")
    page.locator("[data-tooth]").nth(notch).tap()
    tap(page, "Keep")


def lead_of(open_page: Callable[..., Any], planned: Callable[..., None], desk: Desk, **options: Any) -> Any:
    """Open the house as its lead, planned."""
    lead = open_page("/plain-house/house", at=desk, **options)
    planned(lead)
    return lead


def sign_in(open_page: Callable[..., Any], lead: Any, desk: Desk, name: str, **options: Any) -> Any:
    """Invite a crew phone at the desk, let it in, open the card."""
    key = lead.evaluate(
        """async name => { const s = await (await fetch('/api/session')).json()
        const made = await (await fetch('/api/invitations', {method: 'POST', headers: {'Content-Type': 'application/json', 'X-Hullwright-Token': s.token},
          body: JSON.stringify({name, role: 'crew', houses: ['plain-house']})})).json(); return made.address.split('#')[1] }""",
        name,
    )
    phone = open_page(at=desk, key=key, **(PHONE | options))
    phone.get_by_role("button", name="I was let in").wait_for()
    lead.evaluate(
        """async () => { const s = await (await fetch('/api/session')).json()
        for (const d of (await (await fetch('/api/devices')).json()).devices) if (d.state === 'waiting')
          await fetch(`/api/devices/${d.id}/confirm`, {method: 'POST', headers: {'Content-Type': 'application/json', 'X-Hullwright-Token': s.token}, body: '{}'}) }"""
    )
    phone.get_by_role("button", name="I was let in").tap()
    # Who was let in is taken to their house: going elsewhere before would be undone.
    phone.wait_for_function("() => location.hash.startsWith('#/plain-house/')")
    to_card(phone, desk)
    return phone


def to_card(phone: Any, desk: Desk) -> None:
    phone.goto(f"{desk.base}/#/plain-house/glove-card")
    phone.locator(".keys .t.main").wait_for()
    phone.wait_for_function(
        "async () => (await navigator.serviceWorker.ready).active?.state === 'activated' && navigator.serviceWorker.controller"
    )


def entries_of(page: Any, kind: str = "") -> list[dict[str, Any]]:
    return entries_of_house(page, "plain-house", kind)


def entries_of_house(page: Any, house: str, kind: str = "") -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = page.evaluate(
        "async ([h, k]) => (await (await fetch(`/api/houses/${h}/entries?history=true&kind=${k}`)).json()).entries",
        [house, kind],
    )
    return found
