"""Where a story stands on another there is a floor line, however the house is written; and a missing one is an open end."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from joint_kit import FLAT, Roof, found, gable, house, length, mass, neighbour, rect, window

from hullwright import joints
from hullwright.app import house as use
from hullwright.building import parse
from hullwright.errors import BuildingFileError
from hullwright.joints.model import JointKind

NEAR = {"rel": 1e-6, "abs": 1e-5}  # m: solids are grown by some micrometres before they are united


def lines(result):
    """Length of the joints that carry a floor line [m], by kind."""
    sums = {}
    for joint in result.joints:
        if joint.floor:
            sums[joint.kind.value] = sums.get(joint.kind.value, 0.0) + joint.length
    return sums


def kinds(result):
    """Length [m] or pieces of every kind of joint."""
    sums = {}
    for joint in result.joints:
        size = joint.count if joint.kind.piece else joint.length
        sums[joint.kind.value] = sums.get(joint.kind.value, 0.0) + size
    return sums


LOWER = mass("lower", rect(0, 0, 10, 6))


def upper(outline, *, bottom="on mass", **more):
    return mass("upper", outline, base=3.0, bottom=bottom, **more)


# Source of all figures: hand sums of sides in plan [m]; slopes by Pythagoras. Tolerance: rounding of the solids (NEAR).
CASES = {
    "two stories as one body": ([mass(outline=rect(0, 0, 10, 6), storeys=(3.0, 3.0))], {"floor line": 32}),
    "as two, one on the other": ([LOWER, upper(rect(0, 0, 10, 6))], {"floor line": 32}),
    "as two, side by side": (
        [
            mass("a", rect(0, 0, 6, 6), storeys=(3.0, 3.0)),
            mass("b", rect(6, 0, 10, 6), storeys=(3.0, 3.0)),
        ],
        {"floor line": 32},
    ),
    "set back on one side": (
        [LOWER, upper(rect(0, 0, 8, 6))],
        {"floor line": 8 + 6 + 8, "roof to wall, head": 6},
    ),
    "set back all round": ([LOWER, upper(rect(1, 1, 9, 5))], {"roof to wall, head": 8 + 4 + 8 + 4}),
    "hung out on one side": (
        [LOWER, upper(rect(0, -1, 10, 6), bottom="outside air")],
        {"floor line": 6 + 10 + 6, "cantilever": 1 + 10 + 1},
    ),
    "hung out all round": (
        [LOWER, upper(rect(-1, -1, 11, 7), bottom="outside air")],
        {"cantilever": 12 + 8 + 12 + 8},
    ),
    # A hip of 30 deg rises round the foot of the upper walls, level where they stand 3 m in.
    "out of a hip roof": (
        [
            mass("lower", rect(0, 0, 12, 10), roof=Roof("hip", 30.0, 90.0)),
            upper(rect(3, 3, 9, 7), storeys=(4.0,)),
        ],
        {"roof to wall, head": 6 + 4 + 6 + 4},
    ),
    # Its base measured at the deck, 0.5 m over the plates of the lower walls.
    "out of a hip roof, from the deck": (
        [
            mass("lower", rect(0, 0, 12, 10), roof=Roof("hip", 30.0, 90.0)),
            replace(upper(rect(3, 3, 9, 7), storeys=(4.0,)), base=3.5),
        ],
        {"roof to wall, head": 6 + 4 + 6 + 4},
    ),
    # The roof of the wing, 5 m wide at 45 deg, starts at the floor: it takes 5 m of the line and gives both its slopes.
    "a wing's roof against the upper story": (
        [
            mass(outline=rect(0, 0, 10, 6), storeys=(3.0, 3.0)),
            mass("wing", rect(3, -5, 8, 3), roof=gable(45, 0.0)),
        ],
        {"floor line": 32 - 5, "roof to wall, side": 2 * 2.5 * 2**0.5},
    ),
    "a wing of two stories is one framing with the house": (
        [
            mass(outline=rect(0, 0, 10, 6), storeys=(3.0, 3.6)),
            mass("wing", rect(3, -5, 8, 0), storeys=(3.0, 3.0)),
        ],
        {"floor line": 32 + 2 * 5},
    ),
    "a bay on the upper story": (
        [
            mass(outline=rect(0, 0, 10, 6), storeys=(3.0, 3.0)),
            mass("bay", rect(3, -1, 6, 0), base=2.8, bottom="outside air", storeys=(2.5,)),
        ],
        {"floor line": 32 - 3, "cantilever": 1 + 3 + 1},
    ),
    "a story over a cold garage": (
        [
            mass(outline=rect(0, 0, 10, 6), storeys=(3.0, 3.0)),
            mass("garage", rect(10, 0, 16, 6), inside=False),
            mass("over", rect(10, 0, 16, 6), base=3.0, bottom="outside air"),
        ],
        {"floor line": 10 + 6 + 10, "cantilever": 6 + 6 + 6},
    ),
    # The wall dormer's front stands on the wall below it; its sides come out of the roof, which frames them.
    "a dormer in the line of the wall": (
        [
            mass(outline=rect(0, 0, 12, 8), roof=gable(45)),
            mass(
                "dormer",
                rect(4, 0, 7, 4),
                base=3.0,
                storeys=(2.5,),
                roof=Roof("shed", 10.0, 180.0),
                bottom="on mass",
            ),
        ],
        {"floor line": 3},
    ),
    "a dormer in the roof": (
        [
            mass(outline=rect(0, 0, 12, 8), roof=gable(45)),
            mass(
                "dormer",
                rect(4, 1, 7, 4),
                base=3.0,
                storeys=(2.5,),
                roof=Roof("shed", 10.0, 180.0),
                bottom="on mass",
            ),
        ],
        {},
    ),
    "a house on piers stands on no story": (
        [mass(outline=rect(0, 0, 10, 6), base=1.0, bottom="outside air")],
        {},
    ),
    "a bay on the ground floor": (
        [mass(outline=rect(0, 0, 10, 6)), mass("bay", rect(3, -1, 6, 1), base=0.5, bottom="outside air")],
        {},
    ),
    # They share 4 m of both long walls, and the end of the house lies inside the tower. Measured 0.1 m apart the floors are one.
    "two bodies that overlap, flush": (
        [
            mass(outline=rect(0, 0, 10, 6), storeys=(3.0, 3.0)),
            mass("tower", rect(6, 0, 12, 6), storeys=(3.0, 4.0)),
        ],
        {"floor line": 2 * (12 + 6)},
    ),
    "two bodies that overlap, their floors measured apart": (
        [
            mass(outline=rect(0, 0, 10, 6), storeys=(3.0, 3.0)),
            mass("tower", rect(6, 0, 12, 6), storeys=(3.1, 4.0)),
        ],
        {"floor line": 2 * (12 + 6)},
    ),
    "one on the other, framed by itself": (
        [LOWER, replace(upper(rect(0, 0, 10, 6)), framing="own")],
        {"floor line": 32},
    ),
    "three stories in three bodies": (
        [
            LOWER,
            mass("mid", rect(0, 0, 10, 6), base=3.0, bottom="on mass"),
            mass("up", rect(0, 0, 4, 6), base=6.0, bottom="on mass"),
        ],
        {"floor line": 32 + 4 + 6 + 4, "roof to wall, head": 6},
    ),
}


@pytest.mark.parametrize(("masses", "expected"), CASES.values(), ids=CASES)
def test_floor_lines(masses, expected):
    body, result = found(house(*masses))
    assert lines(result) == pytest.approx(expected, **NEAR)
    assert result.open_places == ()
    assert body.closed


def test_the_foot_of_a_set_back_wall_moves_and_keeps_its_kind():
    _, result = found(house(LOWER, upper(rect(0, 0, 8, 6))))
    foot = next(j for j in result.joints if j.kind is JointKind.ROOF_TO_WALL_HEAD)
    assert (foot.floor, foot.rigid) == ("upper 1", False)
    assert [r.rigid for r in result.runs if r.kind is JointKind.ROOF_TO_WALL_HEAD] == [False]
    assert {j.floor for j in result.joints if j.kind is JointKind.EAVE} == {""}


def test_an_edge_carries_the_line_only_as_far_as_the_story_goes():
    """A low roof in front of two bodies in one plane: the story of one of them has its floor there."""
    low = mass("low", rect(0, -3, 10, 0), storeys=(3.0,))
    two = mass("two", rect(0, 0, 6, 6), storeys=(3.0, 3.0))
    hall = mass("hall", rect(6, 0, 10, 6), storeys=(6.0,))
    _, result = found(house(low, two, hall))
    feet = [j for j in result.joints if j.kind is JointKind.ROOF_TO_WALL_HEAD]
    # Source: hand sums: 6 m of the wall belong to the body of two stories, 4 m to the hall of one. Tolerance: rounding.
    assert sorted((bool(j.floor), round(j.length, 5)) for j in feet) == [(False, 4.0), (True, 6.0)]
    assert result.open_places == ()


def test_a_party_wall_of_one_story_does_not_take_the_line_away():
    two = mass(outline=rect(0, 0, 10, 6), storeys=(3.0, 3.0))
    for stories in ((0,), (1,)):
        _, result = found(house(two, neighbours=(neighbour("party wall", 1, storeys=stories),)))
        assert lines(result) == pytest.approx({"floor line": 26, "party wall edge": 6}, **NEAR)


def test_a_body_framed_by_itself_breaks_the_panels_and_its_joints_move():
    main = mass(outline=rect(0, 0, 6, 6), storeys=(3.0, 3.0))
    annex = mass("annex", rect(6, 0, 10, 6), storeys=(3.0, 3.0))
    _, shared = found(house(main, annex))
    _, own = found(house(main, replace(annex, framing="own")))
    assert lines(own) == pytest.approx({"floor line": 32}, **NEAR)
    moving = {j.kind.value: j.length for j in own.joints if not j.rigid}
    # Source: hand: the walls run on in two planes, 6 m high (joints of one kind are as long as each other); the roof in one, 6 m.
    assert moving == pytest.approx({"vertical seam": 6.0, "horizontal seam": 6.0}, **NEAR)
    assert sum(not j.rigid for j in own.joints) == 3
    assert all(j.rigid for j in shared.joints)
    wing = mass("wing", rect(10, 0, 14, 4), roof=gable(45, 90.0))
    tall = mass(outline=rect(0, 0, 10, 6), storeys=(3.0, 3.0))
    _, joined = found(house(tall, wing))
    _, apart = found(house(tall, replace(wing, framing="own")))
    side = {"roof to wall, side": 2 * 2 * 2**0.5}
    assert lines(joined) == pytest.approx({"floor line": 32 - 4} | side, **NEAR)
    assert lines(apart) == pytest.approx({"floor line": 32 - 4}, **NEAR)


def test_floor_lines_are_broken_by_openings_and_no_open_end():
    stair = window(mass="lower", side=0, height=3.0, sill=1.0)
    door = window("d", mass="upper", side=2, kind="door", sill=0.0, height=2.1, width=0.9)
    _, result = found(house(LOWER, upper(rect(0, 0, 10, 6)), openings=(stair, door)))
    # Source: hand: 32 m less a window of 1.2 m over the line and a door of 0.9 m that stands on it.
    assert length(result, "floor line") == pytest.approx(32 - 1.2 - 0.9, **NEAR)
    assert result.open_places == ()


@pytest.mark.parametrize("name", ["as two, one on the other", "set back on one side", "hung out all round"])
def test_a_story_without_its_line_is_an_open_end(name):
    """Break it on purpose: the lines lost, the foot's joint taken for one that stands still, the hull without floor lines."""
    masses, expected = CASES[name]
    building = house(*masses)
    body, result = found(building)
    total = sum(expected.values())
    lost = [j for j in result.joints if j.kind is not JointKind.FLOOR_LINE]
    blind = [replace(j, floor="") for j in result.joints]
    places, share = joints.continuity(body, lost)
    assert sum(p.length for p in places) == pytest.approx(expected.get("floor line", 0), **NEAR)
    assert (share == 1.0) is ("floor line" not in expected)
    places, _ = joints.continuity(body, blind)
    assert sum(p.length for p in places) == pytest.approx(total, **NEAR)
    assert all("story 1 of upper stands here" in p.note for p in places)
    assert {p.face.split("/")[0] for p in places} <= {"lower", "upper"}
    places = joints.find(building, replace(body, floor_lines=())).open_places
    assert sum(p.length for p in places) == pytest.approx(total, **NEAR)


