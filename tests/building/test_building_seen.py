"""Even spacing beside wings, garages and dormers: only where the wall or roof can be seen."""

from __future__ import annotations

import pytest

from hullwright.building import parse
from hullwright.building.openings import even
from hullwright.errors import BuildingFileError
from hullwright.hull import build

MAIN = "  - {name: main, size: [34, 24], base: 1, storeys: [8], roof: {form: hip, pitch: 5:12}}\n"
WING = "  - {name: wing, size: [10, 10], at: [12, -3], base: 1, storeys: [8], roof: {form: gable, pitch: 5:12, ridge: north-south}}\n"
GARAGE = "  - {name: garage, inside: no, size: [14, 6], at: [20, -6], storeys: [9], roof: flat}\n"


def house(*masses: str, more: str):
    text = "units: ft\nname: T\nbarrier: {top: roof deck, bottom: slab}\nmasses:\n"
    return parse(text + MAIN + "".join(masses) + more)


def lefts(building, kind="window"):
    return [round(o.offset / 0.3048, 4) for o in building.openings if o.kind == kind]


def windows(count, width=3.0, mass="main", side="south", size=4.0):
    return f"openings: [{{mass: {mass}, side: {side}, kind: window, size: [{width}, {size}], head: 7, count: {count}}}]\n"


@pytest.mark.parametrize(
    ("count", "expected"),
    [
        # Source: by hand: the wing stands from 12 to 22 ft before a wall of 34 ft: two stretches of 12 ft.
        (1, [4.5]),
        (2, [4.5, 26.5]),
        (3, [2.0, 7.0, 26.5]),  # clear distances (12 - 6) / 3 = 2 on the left, where the third goes
        (4, [2.0, 7.0, 24.0, 29.0]),
        (8, [0.0, 3.0, 6.0, 9.0, 22.0, 25.0, 28.0, 31.0]),
    ],
)
def test_windows_stand_beside_the_wing(count, expected):
    building = house(WING, more=windows(count))
    assert lefts(building) == pytest.approx(expected, abs=1e-3)
    hull = build(building)
    assert sum(len(face.openings) for face in hull.faces) == count


def test_more_than_fit_beside_the_wing_is_told_with_the_stretches():
    with pytest.raises(BuildingFileError) as caught:
        house(WING, more=windows(9))
    (problem,) = caught.value.problems
    assert "9, each 3'-0\" wide" in problem.got
    assert '0" to 12\'-0", 22\'-0" to 34\'-0"' in problem.allowed


def test_a_low_wing_leaves_the_storey_above_free():
    """The upper storey starts over the wing's ridge (9 ft + 5 ft x 5/12): the whole wall is seen."""
    tall = MAIN.replace("storeys: [8]", "storeys: [11, 8]")
    text = "units: ft\nname: T\nbarrier: {top: roof deck, bottom: slab}\nmasses:\n" + tall + WING
    row = "openings: [{mass: main, side: south, storey: %s, kind: window, size: [4, 4], head: 7, count: 2}]\n"
    # Source: by hand: (34 - 8) / 3 = 8.667 clear.
    assert lefts(parse(text + row % 2)) == pytest.approx([26 / 3, 2 * 26 / 3 + 4], abs=1e-3)
    assert lefts(parse(text + row % 1)) == pytest.approx([4, 26], abs=1e-3)


def test_a_sloped_wing_roof_covers_only_what_lies_under_it():
    """Over the wing's wall top the gable narrows: 2 ft over it, 2 x 12/5 = 4.8 ft from each side are free again."""
    tall = MAIN.replace("storeys: [8]", "storeys: [10, 8]")
    low = WING.replace(
        "pitch: 5:12", "pitch: 10:12"
    )  # ridge 5 x 10/12 = 4.17 ft over the wing's wall top of 9 ft
    text = "units: ft\nname: T\nbarrier: {top: roof deck, bottom: slab}\nmasses:\n" + tall + low
    row = "openings: [{mass: main, side: south, storey: 2, kind: window, size: [1, 6], sill: 0, count: 2}]\n"
    # Source: by hand: at 11 ft the gable's half width is (9 + 25/6 - 11) x 12/10 = 2.6 ft round 17 ft; stretches of 14.4 ft.
    assert lefts(parse(text + row)) == pytest.approx([6.7, 34 - 14.4 / 2 - 0.5], abs=1e-3)


def test_a_cold_garage_hides_its_part_unless_it_hides_all():
    # Source: by hand: the garage stands before 20 to 34 ft: 20 ft are left, (20 - 3) / 2 clear.
    assert lefts(house(GARAGE, more=windows(1))) == pytest.approx([8.5], abs=1e-3)
    whole = GARAGE.replace("size: [14, 6], at: [20, -6]", "size: [34, 6], at: [0, -6]")
    assert lefts(house(whole, more=windows(1))) == pytest.approx([15.5], abs=1e-3)


def test_a_side_that_is_covered_whole():
    with pytest.raises(BuildingFileError) as caught:
        house(WING, more=windows(2, mass="wing", side="north"))
    (problem,) = caught.value.problems
    assert "no part of this side can be seen" in problem.message
    assert problem.where.key == "openings[0].count"


def test_boxes_are_spread_beside_the_wing_too():
    row = "penetrations: [{mass: main, through: south, kind: box, size: [4, 4], count: 4}]\n"
    building = house(WING, more=row)
    spots = [x / 0.3048 for x, _ in building.penetrations[0].places]
    # Source: by hand: 4 in boxes: two stretches of 12 ft less 2 in at each end, 23 1/3 ft in all, in four equal parts.
    part = 70 / 3 / 4
    expected = [1 / 6 + part / 2, 1 / 6 + 3 * part / 2, 22 + 1 / 6 + part / 2, 22 + 1 / 6 + 3 * part / 2]
    assert spots == pytest.approx(expected, abs=1e-3)
    assert sum(len(face.penetrations) for face in build(building).faces) == 4


def test_counted_rows_on_hip_roofs_keep_to_their_plane():
    row = "penetrations: [{mass: main, through: roof east, kind: pipe, diameter: 4, count: 12, height: 9}]\n"
    building = house(more=row)
    assert sum(len(face.penetrations) for face in build(building).faces) == 12


def test_counted_rows_on_roofs_keep_off_the_wing():
    row = "penetrations: [{mass: main, through: roof south, kind: pipe, diameter: 4, count: 7, height: 3}]\n"
    building = house(WING, more=row)
    assert sum(len(face.penetrations) for face in build(building).faces) == 7


def test_counted_rows_on_flat_roofs_keep_off_what_stands_on_them():
    text = """units: ft
name: T
barrier: {top: roof deck, bottom: slab}
masses:
  - {name: low, size: [30, 20], storeys: [9], roof: flat}
  - {name: tower, size: [10, 30], at: [0, -5], storeys: [18], roof: flat}
penetrations: [{mass: low, through: roof, kind: pipe, diameter: 4, count: 2}]
"""
    building = parse(text)
    # Source: by hand: the tower covers 0 to 10 ft: 20 ft are left.
    assert [x / 0.3048 for x, _ in building.penetrations[0].places] == pytest.approx([15, 25], abs=0.02)
    assert sum(len(face.penetrations) for face in build(building).faces) == 2


def test_equal_stretches_fill_from_the_left():
    assert [i for i, _ in even([6.0, 6.0, 6.0], 1.0, 4)] == [0, 0, 1, 2]
    assert even([1.0, 5.0], 2.0, 2) == [(1, pytest.approx(1 / 3)), (1, pytest.approx(8 / 3))]
