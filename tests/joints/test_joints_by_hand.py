"""Edge joints of houses whose lengths a person can work out."""

import math

import pytest
from joint_kit import (
    FLAT,
    Roof,
    count,
    found,
    gable,
    house,
    ledger,
    length,
    mass,
    neighbour,
    number,
    passing,
    rect,
    tails,
    window,
)

from hullwright.building.model import Ceiling
from hullwright.errors import InputError
from hullwright.joints.model import JointKind

# Tolerance of all lengths here: 1e-6 m, closed form against double precision.
NEAR = {"abs": 1e-6}


def check(result, expected):
    for kind, value in expected.items():
        assert length(result, kind) == pytest.approx(value, **NEAR), kind
    assert not result.open_places
    assert result.joint_share == 1.0


def test_box_with_flat_roof():
    _, result = found(house())
    # Source: closed form, box 10 x 8 x 3 m: 2 (10 + 8) round, 4 x 3 up.
    check(result, {"eave": 36, "outside corner": 12, "sill to foundation": 36, "rake": 0, "slab edge": 0})
    assert count(result, "three-way corner") == 8


def test_gabled_house_of_the_open_model():
    body, result = found(
        house(mass(outline=rect(0, 0, 12, 10), base=-0.2, storeys=(3.63094010767585,), roof=gable(30)))
    )
    # Source: FZK house, CityGML LoD2 corner coordinates (12 x 10 m, wall 3.63094 m, roof 30 deg): eave 2 x 12,
    # rake 4 x 5 / cos 30, ridge 12, corner 4 x 3.63094, base 2 (12 + 10).
    check(
        result,
        {
            "eave": 24.0,
            "rake": 4 * 5 / math.cos(math.radians(30)),
            "ridge": 12.0,
            "outside corner": 4 * 3.63094010767585,
            "sill to foundation": 44.0,
            "hip": 0.0,
            "valley": 0.0,
        },
    )
    # Source: the same, rounded figures as printed with the model. Tolerance: their last digit.
    assert length(result, "rake") == pytest.approx(23.094, abs=5e-4)
    assert length(result, "outside corner") == pytest.approx(14.52, abs=5e-3)
    # 4 corners at the base, 4 at the eaves, 2 ends of the ridge.
    assert count(result, "three-way corner") == 10
    assert number(result, "eave") == 2
    assert len(body.faces) == 7


def test_slab_edge_and_foundation_corner():
    _, result = found(house(mass(base=0.3, level=0.0)))
    # Source: closed form, slab edge 0.3 m round 10 x 8 m.
    check(result, {"sill to foundation": 36, "slab edge": 36, "foundation corner": 1.2})
    # Cast concrete runs on: only the corners of the wood count.
    assert count(result, "three-way corner") == 8


def test_hip_roof():
    _, result = found(house(mass(outline=rect(0, 0, 12, 8), roof=Roof("hip", 45.0, 90.0))))
    # Source: closed form, hip over 12 x 8 m at 45 deg: 4 hips of sqrt(4^2 + 4^2 + 4^2), ridge 12 - 8.
    check(result, {"hip": 4 * math.sqrt(48), "ridge": 4.0, "eave": 40.0, "rake": 0})


def test_valley_of_a_wing():
    slope = math.degrees(math.atan(0.75))
    main = mass(outline=rect(0, 0, 12, 8), storeys=(5.0,), roof=gable(slope))
    wing = mass("wing", rect(3, -6, 9, 4), storeys=(5.0,), roof=gable(slope, 0.0))
    _, result = found(house(main, wing))
    # Source: closed form; wing 6 m wide, slope 3/4: valley sqrt(3^2 + 3^2 + 2.25^2) = 4.8023 m each.
    check(
        result,
        {
            "valley": 2 * math.sqrt(3**2 + 3**2 + 2.25**2),
            "ridge": 12 + 9,
            "eave": 12 + 6 + 2 * 6,
            "rake": 4 * 5 + 2 * 3.75,
            "inside corner": 2 * 5,
            "outside corner": 6 * 5,
            "sill to foundation": 40 + 12,
        },
    )
    # Source: the same figure as printed. Tolerance: its last digit.
    assert length(result, "valley") / 2 == pytest.approx(4.8023, abs=5e-5)