FILE = """
units: {units}
name: House of two stories
currency: EUR
barrier: {{top: roof deck, bottom: {{kind: slab, level: 0}}}}
masses:
  - {{name: lower, size: [10, 6], storeys: [3], roof: flat}}
  - {{name: upper, size: [8, 6], base: 3, storeys: [3], roof: flat, bottom: on mass, framing: own}}
"""


def test_a_file_says_how_a_body_is_framed_and_its_answer_how_long_the_lines_are():
    stated = parse(FILE.format(units="m"))
    assert [m.framing for m in stated.masses] == ["shared", "own"]
    answer = use.joints(stated).to_json()
    # Source: hand: three flush sides, 8 + 6 + 8 m, one set back, 6 m. Tolerance: rounding of the solids.
    assert answer["floor_lines"] == pytest.approx({"floor line": 22, "roof to wall, head": 6}, **NEAR)
    assert {j["floor_line"] for j in answer["joints"]} == {"", "upper 1"}
    with pytest.raises(BuildingFileError, match="shared, own"):
        parse(FILE.format(units="m").replace("framing: own", "framing: alone"))


# Random houses, each written in several ways. Plans on a grid of 0.5 m.
SIZES = st.integers(6, 24).map(lambda n: n / 2)
HEIGHTS = st.sampled_from([2.4384, 2.7, 3.0, 3.2])


