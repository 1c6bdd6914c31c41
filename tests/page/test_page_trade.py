"""A trade scans the tag of a wall and marks a hole; a guest looks at the card and marks nothing."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from page_kit import PHONE

pytestmark = pytest.mark.page


@pytest.fixture
def invited(open_page: Callable[..., Any], view: Callable[..., None]) -> Callable[..., Any]:
    """Give the phone of somebody who was invited and let in at the desk, and the desk."""

    def let_in(role: str, name: str) -> tuple[Any, Any]:
        lead = open_page("/plain-house/house")
        view(lead, "People")
        lead.get_by_label("Name").fill(name)
        lead.get_by_label("Role").select_option(role)
        with lead.expect_response("**/api/invitations") as answered:
            lead.get_by_role("button", name="Invite").click()
        phone = open_page(key=answered.value.json()["address"].split("#")[1], **PHONE)
        row = lead.locator("tr", has_text=f"{name}, {role}")
        row.get_by_role("button", name="Let in").click()
        row.get_by_role("button", name="Shut out").wait_for()
        phone.get_by_role("button", name="I was let in").click()
        return phone, lead

    return let_in


def test_trade_marks_a_hole_by_the_tag_of_a_wall_and_sees_nothing_else(
    invited: Callable[..., Any], view: Callable[..., None], axe: str
) -> None:
    phone, lead = invited("trade", "Ida the plumber")
    phone.get_by_role("heading", name="Made a hole? Scan the tag on that wall.").wait_for()
    assert phone.locator("nav, canvas, select").count() == 0

    lead.get_by_role("button", name="Show the tags").click()
    tag = lead.locator(".tags li", has_text="main, south").first
    tag.wait_for()
    tags = lead.evaluate("async () => (await (await fetch('/api/houses/plain-house/tags')).json()).tags")
    address = next(one["address"] for one in tags if one["face"] == "main/south")
    assert "key" not in address
    assert "invitation" not in address

    phone.goto(address)  # what the camera opens
    phone.get_by_role("heading", name="Which hole did you make?").wait_for()
    assert "main, south" in phone.locator("h1").inner_text()
    keep = phone.get_by_role("button", name="Keep", exact=True)
    assert keep.is_disabled()
    # Source: faces of the design: 18 mm, at 160 CSS pixels an inch on a phone. Tolerance: half a pixel of rounding.
    least = 18 * 160 / 25.4 - 0.5
    for button in phone.locator(".keys .t").all():
        box = button.bounding_box()
        assert box["height"] >= least, button.inner_text()
        assert box["width"] >= least, button.inner_text()
    phone.evaluate(axe)
    found = phone.evaluate("async () => (await axe.run()).violations.map((one) => [one.id, one.impact])")
    assert [one for one in found if one[1] in {"serious", "critical"}] == []

    phone.context.set_offline(True)  # no signal behind the wall
    phone.get_by_role("button", name="Pipe").click()
    keep.click()
    phone.get_by_role("heading", name="Marked.").wait_for()
    phone.wait_for_function("() => document.querySelector('.status').dataset.kept === '1'")
    phone.context.set_offline(False)
    phone.evaluate("() => dispatchEvent(new Event('online'))")
    phone.wait_for_function("() => document.querySelector('.status').dataset.kept === '0'")

    holes = lead.evaluate(
        "async () => (await (await fetch('/api/houses/plain-house/entries')).json()).entries"
        ".filter((one) => one.kind === 'hole' && one.author === 'Ida the plumber')"
    )
    assert [(one["face"], one["what"]["text"], one["what"]["made_by"]) for one in holes] == [
        ("main/south", "Pipe", "Ida the plumber")
    ]
    for path in ("/api/houses", "/api/houses/plain-house/geometry", "/api/houses/plain-house/entries"):
        assert phone.evaluate("async (path) => (await fetch(path)).status", path) == 403, path


def test_tag_of_a_house_that_is_closed_to_the_trade_comes_back_with_the_reason(
    invited: Callable[..., Any],
) -> None:
    phone, _ = invited("trade", "Otto the electrician")
    phone.goto(phone.url.split("#")[0] + "#tag=saltgrass-house/main/south")
    phone.get_by_role("button", name="Cable").click()
    phone.get_by_role("button", name="Keep", exact=True).click()
    phone.locator(".warn, .status span").first.wait_for()
    assert phone.locator(".status").get_attribute("data-sent") == "0"


def test_guest_sees_the_card_and_is_offered_nothing_that_writes(invited: Callable[..., Any]) -> None:
    phone, _ = invited("guest", "Greta who looks")
    phone.goto(phone.url.split("#")[0] + "#/plain-house/glove-card")
    phone.wait_for_function("() => document.querySelector('.glove .card h1')")
    assert phone.locator(".keys .t").all_inner_texts() == ["Before", "Next", "Pieces by face", "Other"]
    first = phone.locator(".card h1").first.inner_text()
    assert first
    phone.get_by_role("button", name="Next").click()
    phone.wait_for_function("() => document.querySelector('.status .n').innerText.startsWith('2 ')")