def test_shed_roof_has_two_eaves_and_two_rakes():
    _, result = found(house(mass(roof=Roof("shed", 20.0, 180.0))))
    # Source: closed form, shed 8 m deep at 20 deg falling south.
    check(
        result,
        {
            "eave": 20,
            "rake": 2 * 8 / math.cos(math.radians(20)),
            "outside corner": 2 * 3 + 2 * (3 + 8 * math.tan(math.radians(20))),
        },
    )


def test_parapet():
    _, result = found(
        house(
            mass(
                outline=rect(0, 0, 8.8, 17.8),
                storeys=(6.0,),
                roof=Roof("flat", parapet_height=0.5, parapet_thickness=0.417),
            )
        )
    )
    # Source: closed form and the two-family house of the open sample set: plan 8.8 x 17.8 m, inner loop
    # 2 (7.966 + 16.966) = 49.864 m, outer 53.2 m.
    check(
        result,
        {
            "parapet base": 49.864,
            "parapet edge": 53.2 + 49.864,
            "inside corner": 4 * 0.5,
            "eave": 0,
            "sill to foundation": 53.2,
        },
    )


def test_dormer_meets_the_roof():
    main = mass(outline=rect(0, 0, 12, 8), storeys=(3.0,), roof=gable(45))
    dormer = mass(
        "dormer", rect(4, 1, 7, 4), base=3.0, storeys=(2.5,), roof=Roof("shed", 10.0, 180.0), bottom="on mass"
    )
    _, result = found(house(main, dormer))
    # Source: closed form. Front at y = 1, roof there at z = 4; its wall top 5.5; dormer roof z = 5.5 + (y - 1) tan 10 meets
    # the roof z = 3 + y where y = (2.5 - tan 10) / (1 - tan 10); past y = 4 the ridge.
    t = math.tan(math.radians(10))
    back = (2.5 - t) / (1 - t)
    check(
        result,
        {
            "roof to wall, head": 3.0,
            "roof to wall, side": 2 * math.hypot(back - 1, back - 1),
            "valley": 3.0,
            "rake": 4 * math.hypot(4, 4) + 2 * (back - 1) / math.cos(math.radians(10)),
        },
    )


def test_floor_line_is_broken_at_a_stair_window():
    tall = window(height=3.5, sill=1.0)
    _, result = found(house(mass(storeys=(3.0, 3.0)), openings=(tall,)))
    # Source: closed form, 36 m round less the window's 1.2 m.
    check(result, {"floor line": 36 - 1.2})
    assert number(result, "floor line") == 5


def test_cold_garage():
    garage = mass("garage", rect(10, 1, 15, 7), inside=False)
    _, result = found(house(mass(storeys=(3.0, 3.0)), garage))
    # Source: closed form, garage 6 m wide and 3 m high against the wall: two sides and the top; the sill below it stays a sill.
    check(result, {"wall to cold garage": 3 + 6 + 3, "sill to foundation": 36, "outside corner": 24})
    # The ends of the contact lie in the plane of the wall: no three-way corners there, only the eight of the box.
    assert count(result, "three-way corner") == 8


def test_floor_line_has_a_gap_only_where_panels_end_in_it():
    two = found(house(mass(storeys=(2.4384, 2.4384))))[1]  # 8 ft storeys: two rows of 4 ft panels
    other = found(house(mass(storeys=(3.0, 3.0))))[1]
    gaps = [{j.gap for j in result.joints if j.kind is JointKind.FLOOR_LINE} for result in (two, other)]
    assert gaps == [{0.003175}, {0.0}]


def test_plates_are_shared_out_by_area():
    annex = mass("annex", rect(10, 0, 15, 8), storeys=(2.5,), top="ceiling")
    _, result = found(house(mass(top="ceiling"), annex, ceiling=Ceiling(30.0)))
    # Source: closed form, ceilings of 80 and 40 m2.
    shares = {j.faces[0]: j.length for j in result.joints if j.kind is JointKind.PARTITION_PLATE}
    assert sorted(shares.values()) == pytest.approx([10.0, 20.0])


