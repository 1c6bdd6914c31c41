"""Phones and the desk: nothing that was kept is lost, nothing is stored twice, whatever breaks in between."""

from __future__ import annotations

import io
import re
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from glove_kit import KEPT, QUEUE, entries_of, lead_of, sign_in, sign_off, tap, to_card
from page_kit import PHONE, Desk
from PIL import Image

pytestmark = pytest.mark.page
TEETH = [50.8 * k for k in range(1, 21)]
READING: dict[str, Any] = {
    "kind": "gauge reading",
    "face": "main/south",
    "what": {
        "method": "liquid",
        "crew": "x",
        "surface": "wood panel",
        "notches_um": TEETH,
        "last_wet_um": TEETH[5],
        "next_dry_um": TEETH[6],
    },
}


def test_two_phones_on_one_joint(
    own_desk: Desk, open_page: Callable[..., Any], planned: Callable[..., None], view: Callable[..., None]
) -> None:
    """Both without signal, both say done of one piece and correct one entry: all is kept, the rivals stand side by side."""
    lead = lead_of(open_page, planned, own_desk)
    sign_off(lead)
    ana, ben = (sign_in(open_page, lead, own_desk, name) for name in ("Ana", "Ben"))
    ana.evaluate(QUEUE, [[READING], 100])
    ana.reload()
    ana.wait_for_function(KEPT, arg=0)
    (first,) = entries_of(lead, "gauge reading")
    sentences = []
    for number, phone in enumerate((ana, ben)):
        phone.context.set_offline(True)
        sentences.append(phone.locator("h1").inner_text())
        tap(phone, "Done")
        phone.wait_for_function(
            "() => Number(document.querySelector('.status').dataset.kept) >= 1 && document.querySelector('.status').innerText.length > 0"
        )
        joints = int(phone.locator(".status").get_attribute("data-kept"))
        right = READING["what"] | {"last_wet_um": TEETH[number], "next_dry_um": TEETH[number + 1]}
        correction = {"kind": "gauge reading", "what": right, "face": "main/south", "supersedes": first["id"]}
        phone.evaluate(QUEUE, [[correction], 900])
        phone.reload()
        phone.wait_for_function(KEPT, arg=joints + 1)
    assert sentences[0] == sentences[1]
    for phone in (ana, ben):
        phone.context.set_offline(False)
        phone.evaluate("() => dispatchEvent(new Event('online'))")
        phone.wait_for_function(KEPT, arg=0)
    done = entries_of(lead, "done")
    assert {one["author"] for one in done} == {"Ana", "Ben"}
    of = {name: {one["run"] for one in done if one["author"] == name} for name in ("Ana", "Ben")}
    assert of["Ana"] == of["Ben"]
    assert len(entries_of(lead, "gauge reading")) == 3
    view(lead, "Record")
    section = lead.locator(".rivals")
    section.wait_for()
    told = section.inner_text()
    assert "Ana" in told
    assert "Ben" in told
    section.get_by_role("button", name="This one stands").last.click()
    section.wait_for(state="detached")
    answer = lead.evaluate(
        "async () => (await fetch('/api/houses/plain-house/entries?kind=gauge%20reading')).json()"
    )
    assert answer["rivals"] == []
    assert [one["author"] for one in answer["entries"]] == ["Ben"]


@pytest.mark.parametrize("after", [0.0, 0.02, None])
def test_the_service_dies_in_the_middle_of_sending(
    own_desk: Desk, open_page: Callable[..., Any], planned: Callable[..., None], after: float | None
) -> None:
    """SIGKILL while 20 readings are on their way (before, during or after they are stored): each is stored exactly once."""
    phone = lead_of(open_page, planned, own_desk, **PHONE)
    to_card(phone, own_desk)
    phone.context.set_offline(True)
    phone.reload()
    phone.locator(".keys .t.main").wait_for()
    phone.evaluate(QUEUE, [[READING] * 20, 500])
    phone.reload()
    phone.wait_for_function(KEPT, arg=20)
    seen: list[str] = []
    dead = threading.Event()

    def die() -> None:
        own_desk.kill()
        dead.set()

    def on_the_way(route: Any) -> None:
        seen.append(route.request.url)
        if len(seen) > 1:
            route.continue_()
        elif after is None:
            route.fetch()
            die()
            route.abort()
        else:
            threading.Timer(after, die).start()
            route.continue_()

    phone.route("**/entries", on_the_way)
    with phone.expect_request("**/entries"):
        phone.context.set_offline(False)
        phone.evaluate("() => dispatchEvent(new Event('online'))")
    while not dead.is_set():
        phone.wait_for_timeout(20)
    own_desk.start()
    phone.evaluate("() => dispatchEvent(new Event('online'))")
    phone.wait_for_function(KEPT, arg=0)
    stored = [one for one in entries_of(phone, "gauge reading") if one["device_sequence"] >= 500]
    assert sorted(one["device_sequence"] for one in stored) == list(range(500, 520))
    assert phone.locator(".status").get_attribute("data-sent") == "20"


