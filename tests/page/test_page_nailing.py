"""Nothing is covered before its nailing is signed off: the card holds at a stop, a lead opens the face, signal or not."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from glove_kit import KEPT, MM, QUEUE, entries_of, lead_of, measure, readable, sign_in, sign_off, tap, to_card
from page_kit import PHONE, Desk, built, made

pytestmark = pytest.mark.page
Open, Planned = Callable[..., Any], Callable[..., None]
REASON = "Nailing on this face is not signed off."
ONLINE = "() => dispatchEvent(new Event('online'))"
STATES = "**/api/houses/plain-house/states"


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """Give a service of this file's own: its faces are shut and opened again."""
    built()
    found = made(tmp_path_factory.mktemp("site"))
    try:
        found.start()
        yield found
    finally:
        found.stop()


@pytest.fixture
def lead(site: Desk, open_page: Open, planned: Planned) -> Any:
    """Give the phone of a lead, on a house where the nailing of no face is right."""
    page = lead_of(open_page, planned, site, **PHONE)
    sign_off(page, passed=False)
    return page


@pytest.fixture
def crew(site: Desk, open_page: Open, lead: Any) -> Any:
    return sign_in(open_page, lead, site, "Ana")


def _shut(page: Any) -> None:
    page.locator(".stop h1", has_text=REASON).wait_for()
    assert page.get_by_role("button", name="Done", exact=True).count() == 0


def _told(page: Any) -> list[str]:
    return [line for line in page.locator(".stop").inner_text().split("\n") if line]


def _open(page: Any) -> None:
    page.get_by_role("button", name="Done", exact=True).and_(page.locator(":enabled")).wait_for()
    assert page.locator(".stop").count() == 0


def _nailing(page: Any) -> list[dict[str, Any]]:
    """Sign-offs that came from a card: those of the fixtures say that it failed."""
    return [one for one in entries_of(page, "nailing") if one["what"]["passed"]]


def _sign(page: Any) -> None:
    tap(page, "Sign off nailing")
    tap(page, "Nailing is right")
    tap(page, "Keep")


def _fits(page: Any) -> bool:
    return bool(page.evaluate("() => document.documentElement.scrollHeight <= innerHeight"))


def test_crew_sees_why_and_can_do_anything_but_done(crew: Any, lead: Any) -> None:
    """The reason and what to do stand first; no *Done*, no *Done to here*, no sign-off; *Trouble* and the other pieces stay."""
    _shut(crew)
    assert _told(crew) == [REASON, "Ask the lead."]
    assert crew.get_by_role("button", name="Sign off nailing").count() == 0
    measure(crew)
    assert _fits(crew)
    task = crew.get_by_text("Next: ").inner_text()
    tap(crew, "More")
    assert crew.get_by_role("button", name="Done to here").is_disabled()
    measure(crew)
    tap(crew, "Back")
    tap(crew, "Next")
    crew.wait_for_function(
        "t => [...document.querySelectorAll('.first')].every(e => e.innerText !== t)", arg=task
    )
    _shut(crew)
    tap(crew, "Trouble")
    tap(crew, "Too wet")
    tap(crew, "Keep")
    crew.wait_for_function("() => Number(document.querySelector('.status').dataset.kept) >= 1")
    crew.wait_for_function(KEPT, arg=0)
    assert [one["author"] for one in entries_of(lead, "can't%20work")] == ["Ana"]
    tap(crew, "Next")
    tap(crew, "Pieces by face")
    assert "not yet" in crew.locator(".keys .t").first.inner_text()
    measure(crew, edge=1.2)
    sign_off(lead, "main/north")
    crew.evaluate(ONLINE)
    crew.locator(".keys .t", has_text="main, north").filter(has_not_text="not yet").first.tap()
    _open(crew)
    assert entries_of(lead, "done") == []


def test_crew_reads_it_in_spanish(crew: Any) -> None:
    _shut(crew)
    for name in ("More", "Other", "Español", "Volver"):
        tap(crew, name)
    assert _told(crew) == ["El clavado de esta cara no está firmado.", "Pregunte al jefe."]
    assert crew.get_by_role("button", name="Hecho").count() == 0
    measure(crew)