def test_party_wall_and_shaft_edges():
    _, result = found(
        house(mass(), neighbours=(neighbour("party wall", 1), neighbour("shaft", 3, rated=False)))
    )
    # Source: closed form, end walls 8 x 3 m: top and two sides each.
    check(
        result,
        {
            "party wall edge": 8 + 3 + 3,
            "shaft edge": 8 + 3 + 3,
            "sill to foundation": 36,
            "outside corner": 0,
        },
    )
    rated = [j for j in result.joints if j.rated]
    assert {j.kind for j in rated} >= {JointKind.PARTY_WALL, JointKind.SILL}
    assert all("main/east party wall" in j.faces for j in rated)


def test_barrier_at_the_ceiling():
    things = (
        passing(
            "hatch",
            "hatch",
            face="ceiling",
            side=None,
            storey=None,
            width=0.6,
            depth=0.6,
            places=((5.0, 4.0),),
        ),
        passing(
            "chase",
            "chase",
            face="ceiling",
            side=None,
            storey=None,
            width=0.3,
            depth=0.4,
            places=((2.0, 2.0),),
        ),
        passing(
            "light",
            "lights",
            face="ceiling",
            side=None,
            storey=None,
            width=0.15,
            places=((3.0, 6.0), (7.0, 6.0)),
        ),
    )
    body, result = found(
        house(mass(roof=gable(30), top="ceiling"), ceiling=Ceiling(21.5), penetrations=things)
    )
    # Source: closed form, wall top round 10 x 8 m; the plates as stated.
    check(result, {"wall to ceiling": 36, "partition top plate": 21.5, "eave": 0, "rake": 0, "ridge": 0})
    assert [count(result, kind) for kind in ("attic hatch", "chase", "light or fan")] == [1, 1, 2]
    assert not [f for f in body.faces if f.kind == "roof"]


def test_upper_storey_that_hangs_over():
    upper = mass("upper", rect(0, -1, 10, 8), base=3.0, bottom="outside air")
    _, result = found(house(mass(), upper))
    # Source: closed form, overhang 10 x 1 m.
    check(result, {"cantilever": 10 + 1 + 1, "soffit": 10})


def test_basement():
    _, result = found(house(mass(bottom="basement", level=-2.4)))
    # Source: closed form.
    check(result, {"sill to foundation": 36, "foundation wall to floor": 36, "foundation corner": 4 * 2.4})


def test_opening_perimeter_and_corners():
    _, result = found(
        house(
            openings=(
                window(),
                window("d", side=1, kind="door", sill=0.0, height=2.1, width=0.9, frame="wood"),
            )
        )
    )
    # Source: closed form, window 1.2 x 1.4 m, door 0.9 x 2.1 m.
    check(result, {"opening head": 2.1, "opening sill": 2.1, "opening jamb": 2 * 1.4 + 2 * 2.1})
    assert count(result, "rough-opening corner") == 8
    assert {j.substrates for j in result.joints if j.source == "d"} == {("coated panel", "wood")}
    assert {j.stage for j in result.joints if j.source == "w"} == {"openings"}


def test_skylight_has_a_curb():
    light = window("s", storey=None, kind="skylight", width=0.8, height=1.2, sill=1.0, frame="metal")
    _, result = found(house(mass(roof=gable(30)), openings=(light,)))
    # Source: closed form, 2 (0.8 + 1.2).
    check(result, {"curb": 4.0, "opening head": 0})
    assert count(result, "rough-opening corner") == 4


def test_rafter_tails_by_spacing():
    _, result = found(house(mass(outline=rect(0, 0, 12, 8), roof=gable(30)), through=(tails(0), tails(2))))
    # Source: 12 m at 0.6 m on centre: 20 spaces, 21 rafters on each side.
    assert count(result, "rafter tail") == 42
    tops = [j for j in result.joints if j.kind is JointKind.RAFTER_TAIL]
    assert {round(float(j.points[0][2]), 9) for j in tops} == {3.0}
    assert {(j.width, j.section_depth) for j in tops} == {(0.038, 0.184)}


