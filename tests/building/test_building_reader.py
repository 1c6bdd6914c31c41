"""What is stated comes out in SI, placed and named."""

from __future__ import annotations

import math
import random
from dataclasses import asdict, replace
from pathlib import Path

import pytest
import yaml

from hullwright.building import Building, parse, read, starter
from hullwright.errors import NOWHERE, InputError
from hullwright.evidence import Mark

HERE = Path(__file__).parent
EXAMPLES = HERE.parents[1] / "examples"
INCH, FOOT = 0.0254, 0.3048  # Source: NIST Handbook 44, Appendix C: exact

SMALL = """
units: ft
name: Small
barrier: {top: roof deck, bottom: slab}
masses:
  - {name: main, size: [40, 28], at: [2, 3], base: 8 in, storeys: [9'-1 1/8", 8 ft], roof: {form: gable, pitch: 6:12, ridge: east-west}}
"""


def bare(value: object) -> object:
    """A building as plain data without places and file name, to compare two of them."""
    if isinstance(value, Building):
        value = asdict(replace(value, file="", assumed=()))
    if isinstance(value, dict):
        return {k: bare(v) for k, v in value.items() if k not in {"where", "_where", "_places", "places"}}
    if isinstance(value, (list, tuple)):
        return [bare(v) for v in value]
    return value


def unmarked(value: object) -> object:
    """Plain data without marks."""
    if isinstance(value, dict):
        return {k: unmarked(v) for k, v in value.items() if k not in {"mark", "marks"}}
    return [unmarked(v) for v in value] if isinstance(value, list) else value


