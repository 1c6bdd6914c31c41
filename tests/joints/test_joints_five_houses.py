"""Five houses written from words alone: faces, joints and closure against geometry by hand, from the building file on."""

from __future__ import annotations

from collections import Counter, defaultdict
from math import cos, hypot, radians, sqrt, tan

import pytest

from hullwright.building import parse
from hullwright.hull import build
from hullwright.joints import find

FT = 0.3048
HEAD = "units: {units}\nname: T\nbarrier: {{top: roof deck, bottom: {bottom}}}\nmasses:\n"
L_HOUSE = (
    HEAD.format(units="ft", bottom="slab")
    + """\
  - {name: long, size: [44, 24], base: 1, storeys: [8], bottom: {kind: slab, level: 0}, roof: {form: hip, pitch: 5:12}}
  - {name: short, size: [24, 40], base: 1, storeys: [8], bottom: {kind: slab, level: 0}, roof: {form: hip, pitch: 5:12}}
  - {name: garage, inside: no, size: [22, 20], at: [44, 2], base: 1, storeys: [8], roof: {form: gable, pitch: 5:12, ridge: east-west}}
eaves:
  - {mass: long, sides: [south, north], kind: rafter tails, section: 2x6, spacing: 24}
  - {mass: short, sides: [west, north, east], kind: rafter tails, section: 2x6, spacing: 24}
openings:
  - {mass: long, side: south, kind: window, size: [4, 4], head: 7, count: 3}
  - {mass: long, side: east, kind: door, size: [3, 7], at: 6}
"""
)
A_FRAME = (
    HEAD.format(units="ft", bottom="outside air")
    + """\
  - {name: main, size: [24, 32], base: 4, storeys: [2], roof: {form: gable, pitch: 20:12, ridge: north-south}}
openings: [{side: south, kind: door, size: [6, 7], center: 12}]
"""
)
TWO_STOREYS = (
    HEAD.format(units="ft", bottom="{kind: basement, level: -3}")
    + """\
  - {name: main, size: [32, 26], base: 1, storeys: [9.5, 8], roof: {form: gable, pitch: 9:12, ridge: east-west}}
  - {name: dormer, size: [12, 10], at: [10, 3], base: 19, storeys: [5.5], bottom: on mass, roof: {form: shed, pitch: 3:12, falls: south}}
"""
)
ROW = (
    HEAD.format(units="ft", bottom="{kind: crawl space, level: -2}")
    + """\
  - {name: main, size: [18, 40], base: 2, storeys: [10, 9.5, 9], roof: {form: flat, parapet: {height: 2, thickness: 8}}}
neighbours: [{kind: party wall, side: east, rated: yes}, {kind: party wall, side: west, rated: yes}]
"""
)
CABIN = (
    HEAD.format(units="m", bottom="slab")
    + """\
  - {name: main, size: [9, 6], storeys: [2.6], roof: {form: gable, pitch: 35 deg, ridge: east-west}}
  - {name: lean, size: [5, 3], at: [2, -2.5], storeys: [2.2], roof: {form: shed, pitch: 10 deg, falls: south}}
eaves: [{mass: main, side: north, kind: rafter tails, section: 45x145, spacing: 600}]
openings: [{mass: main, side: south, kind: window, size: [0.6, 1], head: 2.1, count: 2}]
"""
)


def taken_off(text: str, scale: float):
    """Volume, faces by name, length by kind and pieces by kind, in the file's unit."""
    building = parse(text)
    hull = build(building)
    found = find(building, hull)
    assert not found.open_places
    lengths, pieces = defaultdict(float), Counter()
    for joint in found.joints:
        lengths[joint.kind.value] += joint.length / scale
        pieces[joint.kind.value] += round(joint.count) if joint.kind.piece else 0
    areas = {face.id: face.area / scale**2 for face in hull.faces}
    return hull.volume / scale**3, areas, lengths, pieces


def agree(found, expected):
    # Tolerance: what planes of flush masses are moved by, far below a millimetre a metre.
    assert {name: found[name] for name in expected} == pytest.approx(expected, rel=1e-6)


def test_l_plan_on_a_slab_with_hip_roofs_and_a_cold_garage():
    volume, areas, lengths, pieces = taken_off(L_HOUSE, FT)
    slope, hip = hypot(1, 5 / 12), sqrt(12**2 + 12**2 + 5**2)
    # Source: by hand. Plan 44 x 24 + 24 x 16 = 1 440 ft2, 168 ft round; 5 in 12 over every part of it.
    assert sum(area for name, area in areas.items() if "roof" in name) == pytest.approx(1440 * slope)
    agree(
        areas,
        {
            "long/slab": 1440,
            "long/south": 352,
            "short/west": 320,
            "short/north": 192,
            "long/east garage wall": 160,
        },
    )
    # Roof solids: a hip of a x b, height h holds h b (3 a - b) / 6; the two overlap in half of a hip: 24 x 24 / 2 corner.
    # By planes instead: both ridges are 5 ft up; long ridge 20 ft, short ridge 16 ft, both to the crossing at (12, 12).
    long_solid, short_solid = 5 * 24 * (3 * 44 - 24) / 6, 5 * 24 * (3 * 40 - 24) / 6
    shared = 5 * 24 * 24 / 3  # where they overlap, a square of 24 ft, the lower of the two: a pyramid of 5 ft
    assert volume == pytest.approx(1440 * 9 + long_solid + short_solid - shared, rel=1e-6)
    agree(lengths, {
        "eave": 168 - 20, "hip": 5 * hip, "valley": hip, "ridge": 20 + 16, "outside corner": 5 * 8, "inside corner": 8,
        "sill to foundation": 168, "slab edge": 168, "foundation corner": 6 * 1, "wall to cold garage": 20 + 8 + 8,
        "opening head": 3 * 4 + 3, "opening jamb": 6 * 4 + 2 * 7,
    })  # fmt: skip
    # Tails every 2 ft, none in corners: 21 + 9 + 19 + 11 + 7 of the five sides; one hip rafter at each of five corners.
    assert pieces["rafter tail"] == 21 + 9 + 19 + 11 + 7 + 5


