"""Where a stretch lies on a later drawing: hand sums on one wall."""

import json
import math
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.errors import InputError
from hullwright.proof.built import Built
from hullwright.proof.carried import carried
from hullwright.proof.carry import Link, joined, links, without
from hullwright.proof.drawing import Drawing, DrawnFace, DrawnJoint, DrawnPart, Issued, drawing_from_text
from hullwright.proof.entries import Entry, Spot, Stamp
from hullwright.proof.matching import SAME_PLACE, match
from hullwright.proof.revision import Change, compare

HALF = 0.0127  # Source: 1/2 in = 12.7 mm by definition.


def wall(name="main/south", x0=0.0, x1=10.0, top=3.0, y=0.0):
    return DrawnFace(
        name, name.split("/")[0], "wall", (((x0, y, 0.0), (x1, y, 0.0), (x1, y, top), (x0, y, top)),)
    )


def line(name, x0, x1, z=1.2, *, kind="horizontal seam", face="main/south", y=0.0, **more):
    return DrawnJoint(name, kind, (face,), ((x0, y, z), (x1, y, z)), abs(x1 - x0), **more)


def piece(name, x, z, *, kind="pipe", width=0.1, face="main/south", **more):
    return DrawnJoint(name, kind, (face,), ((x, 0.0, z),), 0.0, width=width, **more)


def window(mark, x, z=1.0, *, width=1.0, height=1.0, face="main/south"):
    corners = ((x, 0.0, z), (x + width, 0.0, z), (x + width, 0.0, z + height), (x, 0.0, z + height))
    return DrawnPart(mark, "opening", "window", face, corners, width, height, "openings")


def ring(mark, x, z=1.0, *, width=1.0, height=1.0, face="main/south", stage="openings"):
    """Joints of a window, numbered as everywhere: sill, right jamb, head, left jamb, corners from the lower left."""
    corners = [(x, 0.0, z), (x + width, 0.0, z), (x + width, 0.0, z + height), (x, 0.0, z + height)]
    kinds = ("opening sill", "opening jamb", "opening head", "opening jamb")
    out = []
    for i, kind in enumerate(kinds):
        a, b = corners[i], corners[(i + 1) % 4]
        out.append(
            DrawnJoint(f"{mark}/{i + 1}", kind, (face,), (a, b), math.dist(a, b), mark=mark, stage=stage)
        )
        out.append(
            DrawnJoint(f"{mark}/{i + 11}", "rough-opening corner", (face,), (a,), 0.0, mark=mark, stage=stage)
        )
    return out


def drawing(*joints, faces=None, parts=()):
    return Drawing("house", "", tuple(faces or [wall()]), tuple(parts), tuple(joints))


def spans(led, joint):
    return [
        (link.joint, *(round(x, 6) for x in (link.start, link.end, link.first, link.last)))
        for link in led.of.get(joint, ())
    ]


def test_a_stretch_is_found_by_its_place_not_along_the_joint():
    # The wall grew by 2 m to the left: what was 1 m from the left end is 3 m from it now.
    old = drawing(line("a", 0, 10))
    new = drawing(line("b", -2, 10), faces=[wall(x0=-2.0)])
    led = links([old, new])
    assert spans(led, "a") == [("b", 0.0, 10.0, 2.0 - HALF, 12.0)]
    (link,) = led.stretch("a", 1.0, 4.0)
    # Tolerance: half an inch, which counts as the same place.
    assert (link.first, link.last) == (pytest.approx(3.0, abs=HALF), pytest.approx(6.0, abs=HALF))


@pytest.mark.parametrize(("off", "there"), [(0.0126, True), (0.0128, False)])
def test_half_an_inch_is_the_same_place_and_more_is_not(off, there):
    old = drawing(line("a", 0, 10))
    assert bool(links([old, drawing(line("b", 0, 10, 1.2 + off))]).of) is there
    pipe = drawing(piece("P1", 4.0, 1.0))
    assert bool(links([pipe, drawing(piece("P9", 4.0 + off, 1.0))]).of) is there


def test_small_steps_do_not_add_up():
    """Each of five revisions moves the seam by 0.4 in: the first is within half an inch, all together are two inches."""
    step = 0.4 * 0.0254
    row = [drawing(line("a", 0, 10, 1.2 + i * step)) for i in range(6)]
    assert links(row[:2]).of
    assert all(links(row[i : i + 2]).of for i in range(5))
    assert not links(row).of


