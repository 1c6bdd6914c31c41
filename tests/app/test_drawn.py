"""Revisions of houses put together at random: what was edited is what is said, and nothing else."""

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from hullwright import building
from hullwright.app.drawn import drawn
from hullwright.app.house import load
from hullwright.proof.carry import links
from hullwright.proof.revision import Change, compare

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))
SOUTH, WEST = 14.0, 9.0


def text(windows, pipes=(), *, body="main", size=(SOUTH, WEST)):
    """A house of one body; windows as (side, offset, sill, width, height) [m], pipes as (offset, height)."""
    rows = [
        f"  - {{mass: {body}, side: {side}, kind: window, size: [{w}, {h}], sill: {sill}, at: {x}}}"
        for side, x, sill, w, h in windows
    ]
    holes = [
        f"  - {{mass: {body}, through: north, kind: pipe, diameter: 100 mm, at: [[{x}, {z}]]}}"
        for x, z in pipes
    ]
    return "\n".join(
        [
            "units: m",
            "name: Any house",
            "barrier: {top: roof deck, bottom: slab}",
            "masses:",
            f"  - {{name: {body}, size: [{size[0]}, {size[1]}], storeys: [2.8], roof: {{form: gable, pitch: 30 deg, ridge: east-west}}}}",
            *(["openings:", *rows] if rows else []),
            *(["penetrations:", *holes] if holes else []),
            "",
        ]
    )


def draw(written):
    return drawn(load(building.parse(written)), written)


# Windows stand in slots of 2.2 m, so that none of them ever touches another, wherever within its slot it moves.
@st.composite
def windows(draw_, side="south", most=5):
    slots = draw_(st.lists(st.integers(0, most - 1), unique=True, min_size=1, max_size=most))
    return [
        (
            side,
            round(0.4 + 2.6 * slot + draw_(st.sampled_from([0.0, 0.1, 0.25])), 3),
            draw_(st.sampled_from([0.6, 0.9])),
            draw_(st.sampled_from([0.8, 1.2])),
            draw_(st.sampled_from([0.9, 1.3])),
        )
        for slot in sorted(slots)
    ]


pipes = st.lists(st.sampled_from([(1.0, 0.5), (3.0, 1.0), (5.5, 2.0)]), unique=True, max_size=3)
quick = settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def said(revision, sort):
    return [d for d in revision.differences if d.sort == sort]


@quick
@given(windows(), pipes)
def test_another_name_of_a_body_loses_nothing(rows, holes):
    old, new = draw(text(rows, holes)), draw(text(rows, holes, body="core"))
    revision = compare(old, new)
    assert revision.only_renamed
    assert {d.changes for d in revision.differences} == {(Change.RENAMED,)}
    led = links([old, new])
    assert set(led.of) == set(old.by_id)
    for joint in old.joints:
        kept = [
            link
            for link in led.of[joint.id]
            if new.by_id[link.joint].length == pytest.approx(joint.length, abs=1e-4)
        ]
        assert kept
        assert max(link.end - link.start for link in kept) == pytest.approx(joint.length, abs=1e-4)


@quick
@given(windows(), pipes, st.data())
def test_a_window_that_moves_is_said_with_its_way_and_back_again(rows, holes, data):
    which = data.draw(st.integers(0, len(rows) - 1))
    way = data.draw(st.sampled_from([0.03, 0.1, 0.35]))
    side, x, *more = rows[which]
    edited = [*rows[:which], (side, round(x + way, 3), *more), *rows[which + 1 :]]
    first, second = draw(text(rows, holes)), draw(text(edited, holes))
    forth, back = compare(first, second), compare(second, first)
    for revision in (forth, back):
        (moved,) = said(revision, "opening")
        assert moved.changes == (Change.MOVED,)
        assert moved.moved == pytest.approx(way, abs=1e-6)
        assert not said(revision, "penetration")
        assert not said(revision, "wall or roof")
    # What is new one way is gone the other way, and the third drawing is the first.
    assert {s.joint for s in forth.new} == {s.joint for s in back.gone}
    assert draw(text(rows, holes)).shape == first.shape
    assert compare(first, draw(text(rows, holes))).nothing
    mark = next(p.mark for p in first.parts if p.sort == "opening" and p.mark == moved.was)
    kept = set(links([first, second]).of)
    assert (
        not {
            j.id
            for j in first.joints
            if j.mark == mark and j.kind in {"opening jamb", "rough-opening corner"}
        }
        & kept
    )
    others = {j.id for j in first.joints if j.mark and j.mark != mark}
    assert others <= kept


@quick
@given(windows(), pipes, st.data())
def test_what_comes_and_goes_is_said_once(rows, holes, data):
    which = data.draw(st.integers(0, len(rows) - 1))
    fewer = [*rows[:which], *rows[which + 1 :]]
    whole, less = draw(text(rows, holes)), draw(text(fewer, holes))
    (went,) = [d for d in said(compare(whole, less), "opening") if not d.only_renamed]
    (came,) = [d for d in said(compare(less, whole), "opening") if not d.only_renamed]
    assert (went.changes, came.changes) == ((Change.WENT,), (Change.CAME,))
    assert went.size_was == came.size_now == pytest.approx(rows[which][3:])


@quick
@given(windows(most=3), st.sampled_from([0.2, 0.5]))
def test_a_wall_that_grows_keeps_what_was_done_on_it(rows, more):
    old, new = draw(text(rows)), draw(text(rows, size=(SOUTH + more, WEST)))
    led = links([old, new])
    assert "main/south" in led.grown
    assert "main/west" not in led.grown
    for joint in old.joints:
        if joint.mark and joint.faces == (
            "main/south",
        ):  # the wall grows at its right end: windows stay where they are
            assert led.of[joint.id]


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_every_joint_of_a_large_house_is_found_again_under_other_names(path):
    written = path.read_text("utf-8")
    old = draw(written)
    name = next(face.body for face in old.faces)
    new = draw(re.sub(rf"\b(name|mass|body|on): {name}\b", r"\1: otherwise", written))
    assert any(face.body == "otherwise" for face in new.faces)
    revision = compare(old, new)
    assert revision.only_renamed
    assert set(links([old, new]).of) == set(old.by_id)