@pytest.mark.parametrize("look", ["light", "dark", "sun"])
def test_stop_and_sign_off_are_readable_in_the_sun(
    crew: Any, lead: Any, site: Desk, axe: str, look: str
) -> None:
    to_card(lead, site)
    for page in (crew, lead):
        page.evaluate("look => localStorage.setItem('shade', look)", look)
        page.reload()
        _shut(page)
        assert page.locator("html").get_attribute("data-shade") == look
        page.evaluate(axe)
        readable(page, ("piece", look))
    tap(crew, "Pieces by face")
    readable(crew, ("faces", look))
    tap(lead, "Sign off nailing")
    readable(lead, ("sign", look))
    tap(lead, "Nailing is right")
    readable(lead, ("chosen", look))
    tap(lead, "Keep")
    lead.get_by_role("button", name="Undo").wait_for()
    readable(lead, ("signed", look))
    tap(lead, "Undo")
    _shut(lead)


def test_a_low_window_holds_all_in_both_languages(lead: Any, site: Desk) -> None:
    """Nothing is swiped to at 360 x 640, with the longer Spanish words too; Keep stands apart from what chooses."""
    to_card(lead, site)
    lead.set_viewport_size({"width": 360, "height": 640})
    names = [
        ("Sign off nailing", "Nailing is right", "Back"),
        ("Firmar el clavado", "El clavado está bien", "Volver"),
    ]
    for number, (sign, right, back) in enumerate(names):
        if number:
            for name in ("More", "Other", "Español", "Volver"):
                tap(lead, name)
        lead.locator(".stop h1").wait_for()
        assert _fits(lead)
        tap(lead, sign)
        measure(lead)
        assert _fits(lead)
        above, below = (
            lead.get_by_role("button", name=name, exact=True).bounding_box() for name in (right, back)
        )
        # Source: a tap is 18 mm wide (our own rule); what lies farther apart is not hit by one drop. Tolerance: rounding to pixels.
        assert below["y"] - above["y"] - above["height"] >= 18 * MM - 0.6
        tap(lead, back)


def test_lead_signs_off_without_signal_and_the_crew_goes_on(lead: Any, crew: Any, site: Desk) -> None:
    """Offline, two taps in two places, reload, still open; online, the first answer lost: stored once, and the crew may start."""
    before = len(_nailing(lead))
    to_card(lead, site)
    _shut(lead)
    lead.context.set_offline(True)
    lead.reload()
    _shut(lead)
    measure(lead)
    tap(lead, "Sign off nailing")
    measure(lead)
    keep = lead.get_by_role("button", name="Keep", exact=True)
    assert keep.is_disabled(), "a raindrop can't sign"
    tap(lead, "Nailing is right")
    tap(lead, "● Nailing is right")
    assert keep.is_disabled(), "a second tap takes it back"
    tap(lead, "Nailing is right")
    tap(lead, "Keep")
    lead.wait_for_function(KEPT, arg=1)
    measure(lead)
    task = lead.locator("h1").inner_text()
    tap(lead, "Next")
    _open(lead)
    assert lead.locator("h1").inner_text() == task, "on to the piece that was opened"
    tap(lead, "Done")
    lead.wait_for_function("() => Number(document.querySelector('.status').dataset.kept) > 1")
    tap(lead, "Undo")
    lead.wait_for_function(KEPT, arg=1)
    lead.reload()
    _open(lead)
    lead.wait_for_function(KEPT, arg=1)
    crew.reload()
    _shut(crew)
    lost: list[str] = []

    def lose(route: Any) -> None:
        if lost:
            route.continue_()
            return
        lost.append(route.request.post_data)
        route.fetch()  # the service has it; the phone never hears
        route.abort()

    lead.route("**/entries", lose)
    lead.route(STATES, lambda _: None)  # nor is it told what became of the faces
    lead.context.set_offline(False)
    lead.evaluate(ONLINE)
    lead.wait_for_function(KEPT, arg=0)
    assert lost
    assert lead.locator(".status").get_attribute("data-sent") == "1"
    _open(lead)
    lead.unroute(STATES)
    lead.route(STATES, lambda route: route.abort())
    lead.reload()
    _open(lead)
    (one,) = _nailing(lead)[before:]
    assert (one["face"], one["joint"], one["what"]) == ("main/east", "", {"passed": True})
    crew.evaluate(ONLINE)
    _open(crew)
    crew.context.set_offline(True)
    crew.reload()
    _open(crew)
    lead.unroute(STATES)
    lead.reload()
    _open(lead)
    tap(lead, "More")
    tap(lead, "This wall")
    tap(lead, "Pieces by face")
    lead.locator(".keys .t", has_text="main, north").first.tap()
    _shut(lead)