def test_another_kind_at_the_same_place_is_another_joint():
    old = drawing(line("a", 2, 4, 2.1))
    new = drawing(line("a", 2, 4, 2.1, kind="opening head"))
    assert not links([old, new]).of


def test_the_other_side_of_a_thin_wall_is_another_joint():
    back = DrawnFace("main/party", "main", "wall", (tuple(reversed(wall().loops[0])),))
    old = drawing(line("a", 0, 10))
    new = drawing(line("b", 0, 10, face="main/party"), faces=[back])
    assert not links([old, new]).of


def test_a_larger_pipe_is_another_ring():
    """A 4 in pipe in place of one of 2 in: each edge moved by an inch. One of 2 1/2 in: by a quarter."""
    old = drawing(piece("P1", 4, 1, width=0.0508))
    assert not links([old, drawing(piece("P1", 4, 1, width=0.1016))]).of
    assert links([old, drawing(piece("P1", 4, 1, width=0.0635))]).of


def test_an_enlarged_window_keeps_the_edges_that_stayed():
    old = drawing(*ring("W1", 2.0), parts=[window("W1", 2.0)])
    new = drawing(*ring("W1", 2.0, width=1.5), parts=[window("W1", 2.0, width=1.5)])
    led = links([old, new])
    # Sill and head lie on what they were over 1 m; left jamb and left corners are whole; the right side is gone.
    assert spans(led, "W1/1") == [("W1/1", 0.0, 1.0, 0.0, 1.0 + HALF)]
    assert spans(led, "W1/4") == [("W1/4", 0.0, 1.0, 0.0, 1.0)]
    assert {"W1/11", "W1/14"} <= set(led.of)
    assert not {"W1/2", "W1/12", "W1/13"} & set(led.of)
    revision = compare(old, new)
    assert [(d.now, d.changes) for d in revision.differences] == [("W1", (Change.SIZED,))]
    assert {s.joint for s in revision.new} == {"W1/1", "W1/2", "W1/3", "W1/12", "W1/13"}
    # 0.5 m of sill and of head, and the whole right jamb
    assert sum(s.end - s.start for s in revision.new) == pytest.approx(2.0, abs=2 * HALF)


def test_a_left_jamb_is_no_right_jamb():
    """The window moves left by its width: its right jamb stands where its left jamb was, with the hole on the other side."""
    old = drawing(*ring("W1", 2.0), parts=[window("W1", 2.0)])
    new = drawing(*ring("W1", 1.0), parts=[window("W1", 1.0)])
    assert not links([old, new]).of


def test_what_was_set_in_a_moved_opening_goes_with_it():
    """The overlap of a sill keeps its flashing; the seal of the unit itself was taken out with the unit."""
    moved = [drawing(*ring("W1", x), parts=[window("W1", x)]) for x in (2.0, 2.3)]
    # The old sill ran from 2.0 to 3.0, the new one from 2.3 to 3.3; an end of the old one reaches half an inch further.
    assert spans(links(moved), "W1/1") == [("W1/1", 0.3, 1.0, 0.0, 0.7 + HALF)]
    units = [drawing(*ring("W1", x, stage="units"), parts=[window("W1", x)]) for x in (2.0, 2.3)]
    assert not links(units).of
    renamed = [drawing(*ring(m, 2.0, stage="units"), parts=[window(m, 2.0)]) for m in ("W1", "W7")]
    assert len(links(renamed).of) == 8


def test_what_a_revision_took_away_does_not_come_back():
    """Moved and moved back: the third drawing is the first, and the proof of the first does not stand on it."""
    here = drawing(*ring("W1", 2.0), line("a", 0, 10, 2.6), parts=[window("W1", 2.0)])
    away = drawing(*ring("W1", 6.0), line("a", 0, 10, 2.6), parts=[window("W1", 6.0)])
    led = links([here, away, here])
    assert set(led.of) == {"a"}
    assert compare(here, away).differences[0].moved == pytest.approx(4.0)
    back = compare(away, here).differences[0]
    assert (back.changes, back.moved) == ((Change.MOVED,), pytest.approx(4.0))
    assert set(links([here, here]).of) == set(here.by_id)


NOBODY = Built()


