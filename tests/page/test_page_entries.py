"""What was logged about a joint, in the strip of the house; the state of each joint in the pixels of both hulls."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from page_kit import PLAIN, log

pytestmark = pytest.mark.page
EVIL = '<img src=x onerror="window.ran=1">'
TAPED = {"method": "tape", "crew": "A", "surface": "wood panel"}
CORNER = """async (house) => { const g = await (await fetch(`/api/houses/${house}/geometry`)).json()
  const k = g.joints.kind.findIndex((n, j) => g.kinds[n].name === 'outside corner' && hullwrightSheet.sheet.drawn[j])
  return { k, joint: g.joints.id[k], face: g.faces[g.joints.owner[k]].id, run: g.runs[g.joints.run[k]].id } }"""


def _house(desk: Any, name: str) -> None:
    (desk.folder / "houses" / f"{name}.yaml").write_text(PLAIN, encoding="utf-8")


def _pick(page: Any, at: tuple[float, float], kind: str) -> None:
    page.mouse.click(*at)
    if page.locator(".lens button").count():
        page.locator(".lens button").filter(has_text=kind).first.click()
    page.wait_for_function("k => document.querySelector('.what h2')?.innerText.startsWith(k)", arg=kind)


def _told(page: Any) -> list[str]:
    """Lines of the entries that are shown."""
    lines = page.locator(".sofar li:visible")
    return [" ".join(line.split()) for line in lines.all_inner_texts()]


def test_a_picked_joint_tells_what_was_logged_about_it(
    desk: Any,
    open_page: Callable[..., Any],
    planned: Callable[..., None],
    point_of: Callable[..., Any],
    axe: str,
) -> None:
    """Latest first, in trade words and the reader's own way of time; a script stays text; what was withdrawn says by whom and why."""
    _house(desk, "logged")
    page = open_page("/logged/house", locale="de-DE", timezone_id="Europe/Berlin")
    planned(page)
    here = page.evaluate(CORNER, "logged")
    joint = {"joint": here["joint"]}
    *_, wrong = log(
        page,
        "logged",
        {"kind": "prepared", "what": {"steps": ["cleaning"]}, "face": here["face"]},
        {"kind": "done", "what": TAPED, **joint, "device_time": "2026-05-03T10:12:00+02:00"},
        {"kind": "tug", "what": {"method": "tape", "crew": "A", "held": False}, **joint},
    )
    log(
        page,
        "logged",
        {"kind": "withdrawn", "supersedes": wrong, "what": {"reason": EVIL}, **joint},
        {"kind": "gauge reading", "what": {**TAPED, "method": "liquid", "notches_um": [203.2, 254, 304.8], "last_wet_um": 203.2, "next_dry_um": 254}, **joint},
        {"kind": "hole", "what": {"text": EVIL, "made_by": "plumber", "size_m": 0.0508}, **joint},
        {"kind": "remark", "what": {"text": "of another place"}, "face": "main/roof north"},
    )  # fmt: skip
    page.reload()
    planned(page)
    _pick(page, point_of(page, here["k"]), "outside corner")
    page.locator(".sofar li").first.wait_for()
    lines = _told(page)
    assert len(lines) == 2, "the strip stays small: the others come when they are asked for"
    # Source: inch 25.4 mm, mil 25.4 um by definition. Tolerance: 1/16 in, whole mil.
    assert lines[0].endswith(f'desk hole: {EVIL}, 2", by plumber')
    assert lines[1].endswith("desk film reading: 8 to 10 mil wet, liquid flashing, on wood panel, crew A")
    region = page.get_by_role("region", name="Entries so far, the latest first", exact=True)
    assert region.get_by_role("list").count() == 1
    more = region.get_by_role("button")
    for _ in range(40):  # from the sheet by keyboard alone
        if more.evaluate("e => e === document.activeElement"):
            break
        page.keyboard.press("Tab")
    else:
        pytest.fail("the earlier entries can't be reached by Tab")
    assert (more.inner_text(), more.get_attribute("aria-expanded")) == ("3 earlier", "false")
    page.keyboard.press("Enter")
    region.locator("li").nth(4).wait_for()
    assert more.get_attribute("aria-expanded") == "true"
    tug, done, prepared = _told(page)[2:]
    assert tug.endswith(f"tug test: let go, tape, crew A ✕ withdrawn by desk: {EVIL}")
    # Source: CLDR, short date and time of German: day.month.year, 24 hours. Tolerance: none.
    assert done == "03.05.26, 10:12 desk done: tape, on wood panel, crew A"
    assert prepared.endswith("desk prepared: cleaning (whole face)")
    assert page.evaluate("() => window.ran") is None
    assert page.locator("img[src='x']").count() == 0
    assert page.locator(".sofar .gone").count() == 1
    page.evaluate(axe)
    found = page.evaluate(
        "() => axe.run(document.querySelector('.strip'), {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa']})"
    )
    assert [one["id"] for one in found["violations"]] == []


def test_a_joint_without_entries_says_so_and_never_shows_those_of_another(
    desk: Any, open_page: Callable[..., Any], planned: Callable[..., None], point_of: Callable[..., Any]
) -> None:
    """While the answer about a joint is on its way nothing stands under it, least of all what was told of the one before."""
    _house(desk, "quiet")
    page = open_page("/quiet/house")
    planned(page)
    here = page.evaluate(CORNER, "quiet")
    log(page, "quiet", {"kind": "done", "what": TAPED, "joint": here["joint"]})
    held: list[Any] = []

    def hold(route: Any) -> None:
        held.append(route)

    pipe, name = page.evaluate(
        "async () => { const g = await (await fetch('/api/houses/quiet/geometry')).json(); const k = g.joints.kind.findIndex((n) => g.kinds[n].name === 'pipe'); return [k, g.joints.id[k]] }"
    )
    _pick(page, point_of(page, here["k"]), "outside corner")
    page.locator(".sofar li").wait_for()
    page.route(f"**/joints/{name}/entries", hold)
    with page.expect_request(f"**/joints/{name}/entries"):
        _pick(page, point_of(page, pipe), "pipe")
    assert _told(page) == []
    assert page.get_by_text("No entry yet.").count() == 0, "nobody knows that yet"
    held[0].continue_()
    page.get_by_text("No entry yet.").wait_for()
    assert _told(page) == []