def test_wing_swallows_tails_and_renames_none():
    slope = math.degrees(math.atan(0.75))
    main = mass(outline=rect(0, 0, 12, 8), storeys=(5.0,), roof=gable(slope))
    wing = mass("wing", rect(3, -6, 9, 4), storeys=(5.0,), roof=gable(slope, 0.0))
    alone = {
        j.id for j in found(house(main, through=(tails(0),)))[1].joints if j.kind is JointKind.RAFTER_TAIL
    }
    beside = {
        j.id
        for j in found(house(main, wing, through=(tails(0),)))[1].joints
        if j.kind is JointKind.RAFTER_TAIL
    }
    # Source: closed form, rafters at 0, 0.6 … 12 m; the wing covers 3 to 9 m, and none stands in its inside corners: the one at 3 m
    # (number 6) and the one at 9 m (number 16) go too: 0 … 2.4 and 9.6 … 12 m are 5 + 5.
    assert len(alone) == 21
    assert len(beside) == 5 + 5
    assert beside < alone


FOOT = 0.3048


def cottage(**more):
    """The Reed cottage, made up: 34 x 24 ft under a hip of 5:12, a bump-out of 10 ft that stands 3 ft out under a gable."""
    slope = math.degrees(math.atan(5 / 12))
    main = mass(outline=rect(0, 0, 34 * FOOT, 24 * FOOT), roof=Roof("hip", slope, 90.0))
    out = rect(12 * FOOT, -3 * FOOT, 22 * FOOT, 7 * FOOT)
    return house(main, mass("bump-out", out, roof=gable(slope, 0.0)), **more)


def test_hip_corners_have_one_hip_rafter_and_inside_corners_none():
    every = [tails(side, spacing=2 * FOOT) for side in range(4)]
    every += [tails(side, "bump-out", spacing=2 * FOOT) for side in (1, 3)]
    _, result = found(cottage(through=tuple(every)))
    tops = [j for j in result.joints if j.kind is JointKind.RAFTER_TAIL]
    # Source: counted by hand by a framer. North 34 ft: 2, 4 … 32 ft = 16; east and west 24 ft: 2 … 22 ft = 11 each; south 2 … 10 ft
    # and 24 … 32 ft = 5 + 5; 4 hips; bump-out 3 ft a side, from its gable end: 0 and 2 ft = 2 + 2. In all 56.
    # Tolerance: none, counts.
    assert len(tops) == 16 + 11 + 11 + 10 + 4 + 2 + 2 == 56
    hips = {tuple(round(v / FOOT, 6) for v in j.points[0][:2]) for j in tops if "hip rafter" in j.name}
    assert hips == {(0, 0), (34, 0), (34, 24), (0, 24)}
    north = sorted(
        j.points[0][0] / FOOT for j in tops if j.id.startswith("main/north") and "hip" not in j.name
    )
    assert north == pytest.approx([2.0 * k for k in range(1, 17)])


@pytest.mark.parametrize(("sides", "owners"), [((0, 1), "sse"), ((1,), "ee"), ((1, 0), "sse")])
def test_a_hip_rafter_belongs_to_one_of_its_two_walls(sides, owners):
    rows = tuple(tails(side, spacing=2 * FOOT) for side in sides)
    _, result = found(cottage(through=rows))
    hips = sorted(j.faces[0].removeprefix("main/")[0] for j in result.joints if "hip rafter" in j.name)
    # Source: the rule as stated in the docs: the side that ends at the hip on its right where it has tails, else the other one. South
    # ends at (34, 0) on the right, east at (34, 24); (0, 0) is the left end of south; (34, 0) the left end of east.
    # Tolerance: none, names.
    assert hips == sorted(owners)


def test_tails_by_count_keep_a_space_from_hips():
    _, result = found(cottage(through=(tails(2, spacing=None, count=16),)))
    places = sorted(
        j.points[0][0] / FOOT for j in result.joints if "hip rafter" not in j.name and j.kind == "rafter tail"
    )
    # Source: closed form, 16 between two hips on 34 ft: 17 spaces of 2 ft. Tolerance: rounding.
    assert places == pytest.approx([2.0 * k for k in range(1, 17)])