def test_what_moved_on_paper_only_and_came_back_is_as_it_was():
    here = drawing(*ring("W1", 2.0), line("a", 0, 10, 1.5), parts=[window("W1", 2.0)])
    seam = [line("a", 0, 6, 1.5), line("b", 7, 10, 1.5)]
    away = drawing(*ring("W1", 6.0), *seam, parts=[window("W1", 6.0)])
    row = [here, away, here]
    # Nobody cut it at its new place: all of it is as it was.
    led = links(row, [NOBODY] * 3)
    assert spans(led, "W1/3") == [("W1/3", 0.0, 1.0, 0.0, 1.0)]
    assert joined((one.start, one.end) for one in led.of["a"]) == ((0.0, 10.0),)
    # It was cut there, from 6 to 7 m: the seam lost that meter; its old place lost nothing.
    led = links(row, [NOBODY, Built(frozenset({"W1"})), NOBODY])
    assert "W1/3" in led.of
    left = joined((one.start, one.end) for one in led.of["a"])
    assert left == ((0.0, pytest.approx(6.0)), (pytest.approx(7.0), 10.0))
    # Its old hole was closed by a patch in between: what was proved round it is gone.
    patch = DrawnJoint("W1/0.2", "patch", ("main/south",), ((2.5, 0.0, 1.5),), 0.0, width=1.0, depth=1.0)
    closed = replace(away, joints=(*away.joints, patch))
    led = links([here, closed, here], [NOBODY, Built(joints=frozenset({"W1/0.2"})), NOBODY])
    assert not any(name.startswith("W1/") for name in led.of)


def test_panels_laid_otherwise_and_worked_on_bring_no_seam_back():
    here, other = drawing(line("a", 0, 10, 1.2)), drawing(line("b", 0, 10, 1.0))
    assert links([here, other, here], [NOBODY] * 3).of
    assert not links([here, other, here], [NOBODY, Built(joints=frozenset({"b"})), NOBODY]).of


def test_a_wall_that_shrank_and_grew_again_is_nailed_again():
    whole, less = drawing(), drawing(faces=[wall(x1=6.0)])
    assert links([whole, less]).grown == frozenset()
    assert links([less, whole]).grown == {"main/south"}
    assert links([whole, less, whole]).grown == {"main/south"}


def test_another_origin_moves_nothing():
    """The plan is drawn from another corner: every place has other coordinates, and the wall is as it was."""
    old = drawing(line("a", 0, 10), *ring("W1", 2.0), parts=[window("W1", 2.0)])

    def shifted(point):
        return (point[0] + 40.0, point[1] - 7.0, point[2] + 0.3)

    new = Drawing(
        "house",
        "",
        tuple(replace(f, loops=tuple(tuple(map(shifted, loop)) for loop in f.loops)) for f in old.faces),
        tuple(replace(p, outline=tuple(map(shifted, p.outline))) for p in old.parts),
        tuple(replace(j, points=tuple(map(shifted, j.points))) for j in old.joints),
    )
    assert match(old, new).shift == pytest.approx((40.0, -7.0, 0.3))
    assert compare(old, new).nothing
    assert set(links([old, new]).of) == set(old.by_id)


def test_a_name_changes_nothing_on_the_wall():
    old = drawing(line("main/south/1.1.1", 0, 10), *ring("W1", 2.0), parts=[window("W1", 2.0)])
    new = drawing(
        line("core/south/1.1.1", 0, 10, face="core/south"),
        *ring("A", 2.0, face="core/south"),
        faces=[wall("core/south")],
        parts=[window("A", 2.0, face="core/south")],
    )
    revision = compare(old, new)
    assert revision.only_renamed
    assert not revision.nothing
    assert {(d.was, d.now) for d in revision.differences} == {("main/south", "core/south"), ("W1", "A")}
    assert revision.renamed["W1/14"] == "A/14"
    assert revision.renamed["main/south/1.1.1"] == "core/south/1.1.1"


def test_marks_that_change_places_follow_the_windows():
    """A window put in at the left renumbers the two that were there; neither moved."""
    old = drawing(*ring("W1", 2.0), *ring("W2", 6.0), parts=[window("W1", 2.0), window("W2", 6.0)])
    parts = [window("W1", 0.5), window("W2", 2.0), window("W3", 6.0)]
    new = drawing(*ring("W1", 0.5), *ring("W2", 2.0), *ring("W3", 6.0), parts=parts)
    found = {(d.was, d.now): d.changes for d in compare(old, new).differences}
    assert found == {
        ("W1", "W2"): (Change.RENAMED,),
        ("W2", "W3"): (Change.RENAMED,),
        ("", "W1"): (Change.CAME,),
    }