def test_an_answer_for_another_text_keeps_the_entry(
    own_desk: Desk, open_page: Callable[..., Any], planned: Callable[..., None]
) -> None:
    """An entry leaves the phone only on an answer that names its id and the hash of its very text."""
    phone = lead_of(open_page, planned, own_desk, **PHONE)
    to_card(phone, own_desk)
    answers: list[dict[str, Any]] = []

    def other_text(route: Any) -> None:
        answer = route.fetch()
        found = answer.json()
        for one in found["receipts"]:
            one["body_hash"] = "0" * 64
        answers.append(found)
        route.fulfill(response=answer, json=found)

    phone.route("**/entries", other_text)
    phone.evaluate(QUEUE, [[READING] * 2, 700])
    with phone.expect_response("**/entries"):
        phone.reload()
    phone.wait_for_function(KEPT, arg=2)
    assert {one["status"] for one in answers[0]["receipts"]} == {"stored"}
    assert phone.locator(".status").get_attribute("data-sent") == "0"
    phone.unroute("**/entries")
    phone.reload()
    phone.wait_for_function(KEPT, arg=0)
    assert len([one for one in entries_of(phone, "gauge reading") if one["device_sequence"] >= 700]) == 2


def test_a_queue_of_an_older_page_is_read(
    own_desk: Desk, open_page: Callable[..., Any], planned: Callable[..., None]
) -> None:
    """A data base of an older form, entries with no more than id, house and text: counted, sent, stored."""
    phone = lead_of(open_page, planned, own_desk, **PHONE)
    to_card(phone, own_desk)
    # Of this origin, and no page in it: at any other address the worker gives the page, which opens the data base itself.
    phone.goto(f"{own_desk.base}/api/session")
    phone.evaluate(
        """async what => { const s = await (await fetch('/api/session')).json(), id = crypto.randomUUID()
        await new Promise((d, n) => { const r = indexedDB.deleteDatabase('hullwright'); r.onsuccess = d; r.onerror = n; r.onblocked = n })
        const db = await new Promise((d, n) => { const o = indexedDB.open('hullwright', 1); o.onupgradeneeded = () => o.result.createObjectStore('queue', {keyPath: 'id'}); o.onsuccess = () => d(o.result); o.onerror = o.onblocked = n })
        const body = JSON.stringify({id, kind: 'gauge reading', author: s.person, device: s.device, device_time: new Date().toISOString(), device_sequence: 41, known: 0, joint: '', joint_kind: '', face: 'main/south', place_m: null, plan: '', what, supersedes: ''})
        await new Promise((d, n) => { const t = db.transaction('queue', 'readwrite'); t.objectStore('queue').add({id, house: 'plain-house', body}); t.oncomplete = d; t.onerror = t.onabort = n }); db.close() }""",
        READING["what"],
    )
    phone.goto(f"{own_desk.base}/#/plain-house/glove-card")
    phone.locator(".keys .t.main").wait_for()
    phone.wait_for_function(
        "() => document.querySelector('.status').dataset.kept === '0' && document.querySelector('.status').dataset.sent === '1'"
    )
    assert [one["device_sequence"] for one in entries_of(phone, "gauge reading")] == [41]


def test_an_update_waits_for_what_is_unsent(
    own_desk: Desk, open_page: Callable[..., Any], planned: Callable[..., None]
) -> None:
    """A new page does not come in while an entry waits; once all is sent it is offered, and comes in by a tap."""
    assert own_desk.static is not None
    phone = lead_of(open_page, planned, own_desk, **PHONE)
    to_card(phone, own_desk)
    refuse = "**/api/houses/plain-house/entries"
    phone.route(refuse, lambda route: route.abort())
    phone.evaluate(QUEUE, [[READING], 300])
    phone.reload()
    phone.wait_for_function(KEPT, arg=1)
    worker, index = own_desk.static / "sw.js", own_desk.static / "index.html"
    text = worker.read_text(encoding="utf-8")
    found = re.search(r"hullwright-([0-9a-f]{16})", text)
    assert found
    worker.write_text(text.replace(found[1], "f" * 16), encoding="utf-8")
    index.write_text(
        index.read_text(encoding="utf-8").replace("<head>", '<head><meta name="made" content="anew" />'),
        encoding="utf-8",
    )
    update = """async () => { const r = await navigator.serviceWorker.getRegistration(); await r.update().catch(() => {})
      const w = r.installing ?? r.waiting; if (w && w.state === 'installing') await new Promise(d => w.addEventListener('statechange', d, {once: true}))
      return [!!r.waiting, w?.state ?? 'none'] }"""
    waits, state = phone.evaluate(update)
    assert not waits
    assert state in {"redundant", "none"}
    assert phone.evaluate("async () => (await caches.keys()).filter(n => n.includes('ffff')).length") in {
        0,
        1,
    }
    phone.reload()
    assert phone.locator("meta[name='made']").count() == 0, (
        "the page that has the entries is still the old one"
    )
    phone.wait_for_function(KEPT, arg=1)
    phone.unroute(refuse)
    phone.evaluate("() => dispatchEvent(new Event('online'))")
    phone.wait_for_function(KEPT, arg=0)
    waits, state = phone.evaluate(update)
    assert waits, state
    tap(phone, "More")
    tap(phone, "Other")
    tap(phone, "New page")
    phone.wait_for_function("() => document.querySelector(\"meta[name='made']\")?.content === 'anew'")
    phone.locator(".keys .t.main").wait_for()
    assert len(entries_of(phone, "gauge reading")) == 1


