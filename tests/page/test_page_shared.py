"""A link to one house that only looks: made at the desk, opened elsewhere, taken back."""

from __future__ import annotations

import pytest
from page_kit import PHONE

pytestmark = pytest.mark.page


def make(page, view, whom):
    """Make a link at the desk; gives its address."""
    view(page, "People")
    page.get_by_label("For whom").fill(whom)
    page.get_by_role("button", name="Make a link").click()
    page.wait_for_function("() => document.querySelector('.address')?.value.includes('#link=')")
    return page.locator(".address").input_value()


def test_link_is_made_opened_and_taken_back(open_page, view, axe):
    lead = open_page("/plain-house/house")
    address = make(lead, view, "The owner <b>&</b>")
    found = lead.evaluate(f"async () => {{ {axe}; return (await axe.run()).violations }}")
    assert [one["id"] for one in found if one["impact"] in {"serious", "critical"}] == []

    owner = open_page(key=address.split("#")[1], **PHONE)
    assert "link=" not in owner.url  # the key does not stay in the address
    owner.wait_for_function("() => document.querySelector('canvas') && hwBusy.now === 0")
    assert owner.locator(".pick option").all_inner_texts() == ["plain house"]
    owner.get_by_role("button", name="Page and people").click()
    assert "guest, until" in owner.locator("#more").inner_text()
    assert owner.get_by_role("link", name="People and devices").count() == 0
    told = owner.evaluate(
        "async () => { const token = (await (await fetch('/api/session')).json()).token;"
        " return (await fetch('/api/houses/plain-house/plan', { method: 'POST', body: '{}',"
        " headers: { 'Content-Type': 'application/json', 'X-Hullwright-Token': token } })).status }"
    )
    assert told == 403

    view(lead, "People")
    row = lead.locator("tr", has_text="The owner <b>&</b>")
    row.get_by_text("1 ×").wait_for()
    lead.get_by_role("button", name="Take back the link for The owner <b>&</b>").click()
    row.get_by_text("taken back").wait_for()
    owner.reload()
    owner.get_by_role("heading", name="Not signed in").wait_for()
    assert "taken back" in owner.locator("main").inner_text()


def test_what_a_link_shows_is_not_kept_without_signal(open_page, view):
    """An ended link would else go on showing what it showed, wherever there is no signal."""
    lead = open_page("/plain-house/house")
    address = make(lead, view, "A neighbour")
    guest = open_page(key=address.split("#")[1])
    guest.wait_for_function("() => document.querySelector('canvas') && hwBusy.now === 0")
    guest.wait_for_function("async () => !!(await navigator.serviceWorker.ready).active")
    guest.reload()
    guest.wait_for_function("() => navigator.serviceWorker.controller && document.querySelector('canvas')")
    guest.context.set_offline(True)
    guest.reload()
    guest.get_by_role("heading", name="Not signed in").wait_for()
    assert guest.locator("canvas").count() == 0


SEND = """async (ids) => {
  const who = window.who
  const entry = (id, text) => ({ id, body: JSON.stringify({ id, kind: 'hole', author: 'Ines', device: who.device, device_time: '2026-05-04T09:00:00+02:00', device_sequence: 1, face: 'main/south', what: { text, made_by: 'plumber' } }) })
  const answer = await fetch('/api/houses/plain-house/entries', { method: 'POST', headers: { 'Content-Type': 'application/json', 'X-Hullwright-Token': who.token },
    body: JSON.stringify({ entries: ids.map((id, k) => entry(id, `hole ${k} <img src=x onerror="window.ran = 1">`)) }) })
  return [answer.status, await answer.json()]
}"""


def test_lead_judges_what_a_device_sent_after_it_was_shut_out(open_page, view):
    """Nothing that was made on site is lost with a phone, and nothing gets in unseen."""
    lead = open_page("/plain-house/house")
    view(lead, "People")
    lead.get_by_label("Name").fill("Ines")
    with lead.expect_response("**/api/invitations") as answered:
        lead.get_by_role("button", name="Invite").click()
    phone = open_page(key=answered.value.json()["address"].split("#")[1])
    row = lead.locator("tr", has_text="Ines, crew")
    row.get_by_role("button", name="Let in").click()
    row.get_by_role("button", name="Shut out").wait_for()
    phone.evaluate("async () => { window.who = await (await fetch('/api/session')).json() }")
    row.get_by_role("button", name="Shut out").click()
    row.get_by_text("revoked").wait_for()
    ids = ["11111111-2222-4333-8444-00000000000" + str(k) for k in (1, 2)]
    phone.evaluate(SEND, ids)

    view(lead, "Record")
    view(lead, "People")
    aside = lead.locator(
        "section", has=lead.get_by_role("heading", name="Sent by devices that were shut out")
    )
    assert aside.locator("tbody tr").count() == 2
    assert lead.evaluate("() => window.ran") is None
    aside.locator("tr", has_text="hole 1").get_by_role("button", name="Drop").click()
    assert aside.locator("tbody tr").count() == 2  # one tap drops nothing
    aside.get_by_role("button", name="Drop for good").click()
    aside.locator("tr", has_text="hole 1").wait_for(state="detached")
    with lead.expect_response("**/quarantine") as judged:
        aside.get_by_role("button", name="Take in").click()
    assert [one["status"] for one in judged.value.json()["receipts"]] == ["stored"], judged.value.text()
    aside.wait_for(state="detached")
    kept = lead.evaluate("async () => (await fetch('/api/houses/plain-house/entries')).json()")
    assert [one["id"] for one in kept["entries"] if one["id"] in ids] == ids[:1]
    assert [one["author"] for one in kept["entries"] if one["id"] in ids] == ["Ines"]

    lead.get_by_text("Who did what").click()
    lead.locator("td", has_text="quarantine: taken in: 1").wait_for()
    assert lead.locator("td", has_text="quarantine: dropped: 1").count() == 1
