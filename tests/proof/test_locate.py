"""What each entry is about: the right joints, never more, and a place where one is needed."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hullwright.proof.cover import ready
from hullwright.proof.entries import Entry, Receipt, Spot, Stamp
from hullwright.proof.kinds import KINDS
from hullwright.proof.ledger import standing
from hullwright.proof.locate import HELD, NEEDS_PLACE, locate
from hullwright.proof.rules import ABOUT, METHODS, PROOFS, STEPS, listing
from hullwright.proof.site import House, SiteJoint, Stretch
from hullwright.proof.wall import along
from hullwright.units import INCH

# A wall 4 m wide and 2.4 m high, seen from outside; a seam at 1.2 m and one up the wall at 2 m, a window, two boxes, a duct.
LIQUID = {"method": "liquid", "crew": "B", "surface": "wood panel", "product": "film"}
NOTCHES = {"notches_um": [300.0, 400.0, 500.0, 600.0], "last_wet_um": 500.0, "next_dry_um": 600.0}


def line(name, kind, method, a, b, **more):
    (ax, az), (bx, bz) = a, b
    length = ((ax - bx) ** 2 + (az - bz) ** 2) ** 0.5
    points = ((ax, 0.0, az), (bx, 0.0, bz))
    product = {"liquid": "film", "tape": "roll"}.get(method, "")
    return SiteJoint(name, kind, ("F1",), length, method, points=points, product=product, **more)


def piece(name, kind, method, at, **more):
    return SiteJoint(name, kind, ("F1",), 0.0, method, points=((at[0], 0.0, at[1]),), product="film", **more)


WALL = House(
    (
        line("S1", "horizontal seam", "liquid", (0, 1.2), (4, 1.2), run="R1"),
        line("S2", "vertical seam", "liquid", (2, 0), (2, 1.2), run="R2"),
        line("T1", "outside corner", "tape", (0, 0), (0, 2.4), run="R3", was=("old T1",)),
        line("W1/3", "opening head", "liquid", (2.6, 2.2), (3.4, 2.2), mark="W1", run="R4", stage="openings"),
        piece("W1/11", "rough-opening corner", "liquid", (2.6, 1.6), mark="W1", run="R5", stage="openings"),
        piece("P1", "box or duct", "liquid", (1.0, 0.4), mark="P1", run="R6", section=(0.1, 0.1)),
        piece("P2", "box or duct", "liquid", (1.4, 0.4), mark="P2", run="R6", section=(0.1, 0.1)),
        piece("P3", "pipe", "liquid", (3.6, 0.4), mark="P3", run="R7", stage="services", section=(0.1, 0.0)),
        line("U1", "unit to opening", "liquid", (2.6, 1.6), (2.6, 2.2), mark="W1", run="R8", stage="units"),
        line("N1", "eave", "unsealed", (0, 2.4), (4, 2.4), run="R9"),
    )
)


def found(make, **more):
    return locate(standing(make.entries).entries, WALL, **more)


def last(make, **more):
    return found(make, **more)[-1]


def test_every_kind_of_entry_and_every_step_stand_in_the_table():
    assert set(KINDS) <= set(ABOUT)
    assert {step for row in PROOFS.values() for step in row.needs} == set(STEPS)
    assert {(method, form) for method in METHODS for form in ("band", "piece")} == set(PROOFS)
    shown = listing()
    assert len(shown["entries"]) == len(ABOUT)
    assert len(shown["proofs"]) == len(PROOFS)


def test_a_done_of_a_face_takes_bands_of_its_method_and_says_what_it_leaves_out(make):
    make("done", LIQUID, face="F1")
    one = last(make)
    assert one.joints == ("S1", "S2", "W1/3")
    assert dict(one.left_out) == {
        "T1": "planned with tape, not liquid",
        "W1/11": "a piece: say it by its mark or joint",
        "P1": "a piece: say it by its mark or joint",
        "P2": "a piece: say it by its mark or joint",
        "P3": "a piece: say it by its mark or joint",
        "U1": "not yet due: its stage (units) has not come",
        "N1": "left unsealed by the plan",
    }


def test_a_done_of_a_face_takes_nothing_where_no_plan_says_what_is_liquid(make):
    make("done", LIQUID, face="F1", version=1)
    bare = House(tuple(SiteJoint(j.id, j.kind, j.faces, j.length, "", points=j.points) for j in WALL.joints))
    (one,) = locate(standing(make.entries).entries, bare)
    assert (one.stretches, one.lacking) == ((), NEEDS_PLACE)


@pytest.mark.parametrize(
    ("named", "joints"),
    [
        ({"joint": "S1"}, ("S1",)),
        ({"run": "R6"}, ("P1", "P2")),
        ({"mark": "p1"}, ("P1",)),
        ({"mark": "W1"}, ("W1/3", "W1/11")),
    ],
)
def test_a_done_may_name_joint_run_or_mark(make, named, joints):
    make("done", LIQUID, **named)
    assert last(make).joints == joints


def test_a_group_may_be_named_in_one_entry(make):
    make("seen", {"seen_by": "Ana", "sound": True, "of": ["P1", "R5", "nothing"]}, face="F1")
    one = last(make)
    assert one.joints == ("P1", "W1/11")
    assert one.left_out == (("nothing", "no such joint, run or mark on this drawing"),)


def test_a_part_of_a_joint_is_said_from_and_to(make):
    make("done", {**LIQUID, "from_m": 1.0, "to_m": 9.0}, "S1")
    assert last(make).stretches == (Stretch("S1", 1.0, 4.0),)


def test_a_substitute_is_said_by_run_or_joint(make):
    tape = {"method": "tape", "crew": "B", "surface": "wood panel"}
    make("done", tape, "S1")
    assert last(make).left_out == (("S1", "planned with liquid, not tape"),)
    make("done", {**tape, "substitute": True}, run="R1")
    assert last(make).joints == ("S1",)
    make("done", {**LIQUID, "product": "another"}, "S1")
    assert last(make).left_out == (("S1", "planned with film, not another"),)
    make("done", {**LIQUID, "product": " FILM "}, "S1")
    assert last(make).joints == ("S1",)
    make("done", tape, "S1", version=1)  # before, nobody could say that it was one
    assert last(make).joints == ("S1",)


def test_a_joint_is_found_by_its_id_of_before(make):
    make("done", {"method": "tape", "crew": "B", "surface": "wood panel"}, "old T1")
    assert last(make).joints == ("T1",)


def test_a_joint_that_is_on_no_drawing_needs_a_place(make):
    make("done", LIQUID, "gone", place=(1.0, 0.0, 1.2))
    assert (last(make).stretches, last(make).lacking) == ((), NEEDS_PLACE)


def test_a_duct_is_not_due_before_the_trade_is_through(make):
    make("done", LIQUID, mark="P3")
    assert last(make).left_out == (("P3", "not yet due: its stage (services) has not come"),)
    make("trade through", {"made_by": "plumber"}, face="F1")
    assert found(make)[0].joints == ("P3",)


def test_what_was_done_on_the_face_before_the_trade_came_is_not_done_on_its_joints(make):
    seam = House((line("S9", "floor line", "liquid", (0, 1), (4, 1), stage="services"),))
    make("done", LIQUID, face="F1")
    make("trade through", {}, face="F1")
    make("done", LIQUID, face="F1")
    early, _, late = locate(standing(make.entries).entries, seam)
    assert (early.joints, late.joints) == ((), ("S9",))


def test_a_unit_that_is_set_makes_its_own_joints_due_and_no_others(make):
    make("unit set", {}, mark="W1")
    make("done", LIQUID, run="R8")
    assert last(make).joints == ("U1",)
    make("unit set", {}, mark="P3")  # a pipe is no unit
    make("done", LIQUID, mark="P3")
    assert last(make).joints == ()


def read(make, at=None, joint="", face="F1"):
    place = None if at is None else (at[0], 0.0, at[1])
    make("gauge reading", {**LIQUID, **NOTCHES}, joint, face, place=place)
    return last(make)


def test_a_reading_belongs_to_the_band_next_to_its_place(make):
    assert read(make, (3.0, 1.25)).stretches == (Stretch("S1", 3.0, 3.0),)
    assert read(make, (2.05, 0.6)).joints == ("S2",)


def test_the_joint_that_was_named_only_helps(make):
    assert read(make, (2.05, 1.1), joint="S2").joints == ("S2",)  # both are near: S2 at 5 cm, S1 at 10 cm
    assert read(make, (2.05, 1.15), joint="S1").joints == ("S1",)
    assert read(make, (3.0, 1.2), joint="S2").joints == ("S1",)  # it is 1 m away


def test_a_reading_in_the_middle_of_a_panel_needs_a_place(make):
    one = read(make, (3.0, 0.8))
    assert (one.stretches, one.lacking) == ((), NEEDS_PLACE)


def test_a_reading_on_tape_belongs_to_no_joint(make):
    assert read(make, (0.02, 0.6)).lacking == NEEDS_PLACE
    assert read(make, None, joint="T1").lacking == NEEDS_PLACE


def test_a_reading_of_a_face_without_a_place_proves_nothing(make):
    assert read(make, None).lacking == NEEDS_PLACE


def test_a_reading_on_a_collar_is_the_pieces(make):
    # the box is 10 cm wide: its edge is 3 cm from the place
    assert read(make, (1.08, 0.4)).joints == ("P1",)


def test_as_laid_differs_lets_readings_count_by_the_face(make):
    assert read(make, (3.0, 0.8)).lacking == NEEDS_PLACE
    make("as laid differs", {}, face="F1")
    first = found(make)[0]
    assert (first.lacking, first.faces, first.stretches) == ("", ("F1",), ())
    assert read(make, (3.0, 1.25)).joints == ("S1",)  # takes nothing away


def test_a_hole_punctures_the_joint_there_or_else_the_face(make):
    hole = {"text": "bracket", "made_by": "siding"}
    make("hole", hole, face="F1", place=(3.0, 0.0, 1.22))
    assert last(make).joints == ("S1",)
    make("hole", hole, face="F1", place=(3.0, 0.0, 0.8))
    assert (last(make).joints, last(make).faces, last(make).lacking) == ((), ("F1",), "")
    make("hole", hole, face="F1")
    assert (last(make).joints, last(make).faces, last(make).lacking) == ((), ("F1",), "")


def test_bad_news_of_a_whole_face_is_about_everything_on_it(make):
    everything = {joint.id for joint in WALL.joints}
    for kind, what in (
        ("flaw", {"text": "blisters"}), ("staples", {"count": 2}), ("seen", {"seen_by": "Ana", "sound": False}),
        ("probe", {"tried": 3, "failed": 1}), ("smoke", {"leaked": True}),
    ):  # fmt: skip
        make(kind, what, face="F1")
        assert set(last(make).joints) == everything, kind


def test_good_news_of_a_whole_face_is_about_bands_that_were_done(make):
    make("rolled", {"seen_by": "Ana"}, face="F1")
    assert last(make).joints == ()
    make("done", {"method": "tape", "crew": "B", "surface": "wood panel"}, run="R3")
    make("rolled", {"seen_by": "Ana"}, face="F1")
    assert last(make).joints == ("T1",)
    for kind, what in (("probe", {"tried": 3, "failed": 0}), ("smoke", {"leaked": False})):
        make(kind, what, face="F1")
        assert (last(make).joints, last(make).lacking) == ((), NEEDS_PLACE), kind


def test_a_photo_shows_what_is_tapped_on_it(make):
    make("photo", {"sha256": "0" * 64, "of": ["W1", "P1", "F1"]}, face="F1")
    assert last(make).joints == ("W1/3", "W1/11", "U1", "P1")
    assert last(make).faces == ("F1",)
    make("photo", {"sha256": "1" * 64}, face="F1")
    assert (last(make).joints, last(make).faces) == ((), ("F1",))
    make("photo", {"sha256": "2" * 64}, face="F1", place=(1.0, 0.0, 0.4))
    assert last(make).joints == ("P1",)


SHEETS = SimpleNamespace(products={"film": None}, methods={"liquid": None})


def test_an_unknown_product_is_held_for_review_and_proves_nothing(make):
    make("done", {**LIQUID, "product": "mystery"}, "S1")
    assert (last(make, sheets=SHEETS).joints, last(make, sheets=SHEETS).lacking) == ((), HELD)
    make("done", LIQUID, "S1")
    assert last(make, sheets=SHEETS).lacking == ""


def test_the_distance_along_a_line():
    # Source: by hand: 2 m along the first leg, then 1 m up the second. Tolerance: rounding of a double.
    assert along(((0, 0, 0), (2, 0, 0), (2, 0, 3)), (2.5, 0, 1)) == pytest.approx(3.0)
    assert along(((1, 1, 1),), (5, 5, 5)) == 0.0


@given(st.floats(-0.5, 4.5), st.floats(-0.5, 2.9))
def test_a_reading_is_never_further_from_its_joint_than_the_reach(x, z):
    """Source: plain distance from a point to a segment, and to a box's middle less half its side, worked out here again."""
    spot = Spot(face="F1", place=(x, 0.0, z))
    stamp = Stamp("Ana", "p", datetime(2024, 5, 3, tzinfo=UTC), 1)
    entry = Entry("e", "gauge reading", stamp, spot, {**LIQUID, **NOTCHES}, receipt=Receipt(1))
    (one,) = locate([entry], WALL)
    apart = {}
    for joint in WALL.joints:
        if joint.method != "liquid":
            continue
        (ax, _, az), (bx, _, bz) = joint.points[0], joint.points[-1]
        n2 = (bx - ax) ** 2 + (bz - az) ** 2
        t = 0.0 if n2 == 0 else min(1.0, max(0.0, ((x - ax) * (bx - ax) + (z - az) * (bz - az)) / n2))
        d = ((ax + t * (bx - ax) - x) ** 2 + (az + t * (bz - az) - z) ** 2) ** 0.5
        apart[joint.id] = max(0.0, d - (max(joint.section) / 2 if joint.piece else 0.0))
    if one.joints:
        assert apart[one.joints[0]] <= min(apart.values()) + 1e-9
        assert apart[one.joints[0]] <= 6 * INCH + 1e-9
    else:
        assert min(apart.values()) > 6 * INCH - 1e-9


