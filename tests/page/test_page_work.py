"""Long work and its answers in the browser: decisions on the curve, days, the book; and what is typed stays text."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from typing import Any

import pytest
from page_kit import PLAIN

pytestmark = pytest.mark.page
EVIL = '<img src=x onerror="window.ran=1">'


def house(desk: Any, name: str, text: str) -> None:
    (desk.folder / "houses" / f"{name}.yaml").write_text(text, encoding="utf-8")


def test_decisions_are_priced_notches_by_keyboard(
    desk: Any, open_page: Callable[..., Any], planned: Callable[..., None], view: Callable[..., None]
) -> None:
    """Each notch is reached by keyboard and says in words what the service says in figures."""
    fixed = "[{kind: 'vertical seam', method: sealant}, {kind: outside corner, method: liquid}]"
    house(desk, "decided", PLAIN.replace("aim: {", f"aim: {{fixed: {fixed}, "))
    page = open_page("/decided/house")
    planned(page)
    view(page, "Choice")
    notches = page.locator("svg .notch")
    notches.first.wait_for()
    assert notches.count() == 2
    prices = page.evaluate("async () => (await fetch('/api/houses/decided/prices')).json()")["decisions"]
    page.locator("input[type='range']").focus()
    page.keyboard.press("Shift+Tab")
    assert page.evaluate("() => document.activeElement.classList.contains('notch')")
    said = page.locator(".told").inner_text()
    assert said.startswith("Decision 2.")
    assert "outside corner" in said
    page.keyboard.press("Shift+Tab")
    said = page.locator(".told").inner_text()
    assert said.startswith("Decision 1.")
    wanted = f"+{round(prices[0]['money']):,}".replace(",", "\u202f")
    assert prices[0]["money"] < 0.5 or wanted in said.replace(" ", "\u202f"), (said, prices)
    assert page.locator("section li.on").count() == 1


def test_days_say_what_the_service_says(
    desk: Any, open_page: Callable[..., Any], planned: Callable[..., None], view: Callable[..., None]
) -> None:
    house(desk, "unsigned", PLAIN)  # a house of its own: nobody has signed its nailing off
    page = open_page("/unsigned/house")
    planned(page)
    view(page, "Days")
    page.locator("section ol").first.wait_for()
    told = page.evaluate("async () => (await fetch('/api/houses/unsigned/days')).json()")
    assert page.locator("section h2").count() == len(told["stages"])
    assert page.locator("section summary").count() == sum(len(stage["faces"]) for stage in told["stages"])
    page.locator("section summary").first.click()
    first = told["stages"][0]["faces"][0]
    page.locator("details[open] h3", has_text=first["methods"][0]["name"]).wait_for()
    assert page.locator("details[open] tr").count() == sum(len(one["runs"]) for one in first["methods"])
    assert "nailing not signed off" in page.locator("section summary").first.inner_text()


def test_the_book_is_written_stopped_and_saved(
    desk: Any, open_page: Callable[..., Any], planned: Callable[..., None], view: Callable[..., None]
) -> None:
    page = open_page("/plain-house/house")
    planned(page)
    view(page, "Record")
    page.get_by_role("button", name="Write the book").click()
    page.get_by_role("status").get_by_text("The book:").wait_for()
    page.get_by_role("status").get_by_role("button", name="Stop").click()
    page.get_by_role("status").wait_for(state="detached")
    assert page.get_by_role("link", name="Save the book").count() == 0
    page.get_by_role("button", name="Write the book").click()
    with page.expect_download() as found:
        page.get_by_role("link", name="Save the book").click()
    with zipfile.ZipFile(io.BytesIO(found.value.path().read_bytes())) as pack:
        assert pack.testzip() is None
        assert "record/record.html" in pack.namelist()


def test_script_in_any_text_never_runs(
    desk: Any, open_page: Callable[..., Any], planned: Callable[..., None], view: Callable[..., None]
) -> None:
    """As the name of a house, of a pipe, of a mass, in a hole and in a remark: in every view it stays text."""
    text = PLAIN.replace("name: Plain house", f"name: {json.dumps(EVIL)}")
    house(desk, "evil", text)
    page = open_page("/evil/house")
    planned(page)
    page.evaluate(
        """async (evil) => {
            const who = await (await fetch('/api/session')).json()
            const entry = (kind, what) => { const id = crypto.randomUUID(); return { id, body: JSON.stringify({ id, kind, author: who.person, device: who.device, device_time: new Date().toISOString(), device_sequence: 1, face: 'main/south', what }) } }
            const answer = await fetch('/api/houses/evil/entries', { method: 'POST', headers: { 'Content-Type': 'application/json', 'X-Hullwright-Token': who.token },
              body: JSON.stringify({ entries: [entry('hole', { text: evil, made_by: evil }), entry('remark', { text: evil })] }) })
            const got = await answer.json()
            if (got.receipts.some((one) => one.status !== 'stored')) throw new Error(JSON.stringify(got))
        }""",
        EVIL,
    )
    for name in (
        "House",
        "Choice",
        "Order",
        "Days",
        "Fan test",
        "Leaks",
        "Record",
        "Glove card",
        "New house",
    ):
        view(page, name)
        assert page.evaluate("() => window.ran") is None, name
        assert page.locator("img[src='x']").count() == 0, name
    view(page, "Record")
    assert page.get_by_text(EVIL).count() >= 1


def test_new_house_with_a_roof_pipe_and_a_cold_garage(
    desk: Any, open_page: Callable[..., Any], planned: Callable[..., None]
) -> None:
    """What stands in the fields stands in the file, and the house closes round the garage."""
    page = open_page("/plain-house/new-house")
    lacks = page.locator("p", has_text="Still needed: ")
    assert "a name; a closed outline" in lacks.inner_text()  # a button that can't be pressed says why
    page.get_by_label("Name").fill("Garage lot")
    assert "a name" not in lacks.inner_text()
    page.locator("label", has_text="Unit").locator("select").select_option("ft")
    for number, size in enumerate(["36", "26", "36"], 1):
        page.get_by_label(f"Wall {number}", exact=True).fill(size)
        if number < 3:
            page.get_by_role("button", name="Next wall").click()
    corners = page.locator(".plan circle")
    assert corners.count() == 4  # the last wall is drawn too while the walk is open, up to its end
    page.get_by_role("button", name="Back to the start").click()
    page.get_by_label("Storey 1, floor to floor").fill("9'")
    page.get_by_role("button", name="Add a body").click()
    page.locator("label", has_text="What").locator("select").first.select_option(label="cold garage")
    for label, text in (
        ("East-west × north-south", "22 x 22"), ("Corner east", "36"), ("Corner north", "2"), ("Floor to floor", "9"),
    ):  # fmt: skip
        page.get_by_label(label, exact=True).fill(text)
    page.get_by_role("button", name="Add", exact=True).last.click()
    page.locator(".thing").last.locator("select").first.select_option(label="roof, falling to wall 3")
    page.get_by_label("From the left end of the eave").fill("12")
    page.get_by_label("Size, in").fill("4.5")
    page.get_by_label("Up the slope").fill("6")
    assert lacks.count() == 0
    page.get_by_role("button", name="Write the building file").click()
    page.wait_for_url("**/#/garage-lot/house")
    planned(page)
    text = (desk.folder / "houses/garage-lot.yaml").read_text()
    assert "through: roof side 3, kind: pipe, diameter: 4.5, at: [[12, 6]]" in text
    assert "inside: no" in text
    assert text.startswith("# Walked round with a tape.")
    told = page.evaluate("async () => (await fetch('/api/houses/garage-lot/check')).json()")
    assert told["closed"] is True
    assert any("garage wall" in face["id"] for face in told["faces"])
