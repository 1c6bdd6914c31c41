"""What is wrong with masses, openings and penetrations is said with place, figures and picture, all at once."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from hull_houses import gable, house, mass, pipe, rect, window

from hullwright.building.model import Building, Roof
from hullwright.errors import BuildingFileError, InputError, MassingError, Where
from hullwright.hull import build, inner_volume

FLAT = Roof("flat")


def wrong(building: Building) -> MassingError:
    with pytest.raises(MassingError) as caught:
        build(building)
    picture = ET.fromstring(caught.value.picture)  # type: ignore[attr-defined]
    assert picture.tag.endswith("svg")
    for problem in caught.value.problems:
        assert problem.message
        assert problem.hint
    return caught.value


def misplaced(building: Building) -> list[str]:
    with pytest.raises(BuildingFileError) as caught:
        build(building)
    return [problem.message for problem in caught.value.problems]


def placed_mass(name: str, line: int, *args, **more):
    return replace(mass(name, *args, **more), where=Where("house.yaml", line, 5, f"masses.{name}"))


@pytest.mark.parametrize(
    ("change", "text"),
    [
        ({"outline": ((0, 0), (10, 8), (10, 0), (0, 8))}, "crosses or touches itself"),
        ({"outline": ((0, 0), (10, 0), (10, 8), (5, 0), (0, 8))}, "crosses or touches itself"),
        ({"outline": ((0, 0), (10, 0), (4, 0), (4, 8), (0, 8))}, "crosses or touches itself"),
        ({"outline": ((0, 0), (10, 0))}, "has no outline"),
        ({"outline": ((0, 0), (0, 0), (10, 0), (10, 8))}, "side without length"),
        ({"outline": ((0, 0), (0, 8), (10, 8), (10, 0))}, "clockwise"),
        ({"outline": ((0, 0), (10, 0), (10, 0.004))}, "no thickness"),
        ({"storeys": (0.0,)}, "has no height"),
        ({"storeys": ()}, "has no height"),
        ({"storeys": (math.nan,)}, "no number"),
        ({"level": 1.0}, "bottom above its base"),
        ({"roof": Roof("gable", 0.0, 0.0)}, "usable pitch"),
        ({"roof": Roof("shed", 90.0, 0.0)}, "usable pitch"),
        ({"roof": Roof("flat", parapet_height=0.5, parapet_thickness=0.0)}, "without thickness"),
        ({"roof": Roof("flat", parapet_height=0.5, parapet_thickness=4.5)}, "meet each other"),
        (
            {"roof": Roof("hip", 30.0), "outline": ((0, 0), (8, 0), (8, 4), (4, 4), (4, 8), (0, 8))},
            "inside corner",
        ),
    ],
)
def test_a_mass_that_can_not_be_built_is_named(change, text):
    error = wrong(house(placed_mass("main", 7, **change)))
    assert len(error.problems) == 1
    assert error.problems[0].where.line == 7
    assert "main" in error.problems[0].message
    assert text in error.problems[0].message


def test_all_wrong_masses_are_named_at_once():
    error = wrong(house(placed_mass("one", 3, storeys=(0.0,)), placed_mass("two", 9, roof=gable(0.0))))
    assert [p.where.line for p in error.problems] == [3, 9]


def test_no_mass_inside():
    assert "no mass is inside" in str(wrong(house(mass(inside=False))))


def test_a_floating_mass_is_named_with_its_size_and_ringed():
    error = wrong(house(placed_mass("main", 3), placed_mass("shed", 12, rect(20, 0, 24, 3))))
    (problem,) = error.problems
    assert "shed floats" in problem.message
    assert problem.got == "a body of 36.000 m3"
    assert problem.where.line == 12
    assert error.picture.count("<circle") == 4


def test_masses_that_touch_only_along_a_line():
    error = wrong(house(mass("a", rect(0, 0, 4, 4)), mass("b", rect(4, 4, 8, 8))))
    assert all("along a line (a, b)" in p.message for p in error.problems)
    assert "(4.000, 4.000, 0.000)" in error.problems[0].got


def test_masses_that_touch_only_at_a_point():
    low = mass("a", rect(0, 0, 4, 4))
    high = mass("b", rect(4, 4, 8, 8), base=3.0, bottom="outside air")
    # tied together round the back, away from the point where they touch
    link = [
        mass("c", rect(-1, 0, 0, 13), storeys=(9.0,)),
        mass("d", rect(-1, 12, 9, 13), storeys=(9.0,)),
        mass("e", rect(8, 5, 9, 13), storeys=(9.0,)),
    ]
    (problem,) = wrong(house(low, high, *link)).problems
    assert problem.message == "the hull touches itself only in a point (a, b)"
    assert problem.got == "at (4.000, 4.000, 3.000) m"


def test_a_mass_wholly_inside_another():
    error = wrong(house(mass("main"), placed_mass("box", 5, rect(2, 2, 4, 4), storeys=(2.0,))))
    assert "box lies wholly inside" in error.problems[0].message
    error = wrong(
        house(mass("main"), placed_mass("garage", 5, rect(2, 2, 4, 4), storeys=(2.0,), inside=False))
    )
    assert "garage lies wholly inside" in error.problems[0].message


def test_a_mass_inside_others_is_found_though_it_is_flush_with_them():
    error = wrong(house(mass("main"), mass("a box", rect(0, 0, 4, 4))))
    assert "a box lies wholly inside" in error.problems[0].message


def test_a_dormer_that_hangs_in_the_air():
    main = mass("main", roof=gable(30))
    error = wrong(
        house(main, placed_mass("dormer", 4, rect(4, -1, 6, 4), base=3.2, storeys=(1.5,), bottom="on mass"))
    )
    (problem,) = error.problems
    assert "hangs in the air" in problem.message
    assert problem.got.startswith("2.693 m2")  # by hand: 2 m wide, 1 m + (0.2 / tan 30 = 0.3464 m)


def test_a_dormer_over_a_ceiling_barrier_hangs_in_the_air():
    main = mass("main", roof=gable(30), top="ceiling")
    dormer = mass("dormer", rect(4, 1, 6, 4), base=3.5, storeys=(1.5,), bottom="on mass")
    assert "hangs in the air" in str(wrong(house(main, dormer)))


def test_a_closed_in_void():
    ring = [
        mass("a", rect(0, 0, 9, 3), storeys=(3.0, 3.0)), mass("b", rect(0, 6, 9, 9), storeys=(3.0, 3.0)),
        mass("c", rect(0, 0, 3, 9), storeys=(3.0, 3.0)), mass("d", rect(6, 0, 9, 9), storeys=(3.0, 3.0)),
        mass("e", rect(0, 0, 9, 9), storeys=(3.0,), base=6.0, bottom="outside air"),
        mass("f", rect(0, 0, 9, 9), storeys=(1.0,), base=-1.0),
    ]  # fmt: skip
    error = wrong(house(*ring))
    assert "a void is closed in" in error.problems[0].message
    assert error.problems[0].got == "a body of 54.000 m3"  # 3 x 3 x 6 m


def test_a_courtyard_open_to_the_sky_is_no_fault():
    ring = [
        mass("a", rect(0, 0, 9, 3)),
        mass("b", rect(0, 6, 9, 9)),
        mass("c", rect(0, 0, 3, 9)),
        mass("d", rect(6, 0, 9, 9)),
    ]
    hull = build(house(*ring))
    assert hull.volume == pytest.approx((81 - 9) * 3)
    assert len(next(f for f in hull.faces if f.id == "a/roof").loops) == 2


def test_a_gap_of_two_millimetres_is_not_swept_under():
    error = wrong(house(mass("main"), mass("wing", rect(10.002, 0, 14, 4))))
    assert "floats" in str(error)
    step = wrong(house(mass("main"), mass("wing", rect(10, 0.002, 14, 4))))
    assert "step or slit of 2.0 mm" in str(step)


def test_a_rounding_of_tenths_of_a_millimetre_is_taken_for_flush():
    hull = build(house(mass("main"), mass("wing", rect(10.0003, -0.0002, 14, 4), base=0.0002)))
    assert {f.id for f in hull.faces} == {
        "main/slab", "main/east", "main/north", "main/roof", "main/south", "main/west", "wing/east", "wing/north"
    }  # fmt: skip


def test_a_cold_mass_that_runs_into_the_house_is_noted():
    hull = build(house(mass("main"), mass("garage", rect(8, 2, 15, 7), storeys=(2.4,), inside=False)))
    (note,) = hull.notes
    assert "garage" in note
    assert "24.000 m3" in note  # 2 x 5 x 2.4 m
    assert hull.volume == pytest.approx(240)
    assert hull.faces[hull.number("main/east garage wall")].area == pytest.approx(12)


# Openings and penetrations


def test_an_opening_outside_its_face():
    (text,) = misplaced(house(mass(), openings=(window("w1", offset=9.5),)))
    assert "window w1 does not lie wholly on its face" in text


def test_what_was_found_and_what_is_allowed_is_said():
    with pytest.raises(BuildingFileError) as caught:
        build(house(mass(), openings=(window("w1", offset=9.5),)))
    (problem,) = caught.value.problems
    assert problem.got == "9.500 m to 10.700 m across and 0.900 m to 2.300 m up"
    assert problem.allowed == "main/south: 0.000 m to 10.000 m across, 0.000 m to 3.000 m up"


def test_all_misplaced_things_are_named_at_once():
    things = house(
        mass(),
        openings=(
            window("high", sill=2.0),
            window("a", offset=3.0),
            window("b", offset=4.0),
            window("nil", width=0.0),
        ),
        penetrations=(pipe("p", places=((0.01, 1.0), (3.5, 1.5))), pipe("q", mass="main", face="ceiling")),
    )
    texts = misplaced(things)
    assert [text.split(" on ")[0] for text in texts] == [
        "window b overlaps window a",
        "window high does not lie wholly",
        "window nil has no size",
        "pipe p, number 1 does not lie wholly",
        "pipe p, number 2 overlaps window a",
        "pipe q is",
    ]


def test_an_opening_that_the_wing_covers():
    masses = (mass("main"), mass("wing", rect(2, -5, 6, 3)))
    (text,) = misplaced(house(*masses, openings=(window("w", offset=1.5),)))
    assert "does not lie wholly on its face" in text
    (text,) = misplaced(house(*masses, openings=(window("w", "wing", side=2),)))
    assert "is covered by other masses" in text


def test_an_opening_across_the_outline_of_the_garage():
    garage = mass("garage", rect(10, 2, 15, 7), storeys=(2.4,), inside=False)
    (text,) = misplaced(house(mass(), garage, openings=(window("w", side=1, offset=1.5, width=1.0),)))
    assert "crosses the line between faces (main/east, main/east garage wall)" in text
    hull = build(
        house(mass(), garage, openings=(window("d", side=1, offset=3.0, width=0.9, height=2.0, sill=0.0),))
    )
    assert hull.faces[hull.number("main/east garage wall")].openings


def test_an_opening_on_a_mass_outside_the_hull():
    garage = mass("garage", rect(10, 2, 15, 7), storeys=(2.4,), inside=False)
    (text,) = misplaced(house(mass(), garage, openings=(window("w", "garage"),)))
    assert "outside the hull" in text


def test_a_gable_window_ends_at_the_roof():
    roofed = mass(roof=gable(30))
    top = 3 + 4 * math.tan(math.radians(30))
    # Source: by hand: 1 m wide in the middle of the gable: its upper corners meet the rake at top - 0.5 tan 30.
    highest = top - 0.5 * math.tan(math.radians(30))
    fits = window("g", side=1, width=1.0, offset=3.5, sill=3.0, height=highest - 3.0 - 0.001)
    assert build(house(roofed, openings=(fits,)))
    with pytest.raises(BuildingFileError):
        build(house(roofed, openings=(replace(fits, height=highest - 3.0 + 0.002),)))


def test_round_things_keep_their_radius_from_the_edge():
    assert build(house(mass(), penetrations=(pipe(places=((0.05, 1.0),)),)))
    with pytest.raises(BuildingFileError):
        build(house(mass(), penetrations=(pipe(places=((0.048, 1.0),)),)))


def test_a_build_up_thicker_than_the_house():
    thick = house(mass())
    thick = replace(thick, build_up=replace(thick.build_up, wall=4.5))
    with pytest.raises(InputError, match="no inner volume"):
        inner_volume(build(thick), thick)
