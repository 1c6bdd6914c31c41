"""What people read, and what they may type: words, marks, ids of today and of before."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from hullwright.app.house import load
from hullwright.app.spots import resolve, spot_of
from hullwright.errors import InputError
from hullwright.joints.before import kind_was, short
from hullwright.joints.lookup import find, one
from hullwright.joints.model import JointKind
from hullwright.joints.short import say
from hullwright.units import FOOT, INCH, Show

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))
STUDIO = load(str(next(file for file in EXAMPLES if "studio" in file.stem)))


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda path: path.stem)
def test_words_tell_every_joint_and_every_run_from_every_other(file):
    house = load(str(file))
    show = Show(house.building.system)
    said = [say(joint, show) for joint in house.joints.joints]
    assert len(set(said)) == len(said)
    names = [run.name for run in house.joints.runs]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda path: path.stem)
def test_what_is_read_can_be_typed(file):
    house = load(str(file))
    for joint in house.joints.joints[::7]:
        assert find(joint.id, house.joints.joints) == [joint]
        assert find(joint.was, house.joints.joints) == [joint]
        assert joint in find(joint.name.upper(), house.joints.joints)
    for run in house.joints.runs:
        assert find(run.name, house.joints.runs) == [run]
        assert run in find(short(run.was), house.joints.runs)


def test_a_place_is_said_as_a_tape_measure_finds_it():
    """From the left end of the wall, through openings, not from where a stretch happens to begin."""
    house = load(str(next(file for file in EXAMPLES if "saltgrass" in file.stem)))
    second = next(
        joint
        for joint in house.joints.joints
        if joint.faces == ("main/south",) and joint.kind == "horizontal seam" and joint.part == 2
    )
    left = float(second.points[0, 0])  # the south wall of `main` begins at x = 0
    # Source: hand: a wall seen from outside, its left end in the plan's origin.
    # Tolerance: rounding of floats.
    assert second.offset == pytest.approx(left, abs=1e-9)
    at = 11 * FOOT + 8 * INCH - left
    assert say(second, Show("us"), at) == f"main south wall, horizontal seam {second.number}, at 11'-8\""
    assert say(second, Show("us")) == f"main south wall, horizontal seam {second.number}, part 2"
    up = next(
        joint
        for joint in house.joints.joints
        if joint.faces == ("main/south",) and joint.kind == "vertical seam"
    )
    low = float(house.hull.faces[house.hull.number("main/south")].loops[0][:, 2].min())
    assert up.offset == pytest.approx(float(up.points[0, 2]) - low, abs=1e-9)


def test_a_house_of_one_body_does_not_name_it():
    assert {joint.name for joint in STUDIO.joints.joints if joint.mark == "D1"} == {
        f"east wall, door D1 (entrance), {part}"
        for part in (
            "sill", "head", "left jamb", "right jamb", "lower left corner", "lower right corner",
            "upper right corner", "upper left corner",
        )
    }  # fmt: skip


def test_left_and_right_are_as_seen_from_outside():
    """Source: hand: on the south wall, seen from outside, east is to the right."""
    parts = {joint.id: joint.points.mean(axis=0) for joint in STUDIO.joints.joints if joint.mark == "W1"}
    name = {joint.id: joint.name for joint in STUDIO.joints.joints}
    assert name["W1/1"].startswith("south wall")
    assert parts["W1/2"][0] > parts["W1/4"][0]
    assert parts["W1/3"][2] > parts["W1/1"][2]
    assert (parts["W1/12"][0], parts["W1/12"][2]) == (parts["W1/2"][0], parts["W1/1"][2])
    assert (parts["W1/14"][0], parts["W1/14"][2]) == (parts["W1/4"][0], parts["W1/3"][2])


def test_a_mark_means_all_of_an_opening_and_the_one_ring_of_a_pipe():
    assert resolve(STUDIO, "p1").mark == "P1"
    with pytest.raises(InputError, match="which joint is meant") as caught:
        resolve(STUDIO, "W3")
    assert "8 joints may be meant" in caught.value.problems[0].message
    assert len(STUDIO.lookup.marked("w3")) == 8
    assert STUDIO.lookup.marked("X9") == ()


def test_where_several_may_be_meant_all_are_said():
    with pytest.raises(InputError, match="which joint is meant") as caught:
        one("studio/", STUDIO.joints.joints)
    (problem,) = caught.value.problems
    assert re.match(r"\d+ joints may be meant", problem.message)
    assert problem.allowed.count(";") == 8
    with pytest.raises(InputError, match="no such joint") as caught:
        one("parapet of the church", STUDIO.joints.joints)
    assert caught.value.problems[0].allowed.startswith("an id, mark or name")


def test_every_kind_has_a_word_of_its_own_now_and_before():
    assert (
        len({kind.value for kind in JointKind})
        == len({kind_was(kind) for kind in JointKind})
        == len(JointKind)
    )


def test_a_place_in_the_log_takes_words_marks_and_names_of_before():
    sill = next(j for j in STUDIO.joints.joints if j.kind is JointKind.SILL)
    for name in (sill.id, sill.was, short(sill.was), say(sill, Show("metric"))):
        assert spot_of(STUDIO, joint=name).joint == sill.id
    with pytest.raises(InputError, match="which joint is meant"):
        spot_of(STUDIO, joint="studio/")