def test_a_phone_at_a_stop_hears_of_the_sign_off_by_itself(crew: Any, lead: Any) -> None:
    crew.clock.install()
    crew.reload()
    _shut(crew)
    sign_off(lead)
    crew.clock.run_for(15_100)
    _open(crew)
    sign_off(lead, passed=False)  # looked at again, and found wrong
    crew.evaluate("() => document.dispatchEvent(new Event('visibilitychange'))")
    _shut(crew)


def test_a_late_answer_takes_no_newer_ones_place(crew: Any, lead: Any) -> None:
    """The desk is asked before the sign-off and after; the first answer comes last, and changes nothing, kept or seen."""
    held: list[Any] = []

    def hold(route: Any) -> None:
        if held:
            route.continue_()
        else:
            held.append(route)

    _shut(crew)
    before = lead.evaluate("async () => (await fetch('/api/houses/plain-house/states')).json()")
    assert "main/east" in before["not_to_start"]
    crew.route(STATES, hold)
    with crew.expect_request(STATES):
        crew.evaluate(ONLINE)
    sign_off(lead)
    crew.evaluate(ONLINE)
    _open(crew)
    held[0].fulfill(json=before)
    crew.wait_for_function("() => hwBusy.now === 0 && performance.now() - hwBusy.last > 250")
    _open(crew)
    crew.context.set_offline(True)
    crew.reload()
    _open(crew)


def test_what_was_signed_off_is_taken_back(lead: Any, site: Desk) -> None:
    """*Undo* before it was sent leaves nothing; after, the face is shut at once and the entry withdrawn."""
    before = len(_nailing(lead))
    to_card(lead, site)
    _shut(lead)
    lead.context.set_offline(True)
    _sign(lead)
    lead.wait_for_function(KEPT, arg=1)
    tap(lead, "Undo")
    _shut(lead)
    lead.wait_for_function(KEPT, arg=0)
    lead.context.set_offline(False)
    _sign(lead)
    lead.wait_for_function(KEPT, arg=1)
    lead.wait_for_function(KEPT, arg=0)
    lead.context.set_offline(True)
    tap(lead, "Undo")
    lead.wait_for_function(KEPT, arg=1)
    _shut(lead)
    lead.context.set_offline(False)
    lead.evaluate(ONLINE)
    lead.wait_for_function(KEPT, arg=0)
    lead.reload()
    _shut(lead)
    made = _nailing(lead)[before:]
    assert [one["supersedes"] for one in entries_of(lead, "withdrawn")][-1:] == [one["id"] for one in made]


def test_the_service_decides_who_signs_off(crew: Any, lead: Any) -> None:
    """A sign-off that a crew's phone carries all the same opens the piece there until the service refuses it: then it is shut."""
    _shut(crew)
    crew.context.set_offline(True)
    crew.evaluate(QUEUE, [[{"kind": "nailing", "face": "main/east", "what": {"passed": True}}], 700])
    crew.reload()
    _open(crew)
    before = len(_nailing(lead))
    crew.context.set_offline(False)
    crew.evaluate(ONLINE)
    _shut(crew)
    crew.get_by_text("Not taken by the desk").wait_for()
    crew.locator(".status", has_text="✕ 1").wait_for()
    measure(crew)
    assert _fits(crew)
    crew.reload()
    _shut(crew)
    assert len(_nailing(lead)) == before


def test_nothing_starts_where_the_desk_was_never_asked(lead: Any, site: Desk, axe: str) -> None:
    """Not known is not open: a phone that has the plan but no states says so, until it hears from the desk."""
    sign_off(lead)
    to_card(lead, site)
    _open(lead)
    lead.evaluate(
        """async () => { const db = await new Promise(d => { const o = indexedDB.open('hullwright'); o.onsuccess = () => d(o.result) })
        await new Promise(d => { const t = db.transaction('answers', 'readwrite'); t.objectStore('answers').delete('plain-house/states'); t.oncomplete = d }); db.close() }"""
    )
    lead.context.set_offline(True)
    lead.reload()
    lead.get_by_text("Not known yet if work may start here.").wait_for()
    assert lead.get_by_role("button", name="Done", exact=True).is_disabled()
    measure(lead)
    lead.evaluate(axe)
    readable(lead, ("not asked",))
    tap(lead, "More")
    assert lead.get_by_role("button", name="Done to here").is_disabled()
    tap(lead, "Back")
    lead.context.set_offline(False)
    lead.evaluate(ONLINE)
    _open(lead)
