"""The card in the glove: one thumb, no signal, nothing lost."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

pytestmark = pytest.mark.page
PHONE = {
    "viewport": {"width": 360, "height": 740},
    "has_touch": True,
    "is_mobile": True,
    "device_scale_factor": 2,
}
MM = 160 / 25.4
"""CSS pixels of a millimetre on a phone: 160 to the inch, as phones lay them out."""
SIZES = """() => [...document.querySelectorAll('.glove .t')].map(e => { const r = e.getBoundingClientRect()
  return [e.innerText.trim().slice(0, 20), r.width, r.height, r.left, innerWidth - r.right, r.top, r.bottom] })"""


def _card(open_page: Callable[..., Any], planned: Callable[..., None], **options: Any) -> Any:
    page = open_page("/plain-house/house", **(PHONE | options))
    planned(page)
    page.goto(page.url.split("#")[0] + "#/plain-house/glove-card")
    page.locator(".keys .t.main").wait_for()
    return page


def _measure(page: Any, *, edge: float = 4.0) -> None:
    targets = page.evaluate(SIZES)
    assert targets
    for name, width, height, left, right, top, bottom in targets:
        assert min(width, height) >= 18 * MM - 0.6, f"{name}: {width / MM:.1f} x {height / MM:.1f} mm"
        assert min(left, right) >= edge * MM - 0.6, f"{name} reaches into the dead edge"
        assert top >= 0
        assert bottom <= page.evaluate("() => document.documentElement.scrollHeight") + 0.6
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


def _tap(page: Any, name: str) -> None:
    page.get_by_role("button", name=name, exact=True).tap()


def _to_liquid(page: Any) -> None:
    for _ in range(200):
        if page.locator("h1").inner_text().startswith("Coat the"):
            return
        _tap(page, "Next")
    pytest.fail("no liquid piece")


def _prepare(page: Any) -> None:
    """Set sheet and comb up once, as a crew does with the product in hand."""
    _to_liquid(page)
    _tap(page, "More")
    _tap(page, "Film reading")
    _measure(page)
    _tap(page, "Keep")  # width
    _tap(page, "Keep")  # least wet film
    _measure(page)
    page.locator(".keys .t").first.tap()  # the comb by 2 mil
    page.locator("[data-tooth]").first.wait_for()
    assert page.locator("[data-tooth]").count() == 7
    _measure(page, edge=1.2)


def test_one_thumb(open_page: Callable[..., Any], planned: Callable[..., None]) -> None:
    """At 360 px every target is 18 mm or more, none at the edge; done, trouble, a reading, packs, Spanish: by taps alone."""
    page = _card(open_page, planned)
    _measure(page)
    assert page.evaluate("() => document.documentElement.scrollHeight <= innerHeight"), "one piece a screen"
    sentence = page.locator("h1").inner_text()
    _tap(page, "Done")
    page.wait_for_function("() => Number(document.querySelector('.status').dataset.kept) >= 1")
    _measure(page)
    _tap(page, "Undo")
    page.wait_for_function("() => document.querySelector('.status').dataset.kept === '0'")
    assert page.locator("h1").inner_text() == sentence
    _tap(page, "Trouble")
    _measure(page)
    assert page.get_by_role("button", name="Keep").is_disabled(), "nothing is kept before one is chosen"
    _tap(page, "Too wet")
    _tap(page, "Keep")
    _tap(page, "Undo")
    _prepare(page)
    assert page.get_by_role("button", name="Keep").is_disabled(), "a raindrop can't record"
    page.locator("[data-tooth]").nth(3).tap()
    assert "thick enough" in page.locator(".verdict").inner_text()
    keep, tooth = (
        page.get_by_role("button", name="Keep").bounding_box(),
        page.locator("[data-tooth]").nth(3).bounding_box(),
    )
    assert keep["y"] - tooth["y"] - tooth["height"] > 18 * MM, "Keep is in another place"
    _tap(page, "Keep")
    page.wait_for_function("() => document.querySelector('.status').dataset.kept === '1'")
    _tap(page, "More")
    _measure(page)
    _tap(page, "Packs used")
    _tap(page, "Larger")
    _measure(page)
    _tap(page, "Keep")
    _tap(page, "More")
    _tap(page, "Español")
    page.get_by_role("button", name="Volver").tap()
    assert page.locator("html").get_attribute("lang") == "es"
    assert page.get_by_role("button", name="Hecho").count() == 1


def test_readings_without_signal_are_stored_once(
    desk: Any, open_page: Callable[..., Any], planned: Callable[..., None]
) -> None:
    """Offline, reload, 20 readings, the tab killed, back, the first answer lost: each is stored exactly once."""
    page = _card(open_page, planned)
    page.wait_for_function(
        "async () => (await navigator.serviceWorker.ready).active?.state === 'activated' && navigator.serviceWorker.controller"
    )
    _prepare(page)
    _tap(page, "Back")
    page.wait_for_timeout(500)
    context = page.context
    context.set_offline(True)
    page.reload()
    page.locator(".keys .t.main").wait_for()
    for number in range(20):
        _tap(page, "More")
        _tap(page, "Film reading")
        page.locator("[data-tooth]").nth(2 + number % 3).tap()
        _tap(page, "Keep")
        page.wait_for_function(
            "n => document.querySelector('.status').dataset.kept === String(n)", arg=number + 1
        )
    where = page.url
    page.close()
    page = context.new_page()
    page.goto(where)
    page.wait_for_function("() => document.querySelector('.status')?.dataset.kept === '20'")
    assert page.locator(".status b").inner_text().startswith("20 kept here, 0 sent")
    lost: list[str] = []

    def lose(route: Any) -> None:
        if lost:
            route.continue_()
            return
        lost.append(route.request.post_data)
        route.fetch()  # the service has it; the phone never hears
        route.abort()

    page.route("**/entries", lose)
    context.set_offline(False)
    page.evaluate("() => dispatchEvent(new Event('online'))")
    page.wait_for_function("() => document.querySelector('.status').dataset.kept === '0'", timeout=60_000)
    assert lost
    assert page.locator(".status").get_attribute("data-sent") == "20"
    found = page.evaluate(
        "async () => (await (await fetch('/api/houses/plain-house/entries?kind=comb&history=true')).json()).entries"
    )
    ids = [one["id"] for one in found]
    assert len(ids) == len(set(ids))
    assert len([one for one in found if "last_wet_um" in one["what"]]) >= 20
    queued = page.evaluate(
        "async () => JSON.stringify(await new Promise(d => { const o = indexedDB.open('hullwright'); o.onsuccess = () => { const g = o.result.transaction('queue').objectStore('queue').getAll(); g.onsuccess = () => d(g.result) } }))"
    )
    assert queued == "[]"


def test_a_refused_entry_comes_back_with_its_reason(
    open_page: Callable[..., Any], planned: Callable[..., None]
) -> None:
    """What the desk does not take stays on the phone, with the reason in sight."""
    page = _card(open_page, planned)
    page.evaluate("""async () => { const o = await new Promise(d => { const r = indexedDB.open('hullwright'); r.onsuccess = () => d(r.result) })
      const id = crypto.randomUUID(), s = await (await fetch('/api/session')).json()
      const body = JSON.stringify({id, kind: 'finished', author: s.person, device: s.device, device_time: new Date().toISOString(), device_sequence: 900, known: 0, joint: 'x', joint_kind: '', face: '', place_m: null, plan: '', what: {}, supersedes: ''})
      const sum = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(body)); const hash = [...new Uint8Array(sum)].map(b => b.toString(16).padStart(2, '0')).join('')
      await new Promise(d => { const t = o.transaction('queue', 'readwrite'); t.objectStore('queue').add({id, house: 'plain-house', body, hash, made: new Date().toISOString(), sequence: 900, refused: ''}); t.oncomplete = d }) }""")
    page.reload()
    page.locator(".keys .t.main").wait_for()
    page.wait_for_function(
        "() => document.querySelector('.status').innerText.includes('✕ 1')", timeout=30_000
    )
    _tap(page, "More")
    _tap(page, "✕ 1")
    assert "unknown kind" in page.locator("li").first.inner_text()
    _measure(page)