@pytest.mark.parametrize("granted", [True, False])
def test_says_when_the_phone_may_clear_the_page(
    desk: Any, open_page: Callable[..., Any], planned: Callable[..., None], *, granted: bool
) -> None:
    """Lasting storage is asked for; a refusal stands in sight."""
    page = open_page("/plain-house/house", **PHONE)
    page.context.add_init_script(
        "window.hwAsked = 0; navigator.storage.persisted = async () => false;"
        f"navigator.storage.persist = async () => {{ hwAsked++; return {str(granted).lower()} }}"
    )
    planned(page)
    page.goto(f"{desk.base}/#/plain-house/glove-card")
    page.reload()
    page.locator(".keys .t.main").wait_for()
    page.wait_for_function("() => hwAsked > 0 && hwBusy.now === 0 && performance.now() - hwBusy.last > 250")
    assert page.get_by_text("may clear this page").count() == (0 if granted else 1)


def test_the_desk_takes_a_queue_in_as_a_file(
    own_desk: Desk,
    open_page: Callable[..., Any],
    planned: Callable[..., None],
    view: Callable[..., None],
    tmp_path: Path,
) -> None:
    """No signal for days: the phone saves its queue as a file, the desk takes it in; what the phone sends later is there already."""
    lead = lead_of(open_page, planned, own_desk)
    phone = sign_in(open_page, lead, own_desk, "Ana")
    phone.route("**/api/houses/plain-house/entries", lambda route: route.abort())
    phone.evaluate(QUEUE, [[READING] * 3, 60])
    phone.reload()
    phone.wait_for_function(KEPT, arg=3)
    tap(phone, "More")
    tap(phone, "Other")
    tap(phone, "Save all as a file")
    with phone.expect_download() as coming:
        tap(phone, "Save all as a file")
    file = tmp_path / coming.value.suggested_filename
    coming.value.save_as(file)
    view(lead, "Record")
    lead.locator("input[type='file']").set_input_files(file)
    lead.get_by_text("3 new, 0 were here already, 0 refused").wait_for()
    assert {one["author"] for one in entries_of(lead, "gauge reading")} == {"Ana"}
    lead.locator("input[type='file']").set_input_files([])
    phone.unroute("**/api/houses/plain-house/entries")
    phone.evaluate("() => dispatchEvent(new Event('online'))")
    phone.wait_for_function(KEPT, arg=0)
    assert len(entries_of(lead, "gauge reading")) == 3


def test_a_photo_goes_on_where_it_stopped(
    own_desk: Desk, open_page: Callable[..., Any], planned: Callable[..., None], tmp_path: Path
) -> None:
    """A photo from the card, signal lost after its first part: the parts that are there are not sent again, and it arrives whole."""
    lead = lead_of(open_page, planned, own_desk)
    phone = sign_in(open_page, lead, own_desk, "Ana")
    out = io.BytesIO()
    Image.effect_noise((1300, 1000), 90).save(out, "PNG")
    data = out.getvalue()
    assert len(data) > 2 * 512 * 1024
    (tmp_path / "joint.png").write_bytes(data)
    starts: list[int] = []

    def part(route: Any) -> None:
        starts.append(int(re.search(r"start=(\d+)", route.request.url)[1]))  # type: ignore[index]
        if len(starts) == 2:
            route.abort()
        else:
            route.continue_()

    phone.route("**/parts*", part)
    tap(phone, "More")
    tap(phone, "Photo")
    phone.locator("input[type='file']").set_input_files(tmp_path / "joint.png")
    phone.wait_for_function("() => document.querySelector('.status').innerText.includes('Photo 1')")
    phone.wait_for_function(KEPT, arg=0)
    for _ in range(200):
        if len(starts) >= 2:
            break
        phone.wait_for_timeout(20)
        phone.wait_for_function("() => hwBusy.now === 0 && performance.now() - hwBusy.last > 100")
    phone.reload()
    phone.locator(".keys .t.main").wait_for()
    phone.wait_for_function("() => !document.querySelector('.status').innerText.includes('Photo')")
    assert starts == [0, 524288, 524288, 1048576][: 3 + (len(data) > 1048576)]
    (entry,) = entries_of(lead, "photo")
    sha = entry["what"]["sha256"]
    assert lead.evaluate(
        "async s => (await (await fetch(`/api/houses/plain-house/photos/${s}`)).json()).complete", sha
    )
    assert (
        lead.evaluate(
            "async s => (await fetch(`/api/houses/plain-house/photos/${s}/picture`)).headers.get('content-type')",
            sha,
        )
        == "image/jpeg"
    )