def test_another_plan_for_the_same_joint_is_said():
    old = drawing(line("a", 0, 10, method="tape"), line("b", 0, 10, 2.4, method="tape"))
    new = drawing(line("a", 0, 10, method="liquid"), line("b", 0, 10, 2.4, method="tape"))
    assert compare(old, new).replanned == ("a",)


def test_remarks_and_prices_are_no_revision():
    old = drawing(line("a", 0, 10))
    assert compare(old, replace(old, text="# dearer now", house="House")).nothing


@settings(deadline=None)
@given(st.lists(st.tuples(st.floats(0, 9), st.floats(0, 1)), max_size=8))
def test_what_is_covered_and_what_is_left_make_the_whole(rows):
    covered = [(start, min(start + long, 10.0)) for start, long in rows]
    left = without((0.0, 10.0), covered, least=0.0)
    both = joined([*covered, *left])
    assert both == ((0.0, 10.0),)
    assert sum(b - a for a, b in left) + sum(b - a for a, b in joined(covered)) == pytest.approx(
        10.0, abs=1e-4
    )


@settings(max_examples=200, deadline=None)
@given(st.floats(0.5, 9), st.floats(-1, 1), st.floats(-0.02, 0.02), st.floats(-0.02, 0.02), st.booleans())
def test_a_link_never_leads_further_than_half_an_inch(length, along, z0, z1, flip):
    """Whatever two lines lie near each other, a point and its heir are half an inch apart at most, at an end a little more."""
    ends = ((along, 0.0, 1.2 + z0), (along + length, 0.0, 1.2 + z1))
    new = DrawnJoint("b", "horizontal seam", ("main/south",), ends[::-1] if flip else ends, math.dist(*ends))
    old = drawing(line("a", 0, 5))
    for link in links([old, drawing(new)]).of.get("a", ()):
        for part in (0.0, 0.25, 0.5, 1.0):
            at = link.start + part * (link.end - link.start)
            t = link.at(at) / new.length
            p = [a + t * (b - a) for a, b in zip(*new.points, strict=True)]
            # Tolerance: half an inch across, and half an inch along at a real end.
            assert math.dist(p, (at, 0.0, 1.2)) <= SAME_PLACE.value * math.sqrt(2) + 1e-6


def test_a_clipped_link_runs_with_its_joint():
    link = Link(1.0, 3.0, "J", 5.0, 3.0)
    assert link.clipped(2.0, 9.0) == Link(2.0, 3.0, "J", 4.0, 3.0)
    assert link.clipped(3.5, 9.0) is None


def test_a_drawing_survives_its_text():
    made = drawing(
        *ring("W1", 2.0),
        piece("P1", 4, 1, method="boot", primer=True, was="old id"),
        parts=[window("W1", 2.0)],
    )
    back = drawing_from_text(made.body)
    assert back == made
    assert back.sha256 == made.sha256
    other = replace(made, text="x")
    assert other.sha256 != made.sha256
    assert other.shape == made.shape


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"version": 1}', '{"version": 1, "faces": 3}', "nonsense", "[" * 100_000]
)
def test_what_is_no_drawing_is_refused(text):
    with pytest.raises(InputError, match="can't be read"):
        drawing_from_text(text)


def test_a_drawing_of_a_newer_program_says_so():
    body = json.loads(drawing().body) | {"version": 99}
    with pytest.raises(InputError) as error:
        drawing_from_text(json.dumps(body))
    assert "newer" in error.value.problems[0].message


def test_a_look_at_a_place_stays_of_that_place_after_a_revision():
    """Somebody looked at a repair in the field of a panel: no seam of the wall was looked at, on the next drawing neither."""
    first = drawing(line("a", 0, 10), line("b", 0, 10, 2.4))
    row = [
        Issued(number, datetime(2024, 5, number, tzinfo=UTC), "lead", "", 0, one)
        for number, one in ((1, first), (2, drawing(line("a", 0, 10), line("c", 0, 10, 2.6))))
    ]
    stamp = Stamp("Ana", "p1", datetime(2024, 5, 1, 9, tzinfo=UTC), 1)
    what = {"seen_by": "Ana", "sound": True}
    place = Entry("e", "seen", stamp, Spot(face="main/south", place=(1.0, 0.0, 0.5), revision=1), what)
    (found,) = carried([place], row)
    assert (found.spot.face, found.spot.joint, found.spot.place) == ("main/south", "", (1.0, 0.0, 0.5))
    face = replace(place, spot=Spot(face="main/south", revision=1))
    assert [one.spot.joint for one in carried([face], row)] == ["a"], (
        "without a place: what is left of its joints"
    )
