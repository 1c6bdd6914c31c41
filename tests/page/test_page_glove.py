"""The card in the glove: one thumb, no signal, nothing lost."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from glove_kit import MM, measure, readable, reading, sign_off, tap, tap_wall
from page_kit import PHONE

pytestmark = pytest.mark.page


def _card(open_page: Callable[..., Any], planned: Callable[..., None], **options: Any) -> Any:
    page = open_page("/plain-house/house", **(PHONE | options))
    planned(page)
    sign_off(page)  # else no piece may be started
    page.goto(page.url.split("#")[0] + "#/plain-house/glove-card")
    page.get_by_role("button", name="Done", exact=True).wait_for()
    return page


def _to_liquid(page: Any) -> None:
    for _ in range(200):
        if page.locator("h1").inner_text().startswith("Coat the"):
            return
        tap(page, "Next")
    pytest.fail("no liquid piece")


def _prepare(page: Any) -> None:
    """Choose the gauge once; the least film is the plan's."""
    _to_liquid(page)
    tap(page, "More")
    tap(page, "Film reading")
    measure(page)
    assert page.get_by_role("button", name="Here").is_disabled(), "a reading has a place"
    tap_wall(page)
    measure(page)
    tap(page, "Here")
    measure(page)
    page.locator(".keys .t").first.tap()  # the comb by 2 mil
    page.locator("[data-tooth]").first.wait_for()
    assert page.locator("[data-tooth]").count() == 7
    measure(page, edge=1.2)


