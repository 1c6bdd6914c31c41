"""Ids hold no word, unit or language, and stay while other things change."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.app.house import House, load
from hullwright.app.marks import with_marks
from hullwright.building.reader import parse
from hullwright.joints.model import JointKind

EXAMPLES = Path(__file__).parents[2] / "examples"
SALTGRASS = (EXAMPLES / "saltgrass-house.yaml").read_text()
NUMBERS = r"\d+(\.\d+){0,2}"
FACE = r"[^/+]+/[a-z0-9 .]*"
SHAPE = re.compile(rf"[A-Z]\d+(/\d+)?|{FACE}(\+{FACE})*/{NUMBERS}")


def ids(text):
    return {joint.id for joint in House(parse(text)).joints.joints}


def on(text, *faces):
    """Ids of what lies on these faces alone, and of what hangs on a mark there."""
    joints = House(parse(text)).joints.joints
    return {joint.id for joint in joints if set(joint.faces) <= set(faces)}


@pytest.mark.parametrize("file", sorted(EXAMPLES.glob("*.yaml")), ids=lambda path: path.stem)
def test_no_word_of_a_kind_unit_or_language_stands_in_an_id(file):
    house = load(str(file))
    kinds = {kind.value for kind in JointKind}
    units = re.compile(r"(?<![a-z])(ft|in|mm|m|feet|meter)(?![a-z])")
    for joint in house.joints.joints:
        assert SHAPE.fullmatch(joint.id), joint.id
        assert not any(kind in joint.id for kind in kinds), joint.id
        assert not units.search(joint.id), joint.id
        assert joint.name, joint.id
    for run in house.joints.runs:
        assert re.fullmatch(rf"{FACE}:\d+(-s\d)?(-t\d+)?(-u)?(-m)?(-r)?(-e)?", run.id), run.id
        assert not any(kind in run.id for kind in kinds), run.id


EDITS = {
    "another budget": ("budget: 11200", "budget: 4000"),
    "another crew": ("people: 2, rate: 62", "people: 5, rate: 40"),
    "other units of one number": ("base: 8 in ", "base: 203.2 mm "),
    "other nails": ("edge: 6, field: 12, overdriven: {expected: 15 %}", "edge: 4, field: 6, overdriven: {expected: 5 %}"),
    "another surface and product": ("roof: dusty", "roof: damp"),
    "more rain": ("monthly_rain: 3.5 in", "monthly_rain: 9 in"),
    "another gap and depth of studs": ("blocking: yes, nails", "blocking: no, gap: 1/4, nails"),
    "another frame in a window": ('size: [2\'-6", 3]', 'frame: metal, size: [2\'-6", 3]'),
    "a pipe that moves": ("kind: pipe, diameter: 4.5, at: [[30, 5]]", "kind: pipe, diameter: 5, rigid: no, at: [[30, 5]]"),
    "a vent that comes later": ("kind: duct, diameter: 4, at: [[38, 1]]", "kind: duct, diameter: 4, stage: later, at: [[38, 1]]"),
}  # fmt: skip


@pytest.mark.parametrize("edit", EDITS)
def test_an_edit_that_moves_nothing_changes_no_id(edit):
    old, new = EDITS[edit]
    assert SALTGRASS.count(old) == 1
    assert ids(SALTGRASS.replace(old, new)) == ids(SALTGRASS)


def test_the_wall_height_of_another_body_changes_no_id_of_walls_that_it_does_not_touch():
    house = load(str(EXAMPLES / "saltgrass-house.yaml"))
    wing = "    at: [20, 16]\n    base: 8 in\n    storeys: [10'-2\", 8'-1 1/8\"]"
    assert SALTGRASS.count(wing) == 1
    lower = SALTGRASS.replace(wing, wing.replace("8'-1 1/8", "7'-9"))
    names = ("main/south", "main/west", "main/east", "main/east garage wall", "dormer/south", "dormer/east")
    assert set(names) <= {face.id for face in house.hull.faces}
    assert on(lower, *names) == on(SALTGRASS, *names)


def test_a_window_more_changes_ids_on_its_own_wall_only():
    """Marks stated: the new window takes the next free one, whatever its place."""
    marked = with_marks(SALTGRASS, parse(SALTGRASS))
    more = "openings:\n  - {mass: main, side: west, storey: 1, kind: window, size: [2, 2], sill: 4, at: 1}\n"
    new = marked.replace("openings:", more, 1)
    gone = {joint.id for joint in House(parse(marked)).joints.joints} - ids(new)
    came = ids(new) - ids(marked)
    assert {name.split("/")[0] for name in came if name.startswith("W")} == {"W17"}
    assert all(name.startswith(("main/west/", "W17/")) for name in gone | came)


def test_a_seam_keeps_its_number_where_an_opening_takes_a_part_of_it_out():
    """Lines are counted over the whole pattern: the third seam is the third, cut or not."""
    plain = SALTGRASS.split("openings:")[0] + "penetrations:" + SALTGRASS.split("penetrations:")[1]
    whole = {
        j.id.rpartition(".")[0]: float(j.points[0, 2])
        for j in House(parse(plain)).joints.joints
        if j.kind == "horizontal seam"
    }
    cut = {
        j.id.rpartition(".")[0]: float(j.points[0, 2])
        for j in House(parse(SALTGRASS)).joints.joints
        if j.kind == "horizontal seam"
    }
    assert len(cut) > 40
    assert all(whole[line] == pytest.approx(height) for line, height in cut.items() if line in whole)
    assert set(cut) <= set(whole)


@pytest.mark.parametrize("file", sorted(EXAMPLES.glob("*.yaml")), ids=lambda path: path.stem)
def test_lines_are_counted_on_their_own_face_from_the_bottom_or_the_left(file):
    """Whatever panels lie on other faces: the lowest line that is there has the number of the panels below it."""
    house = load(str(file))
    for face in house.hull.faces:
        for kind, axis in (("horizontal seam", 1), ("vertical seam", 0)):
            own = [j for j in house.joints.joints if j.faces == (face.id,) and j.kind == kind]
            places = sorted((j.number, round(float(face.frame.drop(j.points)[0, axis]), 3)) for j in own)
            if not places or face.tilt < 1 or face.tilt > 179:
                continue
            assert [place for _, place in places] == sorted(place for _, place in places), face.id
            width = house.building.sheathing[face.group].panel_width
            most = face.frame.drop(face.loops[0])[:, axis].max() / (width / 4) + 1
            assert 1 <= places[0][0] <= places[-1][0] <= most, face.id


def test_the_wall_height_of_a_body_that_comes_first_by_name_changes_no_id_on_the_others():
    first = SALTGRASS.replace("name: dormer", "name: aaa").replace("mass: dormer", "mass: aaa")
    lower = first.replace("storeys: [4'-6\"]", "storeys: [8'-6\"]")
    assert lower != first
    names = ("main/south", "main/west", "main/east", "wing/east", "wing/north")
    assert on(lower, *names) == on(first, *names) != set()


WALLS = ("south", "east", "north", "west")
SPOTS = (0.5, 2.5, 4.5, 6.5)
HOUSE = """
units: m
name: box
barrier: {{top: roof deck, bottom: slab}}
masses:
  - {{name: main, size: [9, 9], storeys: [2.8, 2.6], roof: {{form: hip, pitch: 30 deg}}}}
  - {{name: wing, size: [5, 4], at: [9, {shift}], storeys: [2.6], roof: {{form: gable, pitch: 20 deg, ridge: east-west}}}}