def test_tails_count_from_the_gable_end_where_the_left_one_is_covered():
    slope = math.degrees(math.atan(5 / 12))
    main = mass(outline=rect(0, 0, 34 * FOOT, 24 * FOOT), roof=Roof("hip", slope, 90.0))
    wing = mass("wing", rect(12 * FOOT, -3.5 * FOOT, 22 * FOOT, 7 * FOOT), roof=gable(slope, 0.0))
    rows = (tails(1, "wing", spacing=2 * FOOT), tails(3, "wing", spacing=2 * FOOT))
    _, result = found(house(main, wing, through=rows))
    places = sorted(j.points[0][1] / FOOT for j in result.joints if j.kind is JointKind.RAFTER_TAIL)
    half = 0.019 / FOOT
    # Source: closed form, both eaves run 3.5 ft from the gable end: at 0 and 2 ft from it, the outer one half its width inside the
    # side. The left end of the west side lies in main, 10.5 ft back, which is no multiple of 2 ft. Tolerance: rounding.
    assert places == pytest.approx([-3.5 + half, -3.5 + half, -1.5, -1.5])


def test_lookouts_and_ridge_beam():
    through = (tails(1, kind="lookouts", spacing=0.6), tails(3, kind="ridge beams", spacing=None, count=1))
    _, result = found(house(mass(roof=gable(45)), through=through))
    # Source: closed form, rake 4 / cos 45 = 5.657 m: lookouts at 0.6, 1.2 … 5.4 m on each of two; the beam at the ridge.
    assert count(result, "rafter tail") == 2 * 9
    beam = next(j for j in result.joints if j.kind is JointKind.BEAM)
    assert beam.points[0].tolist() == pytest.approx([0, 4, 7], abs=1e-6)


def test_lookouts_by_count_are_all_there():
    _, result = found(
        house(mass(roof=gable(45)), through=(tails(1, kind="lookouts", spacing=None, count=5),))
    )
    assert count(result, "rafter tail") == 5


def test_tails_without_an_eave_are_refused_with_the_place():
    building = house(mass(roof=gable(30), top="ceiling"), through=(tails(0), tails(1, kind="lookouts")))
    with pytest.raises(InputError) as caught:
        found(building)
    assert len(caught.value.problems) == 2
    assert "ceiling" in str(caught.value)


def test_strip_behind_a_ledger():
    _, result = found(house(fixed_over=(ledger(),)))
    strip = next(j for j in result.joints if j.kind is JointKind.FIXED_OVER)
    # Source: as stated: 3 m long, 1 m from the left end of the south wall, 0.5 m up.
    assert strip.length == 3.0
    assert strip.points.tolist() == [[1, 0, 0.5], [4, 0, 0.5]]
    assert strip.faces == ("main/south",)


def test_strip_in_the_air_is_refused():
    with pytest.raises(InputError, match="deck"):
        found(house(fixed_over=(ledger(height=9.0),)))


def test_joints_of_a_face_add_up_to_its_edge():
    body, result = found(
        house(
            mass(storeys=(3.0, 3.0), roof=gable(40)),
            mass("annex", rect(10, 2, 14, 6), roof=Roof("shed", 15.0, 90.0)),
        )
    )
    for face in body.faces:
        edges = sum(
            j.length for j in result.joints if face.id in j.faces and len(j.faces) > 1 and not j.kind.piece
        )
        # Source: invariant, joint length per face = face perimeter.
        assert edges == pytest.approx(face.perimeter, **NEAR), face.id


def test_flat_roof_beside_a_higher_wall():
    low = mass("low", rect(10, 0, 15, 8), roof=FLAT)
    _, result = found(house(mass(storeys=(6.0,)), low))
    # Source: closed form, roof 8 m wide against the wall of the high part.
    check(result, {"roof to wall, head": 8.0, "eave": 36 + 5 + 5 + 8})