def test_one_thumb(open_page: Callable[..., Any], planned: Callable[..., None]) -> None:
    """At 360 px every target is 18 mm or more, none at the edge; done, trouble, a reading, packs, Spanish: by taps alone."""
    page = _card(open_page, planned)
    measure(page)
    assert page.evaluate("() => document.documentElement.scrollHeight <= innerHeight"), "one piece a screen"
    sentence = page.locator("h1").inner_text()
    tap(page, "Done")
    page.wait_for_function("() => Number(document.querySelector('.status').dataset.kept) >= 1")
    measure(page)
    tap(page, "Undo")
    page.wait_for_function("() => document.querySelector('.status').dataset.kept === '0'")
    assert page.locator("h1").inner_text() == sentence
    tap(page, "Trouble")
    measure(page)
    assert page.get_by_role("button", name="Keep").is_disabled(), "nothing is kept before one is chosen"
    tap(page, "Too wet")
    tap(page, "Keep")
    tap(page, "Undo")
    _prepare(page)
    assert page.get_by_role("button", name="Keep").is_disabled(), "a raindrop can't record"
    page.locator("[data-tooth]").nth(3).tap()
    assert "Enough." in page.locator(".verdict").inner_text()
    keep, tooth = (
        page.get_by_role("button", name="Keep").bounding_box(),
        page.locator("[data-tooth]").nth(3).bounding_box(),
    )
    assert keep["y"] - tooth["y"] - tooth["height"] > 18 * MM, "Keep is in another place"
    tap(page, "Keep")
    page.wait_for_function("() => document.querySelector('.status').dataset.kept === '1'")
    tap(page, "More")
    measure(page)
    tap(page, "This wall")
    measure(page)
    tap(page, "Packs used")
    tap(page, "Larger")
    measure(page)
    tap(page, "Keep")
    tap(page, "More")
    tap(page, "Other")
    measure(page)
    tap(page, "Español")
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
    tap(page, "Back")
    tap(page, "Back")
    context = page.context
    context.set_offline(True)
    page.reload()
    page.locator(".keys .t.main").wait_for()
    for number in range(20):
        tap(page, "More")
        reading(page, 3 + number % 3)
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
        "async () => (await (await fetch('/api/houses/plain-house/entries?kind=gauge%20reading&history=true')).json()).entries"
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
      const body = JSON.stringify({id, kind: 'remark', author: s.person, device: s.device, device_time: new Date().toISOString(), device_sequence: 900, known: 0, joint: 'x', joint_kind: '', face: '', place_m: null, plan: '', what: {text: 'x'}, supersedes: crypto.randomUUID()})
      const sum = await crypto.subtle.digest('SHA-256', new TextEncoder().encode(body)); const hash = [...new Uint8Array(sum)].map(b => b.toString(16).padStart(2, '0')).join('')
      await new Promise(d => { const t = o.transaction('queue', 'readwrite'); t.objectStore('queue').add({id, house: 'plain-house', body, hash, made: new Date().toISOString(), sequence: 900, refused: ''}); t.oncomplete = d }) }""")
    page.reload()
    page.locator(".keys .t.main").wait_for()
    page.wait_for_function(
        "() => document.querySelector('.status').innerText.includes('✕ 1')", timeout=30_000
    )
    tap(page, "More")
    tap(page, "Other")
    tap(page, "✕ 1")
    assert "this correction fits no entry" in page.locator("li").first.inner_text()
    measure(page)


LOOKS = ("light", "dark", "sun")


@pytest.mark.parametrize("look", LOOKS)
def test_readable_in_the_sun(
    open_page: Callable[..., Any], planned: Callable[..., None], axe: str, look: str
) -> None:
    """Every text of every screen of the card stands out by 7:1; no serious finding of the accessibility rules."""
    page = _card(open_page, planned, color_scheme="dark" if look == "dark" else "light")
    page.evaluate(axe)

    def check(name: str) -> None:
        readable(page, (name, look))

    if look == "sun":
        tap(page, "More")
        tap(page, "Other")
        tap(page, "Sun")
        assert page.locator("html").get_attribute("data-shade") == "sun"
        tap(page, "Back")
    check("piece")
    tap(page, "Trouble")
    check("trouble")
    tap(page, "Gap too wide")
    check("trouble chosen")
    tap(page, "Back")
    _to_liquid(page)
    for first, second in (
        ("More", ""),
        ("More", "Other"),
        ("More", "Checks"),
        ("More", "Part done"),
        ("More", "Photo"),
        ("More", "This wall"),
    ):
        tap(page, first)
        if second:
            tap(page, second)
        check(second or first)
        page.locator(".t", has_text="Back").last.tap()
    for name in ("Pieces by face", "Packs used", "Holes and flaws", "As laid differs", "Fasteners added"):
        for step in ("More", "This wall", name):
            tap(page, step)
        check(name)
        page.locator(".t", has_text="Back").last.tap()
        if page.get_by_role("button", name="Photo of the wall").count():
            tap(page, "Back")
    tap(page, "More")
    tap(page, "Other")
    tap(page, "Card check")
    check("card")
    tap(page, "Back")
    tap(page, "More")
    tap(page, "Other")
    tap(page, "Product sheet")
    check("sheet")
    tap(page, "Back")
    tap(page, "More")
    tap(page, "Film reading")
    check("place")
    tap_wall(page)
    check("place tapped")
    tap(page, "Here")
    check("gauge")
    page.locator(".keys .t").first.tap()
    page.locator("[data-tooth]").nth(2).tap()
    check("comb")
    tap(page, "Keep")
    check("after")


def test_true_size_after_the_card_check(open_page: Callable[..., Any], planned: Callable[..., None]) -> None:
    """Once the picture was laid on a bank card, width, film, gap and bead are drawn 1:1 as the plan says them."""
    page = _card(open_page, planned)
    for _ in range(200):
        if "liquid flashing" in page.locator("h1").inner_text():
            break
        tap(page, "Next")
    assert page.get_by_text("do the card check").count() == 1
    assert page.locator("[data-size]").count() == 0
    tap(page, "More")
    tap(page, "Other")
    tap(page, "Card check")
    picture = page.locator(".room .card").bounding_box()
    tap(page, "Larger")
    wider = page.locator(".room .card").bounding_box()["width"]
    assert wider == pytest.approx(picture["width"] + 2, abs=0.6)
    tap(page, "It fits")
    # Source: ISO/IEC 7810:2019, ID-1: 85.60 mm x 53.98 mm; the picture is laid on its short side. Tolerance: a tenth of a pixel.
    mm = wider / 53.98
    piece = page.locator("h1").inner_text()
    found = page.evaluate(
        """async piece => { const plan = await (await fetch('/api/houses/plain-house/plan')).json()
        return plan.runs.filter(r => r.method === 'liquid').map(r => [`Coat the ${r.kind} with liquid flashing. No pinholes.` === piece, r.width_m, r.wet_um, r.bead_m, r.gap_m]).filter(r => r[0])[0] }""",
        piece,
    )
    _, width, wet, bead, gap = found
    drawn = page.evaluate(
        """() => Object.fromEntries([...document.querySelectorAll('[data-size]')].map(e => [e.dataset.size, e.dataset.px ? Number(e.dataset.px) : e.dataset.size === 'bead' ? 2 * e.getAttribute('r') : Number(e.getAttribute(e.dataset.size === 'film' ? 'height' : 'width'))]))"""
    )
    wanted = {"width": width * 1000 * mm, "film": wet / 1000 * mm}
    if bead:
        wanted["bead"] = bead * 1000 * mm
    if gap and "gap" in drawn:
        wanted["gap"] = gap * 1000 * mm
    assert drawn == pytest.approx(wanted, rel=2e-3)
    measure(page)
    page.reload()
    page.locator(".keys .t.main").wait_for()
    assert page.locator("[data-size]").count() >= 2, "the check is made once"


def test_nothing_moves_where_motion_is_unwanted(
    open_page: Callable[..., Any], planned: Callable[..., None]
) -> None:
    """With reduced motion the small hull stands still; without, it blinks slower than three times a second."""
    for motion, moves in (("reduce", False), ("no-preference", True)):
        page = open_page("/plain-house/house", **PHONE, reduced_motion=motion)
        planned(page)
        page.clock.install()
        page.goto(page.url.split("#")[0] + "#/plain-house/glove-card")
        page.wait_for_function(
            "() => { const c = document.querySelector('.place canvas'); return c?.clientWidth && c.width >= 2 * c.clientWidth - 2"
            " && hwBusy.now === 0 && document.querySelector('.status').dataset.kept !== '' }"
        )
        page.clock.run_for(1200)
        size, seen = None, []
        while len(seen) < 4:  # what comes late moves the card; then it is looked at anew
            page.clock.run_for(600)
            now, picture = page.evaluate(
                "() => { const c = document.querySelector('.place canvas'); return [[c.width, c.height], c.toDataURL()] }"
            )
            size, seen = now, [*(seen if now == size else []), picture]
        seen = set(seen)
        assert (len(seen) > 1) == moves, motion
        assert page.evaluate("() => document.getAnimations().length") == 0


def test_nothing_on_the_card_needs_more_than_atap(
    open_page: Callable[..., Any], planned: Callable[..., None]
) -> None:
    """No field to type in, no list that opens, nothing that scrolls, in a low window too; zooming by a double tap is off."""
    page = _card(open_page, planned, viewport={"width": 360, "height": 640})
    walls = {"Pieces by face", "Holes and flaws", "As laid differs", "Fasteners added"}
    for name in ("", "Trouble", "More", "Other", "This wall", "Photo", "Checks", "Part done", *sorted(walls)):
        if name not in {"", "Trouble", "More"}:
            tap(page, "More")
        if name in walls:
            tap(page, "This wall")
        if name:
            tap(page, name)
        fields = ".glove select, .glove textarea, .glove input:not([type='file']), .glove [contenteditable], .glove details"
        assert page.locator(fields).count() == 0
        assert page.evaluate("() => document.documentElement.scrollHeight <= innerHeight"), name or "piece"
        assert (
            page.evaluate("() => getComputedStyle(document.querySelector('.glove')).touchAction")
            == "manipulation"
        )
        while page.locator(".card .where").count() == 0:
            page.locator(".t", has_text="Back").last.tap()
    for name in ("More", "Other", "Card check", "It fits"):
        tap(page, name)
    count = page.evaluate(
        "async () => (await (await fetch('/api/houses/plain-house/plan')).json()).runs.length"
    )
    drawn = 0
    for _ in range(count):
        drawn += page.locator("[data-size]").count() > 0
        words = page.locator(".card").inner_text()
        assert page.evaluate("() => document.documentElement.scrollHeight <= innerHeight"), words
        if page.get_by_role("button", name="Next", exact=True).is_disabled():
            break
        tap(page, "Next")
    assert drawn >= 5