def test_a_look_at_a_place_clears_the_repair_there_and_proves_no_joint(make):
    """A hole in the field of a panel, sealed and looked at: the seams of the face were not looked at by that."""
    make("done", LIQUID, face="F1")
    make("hole", {"text": "screw", "made_by": "Ben"}, face="F1", place=(0.5, 0.0, 0.8))
    hole = make.entries[-1].id
    make(
        "hole sealed",
        {"hole": hole, "product": "film", "detail": "patched"},
        face="F1",
        place=(0.5, 0.0, 0.8),
    )
    words = ("look at the repair of 2024-05-03",)
    assert [b.missing for b in ready(WALL, "F1", make.entries).blockers if b.id == "F1:repair"] == [words]
    make("seen", {"seen_by": "Ana", "sound": True}, face="F1", place=(0.5, 0.0, 0.8))
    one = last(make)
    assert (one.joints, one.faces, one.lacking) == ((), ("F1",), "")
    assert not [b for b in ready(WALL, "F1", make.entries).blockers if b.id == "F1:repair"]
    make("seen", {"seen_by": "Ana", "sound": True}, face="F1")
    assert last(make).joints == ("S1", "S2", "W1/3"), "without a place the face is meant"
    make("seen", {"seen_by": "Ana", "sound": True}, joint="P1", face="F1", place=(0.5, 0.0, 0.8))
    assert last(make).joints == ("P1",), "with a joint that joint is meant"