def close(one: object, other: object, tolerance: float = 1e-9) -> bool:
    """Same structure, numbers within a tolerance."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(close(one[k], other[k], tolerance) for k in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(close(a, b, tolerance) for a, b in zip(one, other, strict=True))
    if isinstance(one, float) and isinstance(other, float):
        return one == other or abs(one - other) <= tolerance
    return one == other


class TestMass:
    def test_lengths_come_out_in_metres(self) -> None:
        mass = parse(SMALL).masses[0]
        # Source: by hand, 40 ft, 28 ft at (2, 3) ft; 8 in + 109.125 in + 96 in = 213.125 in
        # Tolerance: rounding of doubles
        flat = [value / FOOT for corner in mass.outline for value in corner]
        assert flat == pytest.approx([2, 3, 42, 3, 42, 31, 2, 31], abs=1e-12)
        assert mass.wall_top == pytest.approx(213.125 * INCH, abs=1e-12)

    @pytest.mark.parametrize(
        ("text", "degrees"),
        [
            ("6:12", math.degrees(math.atan(0.5))),
            ("6/12", math.degrees(math.atan(0.5))),
            ("6 in 12", math.degrees(math.atan(0.5))),
            ("12:12", 45.0),
            ("4 1/2:12", math.degrees(math.atan(0.375))),
            ("30 deg", 30.0),
            ("30°", 30.0),
            ("30", 30.0),
        ],
    )
    def test_pitch(self, text: str, degrees: float) -> None:
        # Source: definition of rise over run. Tolerance: rounding of doubles
        assert parse(SMALL.replace("6:12", text)).masses[0].roof.pitch == pytest.approx(degrees, abs=1e-12)

    @pytest.mark.parametrize(
        ("text", "ridge"),
        [("east-west", 90.0), ("north-south", 0.0), ("90 deg", 90.0), ("south", 90.0), ("east", 0.0)],
    )
    def test_ridge_direction(self, text: str, ridge: float) -> None:
        assert parse(SMALL.replace("east-west", text)).masses[0].roof.ridge == pytest.approx(ridge)

    @pytest.mark.parametrize(
        ("text", "bearing"), [("south", 180.0), ("west", 270.0), ("side 2", 90.0), ("0 deg", 0.0)]
    )
    def test_shed_falls_towards(self, text: str, bearing: float) -> None:
        shed = SMALL.replace("form: gable", "form: shed").replace("ridge: east-west", f"falls: {text}")
        assert parse(shed).masses[0].roof.ridge == pytest.approx(bearing)

    def test_either_winding_and_any_first_corner_is_the_same_mass(self) -> None:
        corners = [(0, 0), (12, 0), (12, 4), (7, 4), (7, 9), (0, 9)]
        seen = set()
        for start in range(6):
            for step in (1, -1):
                turned = [list(corners[(start + step * k) % 6]) for k in range(6)]
                text = f"{{units: m, name: L, barrier: {{top: roof deck, bottom: slab}}, masses: [{{name: a, outline: {turned}, storeys: [3], roof: flat}}]}}"
                mass = parse(text).masses[0]
                seen.add((mass.outline, mass.sides))
        assert len(seen) == 1
        outline, sides = seen.pop()
        assert outline == ((0, 0), (12, 0), (12, 4), (7, 4), (7, 9), (0, 9))
        # Seen from the north, the left end of a side is its eastern one; seen from the east, its southern one.
        assert sides == ("south", "east 1", "north 1", "east 2", "north 2", "west")

    def test_side_by_number_counts_as_listed(self) -> None:
        text = "{units: m, name: L, barrier: {top: roof deck, bottom: slab}, masses: [{name: a, outline: [[0, 9], [5, 9], [5, 0], [0, 0]], storeys: [3], roof: flat}], openings: [{side: side 1, kind: door, size: [1, 2], at: 1}]}"
        house = parse(text)
        assert house.masses[0].sides[house.openings[0].side] == "north"

    def test_skew_sides_take_the_nearest_bearing(self) -> None:
        turn = math.radians(20)
        corners = [
            (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn))
            for x, y in [(0, 0), (8, 0), (8, 5), (0, 5)]
        ]
        text = f"{{units: m, name: S, barrier: {{top: roof deck, bottom: slab}}, masses: [{{name: a, outline: {[list(c) for c in corners]}, storeys: [3], roof: flat}}]}}"
        mass = parse(text).masses[0]
        assert sorted(mass.sides) == ["east", "north", "south", "west"]

    def test_own_top_and_bottom_win_over_the_house(self) -> None:
        text = (
            SMALL.replace(
                "size: [40, 28]", "size: [40, 28], bottom: {kind: basement, level: -7 ft}, top: ceiling"
            )
            + "ceiling: {partition_plates: 90}\n"
        )
        house = parse(text)
        assert house.masses[0].bottom.kind == "basement"
        assert house.masses[0].bottom.level == pytest.approx(-7 * FOOT)
        assert house.masses[0].top == "ceiling"
        assert house.ceiling.partition_plates == pytest.approx(90 * FOOT)


class TestOpenings:
    def test_even_spacing_leaves_equal_clear_distances(self) -> None:
        text = (
            SMALL + "openings:\n  - {side: south, storey: 1, kind: window, size: [4, 5], head: 7, count: 4}\n"
        )
        openings = parse(text).openings
        # Source: by hand, (40 - 4 x 4) / 5 = 4.8 ft clear, then every 8.8 ft. Tolerance: rounding of doubles
        assert [o.offset / FOOT for o in openings] == pytest.approx([4.8, 13.6, 22.4, 31.2], abs=1e-9)
        assert openings[0].sill == pytest.approx(2 * FOOT)
        assert [o.id for o in openings] == [f"main/south/1/window {i}" for i in (1, 2, 3, 4)]

    def test_centers_are_half_a_width_from_the_left_edge(self) -> None:
        text = (
            SMALL
            + "openings:\n  - {side: south, storey: 1, kind: window, size: [4, 5], head: 7, center: [6, 20]}\n"
        )
        # Source: by hand, 6 - 4/2 and 20 - 4/2 ft. Tolerance: rounding of doubles
        assert [o.offset / FOOT for o in parse(text).openings] == pytest.approx([4, 18], abs=1e-9)

    def test_names_of_the_user_stay(self) -> None:
        text = (
            SMALL
            + "openings:\n  - {name: bay, side: south, storey: 1, kind: window, size: [4, 5], sill: 2, at: [1, 9]}\n  - {name: front, side: north, storey: 1, kind: door, size: [3, 7], at: 1}\n"
        )
        assert [o.id for o in parse(text).openings] == ["bay 1", "bay 2", "front"]

    def test_gable_window_may_rise_into_the_triangle(self) -> None:
        text = SMALL + "openings:\n  - {side: east, storey: 2, kind: window, size: [4, 4], sill: 6, at: 12}\n"
        assert parse(text).openings[0].sill == pytest.approx(6 * FOOT)

    def test_leakage_of_a_unit(self) -> None:
        text = (
            SMALL
            + "openings:\n  - {side: south, storey: 1, kind: window, size: [4, 5], sill: 2, at: 1, leakage: 0.3 cfm/ft2}\n"
        )
        leakage = parse(text).openings[0].leakage
        # Source: 1 cfm/ft2 = 0.3048 m/min = 5.08 L/(s m2) exactly. Tolerance: rounding of doubles
        assert leakage is not None
        assert leakage.value == pytest.approx(1.524, abs=1e-12)
        assert leakage.evidence.mark is Mark.STATED

    def test_skylight_sits_on_a_plane(self) -> None:
        text = SMALL + "openings:\n  - {side: north, kind: skylight, size: [2, 4], sill: 5, at: 9}\n"
        assert parse(text).openings[0].storey is None


class TestPenetrations:
    def test_counted_rows_keep_clear_of_openings(self) -> None:
        text = SMALL + (
            "openings:\n  - {side: south, storey: 1, kind: door, size: [10, 7], at: 15}\n"
            "penetrations:\n  - {through: south, storey: 1, kind: box, size: [4 in, 4 in], count: 5, height: 1}\n"
        )
        xs = [x / FOOT for x, _ in parse(text).penetrations[0].places]
        # Source: by hand; free of ends and door by half a box (2 in): 2 x (15 ft - 4 in) = 29 1/3 ft, fifths of it
        free = 2 * (15 - 4 / 12)
        wanted = [free * (i + 0.5) / 5 + 2 / 12 for i in range(5)]
        wanted = [x if x < 15 else x + 10 + 4 / 12 for x in wanted]
        assert xs == pytest.approx(wanted, abs=1e-9)

    def test_rows_on_one_wall_do_not_meet(self) -> None:
        rows = "".join(
            f"  - {{through: south, storey: 1, kind: {k}, diameter: 2, count: 2}}\n"
            for k in ("pipe", "duct", "box")
        )
        places = [p for row in parse(SMALL + "penetrations:\n" + rows).penetrations for p in row.places]
        assert len(set(places)) == 6

    def test_order_of_counted_rows_is_irrelevant(self) -> None:
        rows = [
            f"  - {{through: south, storey: 1, kind: {k}, diameter: 2, count: 2}}\n"
            for k in ("pipe", "duct", "box")
        ]
        one, other = (
            parse(SMALL + "penetrations:\n" + "".join(lines)).penetrations for lines in (rows, reversed(rows))
        )
        assert [(p.id, p.places) for p in one] == [(p.id, p.places) for p in other]

    def test_neighbour_storeys_stand_in_order(self) -> None:
        text = SMALL + "neighbours: [{kind: party wall, side: east, storeys: [2, 1], rated: yes}]\n"
        assert parse(text).neighbours[0].storeys == (0, 1)

    def test_nominal_lumber_is_dressed_size(self) -> None:
        text = (
            SMALL
            + "eaves:\n  - {mass: main, sides: [south, north], kind: rafter tails, section: 2x8, spacing: 24 in}\n"
        )
        tails = parse(text).through
        # Source: American Softwood Lumber Standard PS 20: nominal 2x8 is 1 1/2 by 7 1/4 in dry dressed
        assert [(t.width / INCH, t.depth / INCH) for t in tails] == [pytest.approx((1.5, 7.25))] * 2
        assert any("2x8" in line and "PS 20" in line for line in parse(text).assumed)

    def test_flat_roof_takes_plan_places(self) -> None:
        flat = SMALL.replace("{form: gable, pitch: 6:12, ridge: east-west}", "flat")
        row = parse(
            flat + "penetrations:\n  - {through: roof, kind: pipe, diameter: 3, at: [[10, 12]]}\n"
        ).penetrations[0]
        assert (row.face, row.side, row.places) == ("roof", None, ((10 * FOOT, 12 * FOOT),))


class TestSame:
    def test_feet_and_metres_give_the_same_house(self) -> None:
        us = (HERE / "data" / "twin-us.yaml").read_text()
        metric = (HERE / "data" / "twin-metric.yaml").read_text()
        one, other = parse(us), parse(metric)
        assert close(bare(replace(one, system="us")), bare(replace(other, system="us")))
        assert (one.system, other.system) == ("us", "metric")

    @pytest.mark.parametrize("name", ["saltgrass-house", "kiln-studio", "six-flats"])
    def test_order_in_the_file_is_irrelevant(self, name: str) -> None:
        text = (EXAMPLES / f"{name}.yaml").read_text()
        data = yaml.load(text, Loader=yaml.BaseLoader)
        rng = random.Random(7)
        want = bare(read(EXAMPLES / f"{name}.yaml"))
        for _ in range(3):
            shuffled = {key: data[key] for key in rng.sample(sorted(data), len(data))}
            for key in ("neighbours", "openings", "penetrations", "later"):
                if key in shuffled:
                    shuffled[key] = rng.sample(shuffled[key], len(shuffled[key]))
            again = parse(yaml.dump(shuffled, sort_keys=False, width=10_000))
            assert close(bare(again), want, 0.0)
            shuffled["masses"] = rng.sample(shuffled["masses"], len(shuffled["masses"]))
            again = parse(yaml.dump(shuffled, sort_keys=False, width=10_000))
            assert close(
                unmarked(bare(again)), unmarked(want), 0.0
            )  # marks go by body in the order of the file

    @pytest.mark.parametrize("system", ["us", "metric"])
    def test_starter_is_a_valid_house(self, system: str) -> None:
        house = parse(starter(system))
        assert house.system == system
        assert len(house.openings) == 9
        assert house.penetrations

    def test_starter_of_no_system(self) -> None:
        with pytest.raises(InputError):
            starter("imperial")


class TestExamples:
    def test_demo_house_is_what_it_says(self) -> None:
        house = read(EXAMPLES / "saltgrass-house.yaml")
        kinds = [o.kind for o in house.openings]
        assert (kinds.count("window"), kinds.count("door")) == (16, 4)
        assert 38 <= sum(len(p.places) for p in house.penetrations) <= 44
        assert [m.id for m in house.masses if not m.inside] == ["garage"]
        assert {t.kind for t in house.through} == {"rafter tails"}

    @pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.yaml")), ids=lambda p: p.stem)
    def test_examples_say_that_they_are_invented(self, path: Path) -> None:
        assert "invented" in path.read_text().splitlines()[0]
        assert read(path).masses


class TestRest:
    def test_defaults_are_told_with_their_mark(self) -> None:
        house = parse(SMALL)
        assert any(
            line.startswith("site: ") and "monthly_rain 90 mm" in line and "[estimate]" in line
            for line in house.assumed
        )
        assert house.site.monthly_rain.value == pytest.approx(90.0)
        assert house.site.monthly_rain.evidence.mark is Mark.ESTIMATE
        stated = parse(SMALL + "site: {monthly_rain: 4 in, bare_days: 10, north: 0}\n")
        assert not any(line.startswith("site") for line in stated.assumed)
        assert stated.site.monthly_rain.value == pytest.approx(101.6)
        assert stated.site.monthly_rain.evidence.mark is Mark.STATED

    def test_no_default_for_what_the_house_has_not(self) -> None:
        assert not any(line.startswith("sheathing.ceiling") for line in parse(SMALL).assumed)

    def test_overdriven_found_on_the_job(self) -> None:
        text = (
            SMALL
            + "sheathing: {roof: {nails: {overdriven: {found: 12 %}}}, wall: {nails: {overdriven: 0.1}}}\n"
        )
        house = parse(text)
        assert house.sheathing["roof"].fasteners.overdriven.evidence.mark is Mark.MEASURED
        assert house.sheathing["roof"].fasteners.overdriven.value == pytest.approx(0.12)
        assert house.sheathing["wall"].fasteners.overdriven.evidence.mark is Mark.STATED

    def test_own_product_sheets_keep_their_places(self) -> None:
        text = (
            SMALL
            + "products:\n  - id: house tape\n    width: 4 in\n    dry_film: {min: 12 mil}\n    price: 31.5\n"
        )
        sheet = parse(text, "a.yaml").products[0]
        assert sheet["price"] == 31.5
        assert sheet["width"] == "4 in"
        assert (sheet["_where"].line, sheet["_places"]["price"].line) == (8, 11)  # type: ignore[attr-defined, index]

    def test_aim(self) -> None:
        text = (
            SMALL
            + "aim: {budget: 4000, weights: {air: 2, water: 1}, water_limit: 3 gal, worst_piece: 1 cm2, fixed: [{method: tape, face: main/south}]}\n"
        )
        aim = parse(text).aim
        # Source: 1 US gal = 3.785411784 L exactly (NIST Handbook 44). Tolerance: rounding of doubles
        assert aim.water_limit == pytest.approx(3 * 3.785411784, abs=1e-9)
        assert aim.worst_piece == pytest.approx(1.0)
        assert (aim.air_weight, aim.budget, aim.fixed[0].method, aim.fixed[0].where.line) == (
            2.0,
            4000.0,
            "tape",
            7,
        )

    def test_set_up_of_the_crew_is_a_figure(self) -> None:
        figures = parse(SMALL + "crew: {set_up: {liquid: {money: 12, hours: 0.5}}}\n").figures
        assert {name: figure.value for name, figure in figures.items()} == {
            "setup_hours.liquid": 0.5,
            "setup_money.liquid": 12.0,
        }

    def test_film_of_the_crew_is_figures(self) -> None:
        # Source: 1 mil = 25.4 um exactly. Tolerance: rounding.
        text = "crew: {rate: 48, film: {any: {spread: 1.5 mil, gauge: 2 mil}, my-liquid: {spread: 1 mil, pooled: 45, readings: 12}}}\n"
        figures = {name: figure.value for name, figure in parse(SMALL + text).figures.items()}
        assert figures == pytest.approx(
            {
                "film.hour": 48.0, "film.spread.any": 38.1e-6, "film.gauge.any": 50.8e-6,
                "film.spread.my-liquid": 25.4e-6, "film.pooled.my-liquid": 45.0, "film.readings.my-liquid": 12.0,
            }
        )  # fmt: skip

    def test_surfaces_name_sides_in_one_way(self) -> None:
        text = SMALL + "surfaces: {wall: clean, main/side 1: [damp, dusty]}\n"
        assert parse(text).surfaces == {"wall": ("clean",), "main/south": ("damp", "dusty")}

    def test_building_can_be_copied_without_place(self) -> None:
        assert replace(parse(SMALL).masses[0], where=NOWHERE).where == NOWHERE
