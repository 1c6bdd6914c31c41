"""Hulls whose figures are worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hull_houses import gable, house, mass, neighbour, rect

from hullwright.building.model import Roof
from hullwright.hull import build
from hullwright.hull.invariants import euler
from hullwright.hull.model import FaceKind, Hull

# Tolerance for all closed forms here: 1e-9 of the size, the rounding of double precision over a few operations.
EXACT = 1e-9


def areas(hull: Hull) -> dict[str, float]:
    return {face.id: face.area for face in hull.faces}


def lengths(hull: Hull, one: str, two: str) -> list[float]:
    pair = {one, two}
    return sorted(e.length for e in hull.edges if {hull.faces[e.left].id, hull.faces[e.right].id} == pair)


def dihedral(hull: Hull, one: str, two: str) -> float:
    pair = {one, two}
    return next(e.dihedral for e in hull.edges if {hull.faces[e.left].id, hull.faces[e.right].id} == pair)


def test_a_box_has_six_faces_twelve_edges_and_its_volume():
    hull = build(house(mass()))
    # Source: 10 x 8 x 3 m box by hand.
    assert areas(hull) == pytest.approx(
        {
            "main/slab": 80, "main/east": 24, "main/north": 30,
            "main/roof": 80, "main/south": 30, "main/west": 24,
        },
        rel=EXACT,
    )  # fmt: skip
    assert hull.volume == pytest.approx(240, rel=EXACT)
    assert (len(hull.vertices), len(hull.edges), euler(hull)) == (8, 12, 2)
    assert sum(e.length for e in hull.edges) == pytest.approx(4 * (10 + 8 + 3), rel=EXACT)
    assert all(e.dihedral == pytest.approx(90) for e in hull.edges)
    assert hull.closed


def test_frames_have_x_to_the_right_seen_from_outside_and_y_up():
    hull = build(house(mass(roof=gable(30))))
    for face in hull.faces:
        # Source: a right-handed frame that looks outward, across x up = normal.
        assert np.cross(face.frame.across, face.frame.up) == pytest.approx(face.normal, abs=1e-12)
        spots = face.frame.drop(face.loops[0])
        assert spots.min(axis=0) == pytest.approx([0, 0], abs=1e-12)
        assert face.frame.lift(spots) == pytest.approx(face.loops[0], abs=1e-12)
    south = hull.faces[hull.number("main/south")]
    assert south.frame.across == pytest.approx([1, 0, 0])
    assert south.frame.up == pytest.approx([0, 0, 1])
    roof = hull.faces[hull.number("main/roof south")]
    assert roof.frame.up == pytest.approx([0, math.cos(math.radians(30)), math.sin(math.radians(30))])
    assert (roof.azimuth, roof.tilt) == pytest.approx((180, 30))


def test_true_bearing_adds_the_bearing_of_plan_north():
    plain = house(mass())
    turned = build(replace(plain, site=replace(plain.site, north=20.0)))
    assert turned.faces[turned.number("main/south")].azimuth == pytest.approx(200)
    assert turned.faces[turned.number("main/north")].azimuth == pytest.approx(20)


def test_gable_areas_rakes_and_ridge():
    hull = build(house(mass(roof=gable(30))))
    # Source: by hand, 10 x 8 m, wall 3 m, 30 deg: rake 4/cos 30, ridge height 3 + 4 tan 30.
    rake, rise = 4 / math.cos(math.radians(30)), 4 * math.tan(math.radians(30))
    assert areas(hull)["main/roof south"] == pytest.approx(10 * rake, rel=EXACT)
    assert areas(hull)["main/east"] == pytest.approx(8 * 3 + 4 * rise, rel=EXACT)
    assert lengths(hull, "main/east", "main/roof north") == pytest.approx([rake], rel=EXACT)
    assert lengths(hull, "main/roof south", "main/roof north") == pytest.approx([10], rel=EXACT)
    assert dihedral(hull, "main/roof south", "main/roof north") == pytest.approx(60)
    assert dihedral(hull, "main/roof south", "main/south") == pytest.approx(60)
    assert hull.volume == pytest.approx(240 + 10 * 4 * rise, rel=EXACT)


def test_shed_rises_from_its_low_side():
    hull = build(house(mass(roof=Roof("shed", 20, 180))))
    # Source: by hand: low side south at 3 m, high side 3 + 8 tan 20.
    rise = 8 * math.tan(math.radians(20))
    assert areas(hull)["main/north"] == pytest.approx(10 * (3 + rise), rel=EXACT)
    assert areas(hull)["main/east"] == pytest.approx(8 * (3 + rise / 2), rel=EXACT)
    assert areas(hull)["main/roof south"] == pytest.approx(80 / math.cos(math.radians(20)), rel=EXACT)


@pytest.mark.parametrize("pitch", [15, 30, 45])
def test_hip_lengths(pitch):
    hull = build(house(mass(roof=Roof("hip", pitch, 90))))
    # Source: by hand: equal pitch all round a 10 x 8 m plan: ridge 10 - 8, hip = 4 sqrt(2 + tan2), rise 4 tan.
    t = math.tan(math.radians(pitch))
    hips = [
        lengths(hull, f"main/roof {a}", f"main/roof {b}")
        for a in ("south", "north")
        for b in ("east", "west")
    ]
    assert hips == [pytest.approx([4 * math.sqrt(2 + t * t)], rel=EXACT)] * 4
    assert lengths(hull, "main/roof south", "main/roof north") == pytest.approx([2], rel=EXACT)
    plan = 80 / math.cos(math.radians(pitch))
    roofs = sum(f.area for f in hull.faces if f.kind is FaceKind.ROOF)
    assert roofs == pytest.approx(plan, rel=EXACT)


def test_a_hip_over_a_square_meets_in_one_point():
    hull = build(house(mass(outline=rect(0, 0, 8, 8), roof=Roof("hip", 30, 0))))
    assert len(hull.vertices) == 9
    assert len(hull.edges) == 16
    # Source: pyramid, V = 8 x 8 x (3 + 4 tan 30 / 3).
    assert hull.volume == pytest.approx(64 * (3 + 4 * math.tan(math.radians(30)) / 3), rel=EXACT)


def crossed() -> Hull:
    main = mass("main", rect(0, 0, 12, 8), storeys=(5,), roof=gable(math.degrees(math.atan2(3, 4))))
    wing = mass("wing", rect(3, -9, 9, 4), storeys=(5,), roof=gable(math.degrees(math.atan2(2.25, 3)), 0))
    return build(house(main, wing))


def test_the_valley_of_an_l_plan():
    hull = crossed()
    # Source: by hand: valley = sqrt(3^2 + 3^2 + 2.25^2) = 4.8023 m, angle between the roof normals
    # acos((4/5)^2) = 50.2 deg, inside. Tolerance: closed form.
    for roof in ("wing/roof east", "wing/roof west"):
        assert lengths(hull, "main/roof south", roof) == pytest.approx(
            [math.sqrt(9 + 9 + 2.25**2)], rel=EXACT
        )
        assert dihedral(hull, "main/roof south", roof) == pytest.approx(-math.degrees(math.acos(0.64)))
    assert math.sqrt(9 + 9 + 2.25**2) == pytest.approx(4.8023, abs=5e-5)


def test_the_faces_of_an_l_plan():
    found = areas(crossed())
    # Source: by hand. The wing (6 m wide, ridge at 7.25) runs 9 m out of the main body; its ridge meets the main
    # slope 3 m in. Its slopes are 3.75 wide: 9 x 3.75 + half of 3 x 3.75. The main south slope of 12 x 5 loses the
    # triangle 6 x 3 in plan, divided by cos = 0.8.
    assert found["wing/roof east"] == pytest.approx(9 * 3.75 + 3 * 3.75 / 2, rel=EXACT)
    assert found["main/roof south"] == pytest.approx(60 - 6 * 3 / 2 / 0.8, rel=EXACT)
    assert found["main/south"] + found["main/south 2"] == pytest.approx((12 - 6) * 5, rel=EXACT)
    assert found["wing/south"] == pytest.approx(6 * 5 + 3 * 2.25, rel=EXACT)
    assert found["main/slab"] == pytest.approx(12 * 8 + 6 * 9, rel=EXACT)


def test_a_parapet_is_a_ring_on_the_roof_edge():
    # Source: by hand: plan 8.8 x 17.8 m, parapet 0.417 m thick, 0.5 m high: inner loop
    # 2 (7.966 + 16.966) = 49.864 m, roof 7.966 x 16.966 m2; the wall runs up to the parapet's top in one plane.
    roof = Roof("flat", parapet_height=0.5, parapet_thickness=0.417)
    hull = build(house(mass(outline=rect(0, 0, 8.8, 17.8), storeys=(3, 3), roof=roof)))
    found = areas(hull)
    assert found["main/roof"] == pytest.approx(7.966 * 16.966, rel=EXACT)
    assert found["main/parapet top"] == pytest.approx(8.8 * 17.8 - 7.966 * 16.966, rel=EXACT)
    assert found["main/south"] == pytest.approx(8.8 * 6.5, rel=EXACT)
    top = hull.faces[hull.number("main/parapet top")]
    assert top.perimeter == pytest.approx(2 * (8.8 + 17.8) + 49.864, rel=EXACT)
    inside = [f for f in hull.faces if f.kind is FaceKind.PARAPET_INSIDE]
    assert sum(f.area for f in inside) == pytest.approx(49.864 * 0.5, rel=EXACT)
    assert hull.volume == pytest.approx(8.8 * 17.8 * 6.5 - 7.966 * 16.966 * 0.5, rel=EXACT)
    assert dihedral(hull, "main/roof", "main/south parapet inside") == pytest.approx(-90)


def test_a_garage_leaves_its_outline_on_the_wall():
    garage = mass("garage", rect(10, 2, 15, 7), storeys=(2.4,), inside=False)
    hull = build(house(mass(), garage))
    found = areas(hull)
    # Source: by hand: 5 x 2.4 m of the 8 x 3 m east wall.
    assert found["main/east garage wall"] == pytest.approx(5 * 2.4, rel=EXACT)
    assert found["main/east"] == pytest.approx(8 * 3 - 5 * 2.4, rel=EXACT)
    contact = lengths(hull, "main/east", "main/east garage wall")
    assert sum(contact) == pytest.approx(5 + 2 * 2.4, rel=EXACT)
    assert dihedral(hull, "main/east", "main/east garage wall") == 0
    assert hull.volume == pytest.approx(240, rel=EXACT)


def test_a_gabled_garage_leaves_its_gable_on_the_wall():
    garage = mass("garage", rect(10, 2, 15, 7), storeys=(2.4,), roof=gable(10, 90), inside=False)
    hull = build(house(mass(), garage))
    rise = 2.5 * math.tan(math.radians(10))
    assert areas(hull)["main/east garage wall"] == pytest.approx(5 * 2.4 + 2.5 * rise, rel=EXACT)


def test_a_contact_outline_may_touch_the_edge_of_the_wall_in_a_point():
    lean_to = mass(
        "porch",
        rect(10, 2, 13, 6),
        base=0.5,
        storeys=(0.5,),
        roof=gable(45, 90),
        bottom="outside air",
        inside=False,
    )
    hull = build(house(mass(), lean_to))
    wall = hull.faces[hull.number("main/east")]
    # Source: by hand: the gable's top, 0.5 + 0.5 + 2 tan 45 = 3 m, is the wall's top: the outline touches the eave there.
    assert [len(loop) for loop in wall.loops] == [5, 5]
    assert wall.area == pytest.approx(24 - 4 * 0.5 - 2 * 2, rel=EXACT)
    assert euler(hull) == 2


def test_a_basement_goes_down_and_its_walls_are_concrete():
    hull = build(house(mass(bottom="basement", level=-2.4)))
    found = areas(hull)
    assert found["main/south"] == pytest.approx(30, rel=EXACT)
    assert found["main/south foundation wall"] == pytest.approx(24, rel=EXACT)
    assert dihedral(hull, "main/south", "main/south foundation wall") == 0
    wall = hull.faces[hull.number("main/south foundation wall")]
    assert (wall.kind, wall.substrate, wall.group) == (FaceKind.BASEMENT_WALL, "concrete", "")
    assert hull.volume == pytest.approx(80 * 5.4, rel=EXACT)


def test_a_slab_edge_is_a_face_of_its_own():
    hull = build(house(mass(level=-0.3)))
    assert areas(hull)["main/east slab edge"] == pytest.approx(8 * 0.3, rel=EXACT)
    assert hull.faces[hull.number("main/east slab edge")].kind is FaceKind.SLAB_EDGE


def test_an_upper_storey_that_overhangs_has_a_floor_over_outside_air():
    upper = mass("upper", rect(0, -1.2, 10, 8), base=3.0, bottom="outside air")
    hull = build(house(mass(), upper))
    found = areas(hull)
    # Source: by hand: 1.2 m cantilever over 10 m.
    assert found["upper/floor over air"] == pytest.approx(12, rel=EXACT)
    assert hull.faces[hull.number("upper/floor over air")].kind is FaceKind.FLOOR_OVER_AIR
    assert dihedral(hull, "main/south", "upper/floor over air") == pytest.approx(-90)
    # north walls of both lie in one plane and are one face
    assert found["main/north"] == pytest.approx(10 * 6, rel=EXACT)
    assert hull.faces[hull.number("main/north")].masses == ("main", "upper")


def test_with_the_layer_at_the_ceiling_the_roof_is_outside():
    hull = build(house(mass(roof=gable(30), top="ceiling")))
    assert areas(hull)["main/ceiling"] == pytest.approx(80, rel=EXACT)
    assert hull.volume == pytest.approx(240, rel=EXACT)
    assert hull.faces[hull.number("main/ceiling")].substrate == "gypsum"


def test_a_party_wall_of_one_storey_is_marked_and_rated():
    party = neighbour("party wall", side=1, storeys=(1,))
    hull = build(house(mass(storeys=(3.0, 2.8)), neighbours=(party,)))
    face = hull.faces[hull.number("main/east party wall")]
    assert (face.kind, face.rated) == (FaceKind.PARTY_WALL, True)
    assert face.area == pytest.approx(8 * 2.8, rel=EXACT)
    assert areas(hull)["main/east"] == pytest.approx(8 * 3.0, rel=EXACT)


def test_floor_lines_run_where_the_wall_is():
    upper = house(
        mass(storeys=(3.0, 2.8), roof=gable(30)), mass("wing", rect(2, -5, 6, 3), storeys=(3.0, 2.8))
    )
    hull = build(upper)
    by_face: dict[str, float] = {}
    for line in hull.floor_lines:
        name = hull.faces[line.face].id
        by_face[name] = by_face.get(name, 0.0) + float(np.linalg.norm(line.end - line.start))
        assert line.start[2] == pytest.approx(3.0)
        assert line.storey == 1
    # Source: by hand: the wing covers 2 to 6 m of the south wall.
    assert by_face == pytest.approx(
        {"main/east": 8, "main/north": 10, "main/west": 8, "main/south": 2, "main/south 2": 4,
         "wing/east": 5, "wing/south": 4, "wing/west": 5}
    )  # fmt: skip


def test_no_parapet_runs_along_a_higher_wall():
    roof = Roof("flat", parapet_height=0.5, parapet_thickness=0.3)
    wing = mass("wing", rect(10, 1, 15, 7), roof=roof)
    hull = build(house(mass(storeys=(3.0, 3.0)), wing))
    found = areas(hull)
    # Source: by hand: parapet on three sides of the 5 x 6 m wing; the roof runs to the main wall.
    assert found["wing/roof"] == pytest.approx((5 - 0.3) * (6 - 0.6), rel=EXACT)
    assert found["wing/parapet top"] == pytest.approx(30 - 4.7 * 5.4, rel=EXACT)
    assert "wing/west parapet inside" not in found
    assert lengths(hull, "main/east", "wing/roof") == pytest.approx([5.4], rel=EXACT)


def test_a_nearly_flat_roof_is_not_taken_for_a_level_one():
    low = mass("low", rect(0, 0, 10, 8), roof=Roof("shed", 1.5, 180))
    hull = build(house(low, mass("tall", rect(0, 8, 10, 12), storeys=(3.0, 3.0))))
    assert hull.faces[hull.number("low/roof south")].tilt == pytest.approx(1.5)
    assert areas(hull)["low/roof south"] == pytest.approx(80 / math.cos(math.radians(1.5)), rel=EXACT)


def test_a_cold_mass_that_runs_into_the_house_flush_with_a_wall_marks_only_where_it_stands_against_it():
    garage = mass("garage", rect(8, 0, 15, 5), storeys=(2.4,), inside=False)
    hull = build(house(mass(), garage))
    # Source: by hand: the south walls and bottoms lie in one plane, but nothing stands against them.
    assert {f.id: f.area for f in hull.faces if f.cold} == pytest.approx({"main/east garage wall": 5 * 2.4})
    assert areas(hull)["main/south"] == pytest.approx(30, rel=EXACT)
    assert areas(hull)["main/slab"] == pytest.approx(80, rel=EXACT)


@pytest.mark.parametrize(("heights", "expected"), [((3.0, 3.0), {3.0: 15}), ((2.7, 3.3), {3.0: 10, 2.7: 5})])
def test_floor_lines_on_a_wall_of_two_masses_run_on_each_one_s_part_and_never_twice(heights, expected):
    main, wing = mass(storeys=(3.0, 3.0)), mass("wing", rect(6, 0, 15, 5), storeys=heights)
    if heights[0] != 3.0:
        wing = mass("wing", rect(10, 0, 15, 5), storeys=heights)
    hull = build(house(main, wing))
    found: dict[float, float] = {}
    for line in hull.floor_lines:
        if hull.faces[line.face].id == "main/south":
            height = round(float(line.start[2]), 6)
            found[height] = found.get(height, 0.0) + float(line.end[0] - line.start[0])
    # Source: by hand: main 0 to 10 m, wing to 15 m, one face.
    assert found == pytest.approx(expected)


def test_a_level_roof_beside_a_nearly_flat_one_that_starts_at_its_height_stays_level():
    low = mass("low", rect(0, 0, 10, 8), roof=Roof("shed", 1.5, 180))
    hull = build(house(low, mass("wing", rect(10, 0, 14, 8))))
    assert hull.faces[hull.number("wing/roof")].tilt == 0
    assert hull.volume == pytest.approx(14 * 8 * 3 + 10 * 8 * 4 * math.tan(math.radians(1.5)), rel=EXACT)


def test_roof_lines_that_meet_at_a_low_angle_close():
    # Two roofs whose lines in one wall plane start in the same corner and part by 0.3 deg.
    beside = mass(
        "z", rect(3, 2, 9, 5), base=3, storeys=(3, 3), roof=gable(45, 45), inside=False, bottom="outside air"
    )
    outline = ((3, 5), (7, 5), (7, 12), (6, 13), (3, 13))
    hull = build(
        house(mass("d", outline, base=3, storeys=(3, 3), roof=gable(35, 0), bottom="outside air"), beside)
    )
    assert hull.closed
    assert euler(hull) == 2