@st.composite
def stacked(draw):
    """Plan of the lower story, plan of the upper one within it, and where each is cut in two."""
    width, depth = draw(SIZES), draw(SIZES)
    sides = [draw(st.sampled_from([0.0, 0.0, 0.5, 1.0])) for _ in range(4)]
    inner = (sides[0], sides[1], width - sides[2], depth - sides[3])
    cut = draw(st.integers(1, 9)) / 10
    return (0.0, 0.0, width, depth), inner, cut, (draw(HEIGHTS), draw(HEIGHTS))


def halves(plan, cut):
    x0, y0, x1, y1 = plan
    middle = round(x0 + cut * (x1 - x0), 3)
    return (x0, y0, middle, y1), (middle, y0, x1, y1)


def strips(outer, inner):
    """What of one rectangle lies round another, in up to four rectangles."""
    (a, b, c, d), (e, f, g, h) = outer, inner
    parts = [(a, b, e, d), (g, b, c, d), (e, b, g, f), (e, h, g, d)]
    return [part for part in parts if part[2] - part[0] > 0.01 and part[3] - part[1] > 0.01]


def writings(outer, inner, cut, heights):
    low, high = heights

    def on(name, plan, **more):
        return mass(name, rect(*plan), base=low, storeys=(high,), bottom="on mass", **more)

    lower = mass("lower", rect(*outer), storeys=(low,))
    yield house(lower, on("upper", inner))
    yield house(lower, *(on(f"u{i}", plan) for i, plan in enumerate(halves(inner, cut))))
    yield house(
        *(mass(f"l{i}", rect(*plan), storeys=(low,)) for i, plan in enumerate(halves(outer, cut))),
        on("upper", inner),
    )
    yield house(
        mass("tall", rect(*inner), storeys=(low, high)),
        *(mass(f"w{i}", rect(*plan), storeys=(low,)) for i, plan in enumerate(strips(outer, inner))),
    )
    if inner != outer:
        yield house(
            *(mass(f"t{i}", rect(*plan), storeys=(low, high)) for i, plan in enumerate(halves(inner, cut))),
            lower,
        )