def test_a_frame_on_piers_with_its_floor_over_outside_air():
    volume, areas, lengths, pieces = taken_off(A_FRAME, FT)
    slope = hypot(12, 20)
    # Source: by hand: walls of 2 ft, a gable of 20 ft over 24 ft; floor 4 ft over the ground.
    assert volume == pytest.approx(32 * (24 * 2 + 24 * 20 / 2))
    agree(
        areas,
        {"main/floor over air": 768, "main/east": 64, "main/south": 48 + 240, "main/roof west": 32 * slope},
    )
    agree(lengths, {"eave": 64, "rake": 4 * slope, "ridge": 32, "outside corner": 8, "cantilever": 112})
    assert "sill to foundation" not in lengths
    assert pieces["three-way corner"] == 10


def test_two_storeys_with_a_shed_dormer_and_a_basement_to_half_its_depth():
    volume, areas, lengths, _ = taken_off(TWO_STOREYS, FT)
    # Source: by hand. Wall top 18.5 ft, dormer wall top 24.5 ft at y = 3; the planes meet where 24.5 + (y - 3) / 4 = 18.5 + 3 y / 4.
    run = (24.5 - 3 / 4 - 18.5) / (3 / 4 - 1 / 4) - 3
    front = 24.5 - (18.5 + 3 * 3 / 4)
    agree(areas, {
        "dormer/south": 12 * front, "dormer/east": run * front / 2, "dormer/roof south": 12 * run * hypot(1, 1 / 4),
        "main/roof south": 32 * 13 * 1.25 - 12 * run * 1.25, "main/east": 26 * 17.5 + 26 * 9.75 / 2, "main/east foundation wall": 104,
    })  # fmt: skip
    assert volume == pytest.approx(32 * 26 * 21.5 + 32 * 26 * 9.75 / 2 + 12 * run * front / 2)
    agree(lengths, {
        "eave": 32 + 32 + 12, "rake": 4 * 13 * 1.25 + 2 * run * hypot(1, 1 / 4), "roof to wall, head": 12,
        "roof to wall, side": 2 * run * 1.25, "valley": 12, "ridge": 32, "floor line": 116, "sill to foundation": 116,
        "foundation wall to floor": 116, "foundation corner": 4 * 4, "outside corner": 4 * 17.5 + 2 * front,
    })  # fmt: skip


def test_row_house_between_party_walls_with_a_parapet():
    volume, areas, lengths, _ = taken_off(ROW, FT)
    wide, deep = 18 - 2 * 8 / 12, 40 - 2 * 8 / 12
    # Source: by hand: 28.5 ft of storeys over 4 ft of crawl space, a parapet of 2 ft, 8 in thick.
    assert volume == pytest.approx(720 * 32.5 + 2 * (720 - wide * deep))
    agree(
        areas,
        {
            "main/east party wall": 40 * 30.5,
            "main/south": 18 * 30.5,
            "main/roof": wide * deep,
            "main/parapet top": 720 - wide * deep,
        },
    )
    agree(lengths, {
        "party wall edge": 4 * 30.5 + 2 * 40, "parapet base": 2 * (wide + deep), "parapet edge": 2 * (wide + deep) + 2 * 18,
        "inside corner": 4 * 2, "floor line": 2 * 116, "sill to foundation": 116,
    })  # fmt: skip


def test_metric_cabin_with_a_lean_to_under_its_eave():
    volume, areas, lengths, pieces = taken_off(CABIN, 1.0)
    main, lean = tan(radians(35)), tan(radians(10))
    # Source: by hand: the lean-to is 2.2 + 2.5 tan 10 = 2.641 m high at the wall, over the eave of 2.6 m: it runs on until both are as high.
    run = (2.2 + 2.5 * lean - 2.6) / (main - lean)
    sliver = run * (2.2 + 2.5 * lean - 2.6) / 2
    agree(areas, {
        "main/slab": 9 * 6 + 5 * 2.5, "main/east": 6 * 2.6 + 6 * 3 * main / 2, "main/roof south": (9 * 3 - 5 * run) / cos(radians(35)),
        "lean/roof south": 5 * (2.5 + run) / cos(radians(10)), "lean/east": 2.5 * 2.2 + 2.5**2 * lean / 2 + sliver, "lean/south": 11,
    })  # fmt: skip
    assert volume == pytest.approx(
        54 * 2.6 + 9 * 6 * 3 * main / 2 + 5 * (2.5 * 2.2 + 2.5**2 * lean / 2 + sliver)
    )
    agree(lengths, {
        "eave": 9 + 4 + 5, "rake": 4 * 3 / cos(radians(35)) + 2 * (2.5 + run) / cos(radians(10)), "valley": 5, "ridge": 9,
        "roof to wall, side": 2 * run / cos(radians(35)), "outside corner": 4 * 2.6 + 2 * 2.2, "inside corner": 2 * 2.6,
        "sill to foundation": 30 + 5,
    })  # fmt: skip
    assert pieces["rafter tail"] == 9 / 0.6 + 1
    # One window on each side of the lean-to: the two stretches of wall that are seen are equal.
    assert pieces["rough-opening corner"] == 8