openings:
{openings}
penetrations:
{penetrations}
"""
windows = st.lists(
    st.tuples(st.sampled_from(WALLS), st.sampled_from((1, 2)), st.sampled_from(SPOTS)),
    min_size=1, max_size=8, unique=True,
)  # fmt: skip


def window(side, story, at, mark=""):
    return f"  - {{mass: main, side: {side}, storey: {story}, kind: window, size: [1.2, 1.2], sill: 0.9, at: {at}{mark}}}"


def pipe(side, story, at):
    return (
        f"  - {{mass: main, through: {side}, storey: {story}, kind: pipe, diameter: 50, at: [[{at}, 0.4]]}}"
    )


@settings(max_examples=12, deadline=None)
@given(stated=windows, added=windows, shift=st.sampled_from((1.0, 3.0)))
def test_an_opening_on_one_wall_changes_no_id_on_the_others(stated, added, shift):
    stated = [one for one in stated if one[0] != "east"]
    side = added[0][0] if added[0][0] != "east" else "north"
    more = next(
        ((side, story, at) for story in (1, 2) for at in SPOTS if (side, story, at) not in stated), None
    )
    if not stated or more is None:
        return
    pipes = "\n".join(pipe(wall, story, at) for wall, story, at in stated)
    text = HOUSE.format(shift=shift, openings="\n".join(window(*one) for one in stated), penetrations=pipes)
    marked = with_marks(text, parse(text))
    longer = marked.replace("openings:\n", f"openings:\n{window(*more)}\n")
    before, after = House(parse(marked)), House(parse(longer))
    new = next(
        o.mark for o in after.building.openings if o.mark not in {p.mark for p in before.building.openings}
    )
    own = {f"main/{side}"}

    def elsewhere(house):
        return {
            j.id: j.points.round(6).tolist()
            for j in house.joints.joints
            if not own & set(j.faces) or len(j.faces) > 1
        }

    assert elsewhere(after) == elsewhere(before)
    kept = {j.id for j in before.joints.joints if j.mark} | {
        j.id for j in after.joints.joints if j.mark == new
    }
    assert {j.id for j in after.joints.joints if j.mark} == kept
    assert len({j.id for j in after.joints.joints}) == len(after.joints.joints)


def test_bodies_named_to_be_mistaken_still_give_ids_that_are_unique():
    odd = (
        SALTGRASS.replace("name: main", "name: W1")
        .replace("mass: main", "mass: W1")
        .replace("name: wing", "name: a+b.r")
        .replace("mass: wing", "mass: a+b.r")
    )
    found = House(parse(odd)).joints
    assert (
        len({joint.id for joint in found.joints})
        == len(found.joints)
        == len(House(parse(SALTGRASS)).joints.joints)
    )
    assert len({run.id for run in found.runs}) == len(found.runs)


def test_a_house_made_by_hand_without_marks_has_ids_too():
    building = parse(SALTGRASS)
    bare = replace(
        building,
        openings=tuple(replace(o, mark="") for o in building.openings),
        penetrations=tuple(replace(p, marks=()) for p in building.penetrations),
        fixed_over=tuple(replace(f, mark="") for f in building.fixed_over),
    )
    found = House(bare).joints.joints
    assert len({joint.id for joint in found}) == len(found)
    assert "front door/3" in {joint.id for joint in found}