@settings(max_examples=25, deadline=None)
@given(stacked())
def test_one_house_written_in_any_way_has_one_set_of_joints(plan):
    outer, inner, cut, heights = plan
    results = [found(building)[1] for building in writings(outer, inner, cut, heights)]
    width, depth = inner[2] - inner[0], inner[3] - inner[1]
    for result in results:
        # Source: hand: the upper story stands on the lower one all round. Tolerance: rounding of the solids.
        assert sum(lines(result).values()) == pytest.approx(2 * (width + depth), **NEAR)
        assert result.open_places == ()
        assert kinds(result) == pytest.approx(kinds(results[0]), rel=1e-6, abs=1e-4)


@settings(max_examples=25, deadline=None)
@given(SIZES, SIZES, st.tuples(*[st.sampled_from([0.0, 0.3, 0.6, 1.2])] * 4), st.integers(1, 9), HEIGHTS)
def test_an_overhang_has_its_line_at_the_foot_of_its_walls(width, depth, out, cut, height):
    plan = (-out[0], -out[1], width + out[2], depth + out[3])
    lower = mass("lower", rect(0, 0, width, depth), storeys=(height,))

    def over(name, plan):
        return mass(name, rect(*plan), base=height, bottom="outside air", roof=FLAT)

    ways = [
        house(lower, over("upper", plan)),
        house(lower, *(over(f"u{i}", half) for i, half in enumerate(halves(plan, cut / 10)))),
    ]
    around = 2 * (width + depth + sum(out))
    for building in ways:
        _, result = found(building)
        # Source: hand: round the plan of the upper story. Tolerance: rounding of the solids.
        assert sum(lines(result).values()) == pytest.approx(around, **NEAR)
        assert result.open_places == ()
