"""What an option takes and what passes a joint, against sums by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from choice_houses import FOOT, K, building, face, hull, paper_house

from hullwright import exposure
from hullwright.building.model import Opening
from hullwright.catalog import load
from hullwright.catalog.loading import Nothing
from hullwright.choice import ask
from hullwright.choice.house import whole
from hullwright.choice.options import Option, spot_of
from hullwright.choice.takes import takes
from hullwright.choice.terms import terms_of
from hullwright.choice.using import access, hours, lost
from hullwright.evidence import STATED, Figure
from hullwright.hull.model import FaceKind

INCH, MIL = 0.0254, 25.4e-6
LIQUID = Option("liquid", "silyl-flashing-20")


def steady():
    """The catalogue of a crew so steady that the sheet's own aim proves it: sums by hand stand on that film."""
    hand = {"film.spread.any": Figure(0.2 * MIL, "m", STATED), "film.gauge.any": Figure(1 * MIL, "m", STATED)}
    return load(Nothing(figures=hand))


def one(kind: K, **changes):
    runs = paper_house()[2].runs
    return replace(next(run for run in runs if run.kind is kind), **changes)


def test_liquid_on_a_seam_fills_its_gap_planned_as_a_filler_or_not():
    # Source: by hand. 10 m of 2 1/4 in x 15 mil dry at 98 % solids is 10·0.05715·(381e-6/0.98) = 222.2 mL; gap 1/8 in filled
    # to the usual depth of 1/4 in 10·0.003175·0.00635 = 201.6 mL; ÷ 0.9 for waste; a sausage is 20 fl oz = 591.47 mL.
    # Tolerance: rounding.
    seam = one(K.SEAM_UPRIGHT, quantity=10.0, gap=INCH / 8, depth=7 / 16 * INCH)
    film, gap = 10 * 2.25 * INCH * 15 * MIL / 0.98, 10 * INCH / 8 * INCH / 4
    for option in (LIQUID, replace(LIQUID, filler="silyl-flashing-20")):
        found = takes(seam, option, steady())
        assert found.packs["silyl-flashing-20"] == pytest.approx((film + gap) / 0.9 / (20 * 29.5735295625e-6))
        assert (found.film, found.gap) == pytest.approx((film, gap))
        assert found.gap_deep == pytest.approx(10 * INCH / 8 * 7 / 16 * INCH), "the whole panel"


def test_rafter_tail_in_liquid():
    # Source: worked detail, 2x8 tail, 2 in legs, 3/8 in fillet: 86.0 in2 of film and 17.5 in of fillet (section L²/2).
    # Tolerance: 0.1 %, the area is printed with three digits.
    tails = one(K.RAFTER_TAIL, quantity=30.0, width=1.5 * INCH, section_depth=7.25 * INCH)
    each = 86.0 * INCH**2 * 15 * MIL / 0.98 + 17.5 * INCH * (3 / 8 * INCH) ** 2 / 2
    found = takes(tails, LIQUID, steady()).packs["silyl-flashing-20"]
    assert found == pytest.approx(30 * each / 0.9 / (20 * 29.5735295625e-6), rel=1e-3)


def test_tape_with_laps_primer_and_blocking():
    # Source: by hand. 30 m in 3 m strips with 2 in laps: 11 strips, 12 laps and ends of 2 in counted: 30.61 m; roll 90 ft less 0.3 m
    # rest, 5 % waste. Primer 30 m x 3 3/4 in at 200 ft2/gal, 10 % waste. Blocking 30 m of 8 ft pieces, 10 % waste.
    # Tolerance: 2 %, one lap more or less.
    seam = one(K.SEAM_UPRIGHT, quantity=30.0, joints=(0,))
    option = Option("tape", "acrylic-seam-tape", primer="surface-primer", blocking="blocking-2x4")
    found = takes(seam, option, load()).packs
    assert found["acrylic-seam-tape"] == pytest.approx(30.61 / 0.95 / (90 * FOOT - 0.3), rel=0.02)
    assert found["surface-primer"] == pytest.approx(30 * 3.75 * INCH / (200 * FOOT**2) / 0.9)
    assert found["blocking-2x4"] == pytest.approx(30 / (8 * FOOT) / 0.9)


def test_pieces_take_one_each():
    assert takes(one(K.PIPE, quantity=5.0), Option("boot", "pipe-boot"), load()).packs == {"pipe-boot": 5.0}
    assert takes(one(K.RAFTER_TAIL, quantity=7.0), Option("cut_tails", "false-tail"), load()).packs == {
        "false-tail": 7.0
    }


@pytest.mark.parametrize(("height", "factor"), [(2.0, 1.0), (3.0, 1.25), (6.0, 1.5), (9.0, 1.8)])
def test_access_by_height(height, factor):
    # Source: the catalogue's own starting values (estimate): steps at 2.5, 5 and 8 m. Tolerance: none.
    catalog = load()
    assert access(height, catalog) == factor
    seam = one(K.SEAM_UPRIGHT, quantity=10.0, height=height)
    assert hours(seam, LIQUID, catalog, practised=True) == pytest.approx(10 * 0.055 * factor)
    assert hours(seam, LIQUID, catalog, practised=False) == pytest.approx(10 * 0.055 * factor * 1.25)
    primed = Option("tape", "x", primer="p", cleaning=True)
    assert hours(seam, primed, catalog, practised=True) == pytest.approx(
        10 * (0.030 + 0.015 + 0.020) * factor
    )


def test_water_of_the_choice_is_that_of_the_exposure():
    # Source: starting rule: monthly rain x bare days ÷ 30 x upslope on roofs and at eaves, x 0.2 x height above on walls; 90 mm,
    # 60 days. Tolerance: rounding.
    stated, shape, joints = paper_house()
    choice = ask(stated, shape, joints).choice
    found = {
        run.id: float(choice.terms.passing[choice.rows(number)[0]]) for number, run in enumerate(joints.runs)
    }
    assert found["main/roof south/horizontal seam"] == pytest.approx(180 * 3.0)
    assert found["main/south/rafter tail"] == pytest.approx(180 * 4.0)
    assert found["main/south/sill to foundation"] == pytest.approx(180 * 5.5 * 0.2)
    assert list(found.values()) == pytest.approx(list(exposure.passing(stated, shape, joints).runs))


def test_fishmouth_on_level_roof_laps_only():
    # Source: starting values: b 25 mm and c 0.8 where a fish-mouth faces upslope, b 50 mm and c 0.1 at seams; craters 10 mm, 0.03.
    # Tolerance: none.
    stated, shape, _ = paper_house()
    faces = {f.id: f for f in shape.faces}
    catalog = load()

    def catches(kind, face_id, method, *, level):
        spot = spot_of(stated, one(kind, face=face_id, level=level), faces[face_id], catalog)
        return terms_of(spot, Option(method, "x"), catalog, practised=True)[3:5]

    assert catches(K.SEAM_LEVEL, "main/roof south", "tape", level=True) == (0.025, 0.8)
    assert catches(K.SEAM_LEVEL, "main/roof south", "liquid", level=True) == (0.05, 0.1)
    assert catches(K.SEAM_UPRIGHT, "main/roof south", "tape", level=False) == (0.05, 0.1)
    assert catches(K.SEAM_UPRIGHT, "main/south", "tape", level=True) == (0.05, 0.1)
    assert catches(K.OVERDRIVEN, "main/roof south", "liquid", level=False) == (0.01, 0.03)


def test_unbacked_seam_left_bare_leaks_more():
    # Source: starting values, 0.35 and (unbacked) 10 cm2/m. Tolerance: none.
    stated, shape, _ = paper_house()
    catalog = load()
    seam = one(K.SEAM_UPRIGHT)
    bare = [
        terms_of(
            spot_of(stated, replace(seam, backed=b), shape.faces[0], catalog),
            Option("unsealed", ""),
            catalog,
            practised=True,
        )
        for b in (True, False)
    ]
    assert [row[0] for row in bare] == [0.35, 10.0]


def window(leakage: Figure | None) -> Opening:
    return Opening("w", "window", "main", 0, 0, 1.2, 1.5, 0.9, 1.0, "vinyl flange", leakage)


def test_other_leakage_by_hand():
    # Source: by hand. 0.3 L/(s m2) at 75 Pa on 1.8 m2 is 1.944 m3/h, at 50 Pa x (50/75)^0.65 = 0.76834: 1.4937 m3/h. Panels 100 m2
    # at 0.001 L/(s m2): 0.27660 m3/h.
    # Tolerance: rounding of the printed digits.
    stated = building(
        openings=(window(Figure(0.3, "L/(s m2)", STATED)),),
        other_leakage={"hood": Figure(7.0, "m3/h", STATED)},
    )
    found = dict(whole(stated, hull([face("main/south", "wall", 100.0)]), load()).other)
    assert found["windows"] == pytest.approx(1.4937, abs=1e-4)
    assert found["through the panels"] == pytest.approx(0.27660, abs=1e-5)
    assert found["hood"] == 7.0


def test_water_limit_scales_with_the_roof():
    # Source: starting rule, 10 L for a house-sized roof (150 m2, estimate). Tolerance: none.
    catalog = load()
    roof = face("main/roof", "roof", 75.0, tilt=30.0, kind=FaceKind.ROOF)
    assert (
        whole(building(aim=replace(building().aim, water_limit=None)), hull([roof]), catalog).water_limit
        == 5.0
    )
    stated = building(aim=replace(building().aim, water_limit=10.0))
    assert whole(stated, hull([roof]), catalog).water_limit == 10.0


def test_air_target_is_the_area_of_the_aim():
    # Source: by hand, 0.6 ACH50 x 611.64 m3 ÷ 4.7919 m3/h per cm2 = 76.58 cm2. Tolerance: last digit.
    assert whole(building(), hull([]), load()).air_target == pytest.approx(76.58, abs=0.01)
    assert math.isclose(whole(building(), hull([]), load()).volume.value, 2400 * 9 * FOOT**3)


def test_setup_counts_its_labour_once_a_sweep():
    # Source: by hand, tape 2 + 0.15 h · 45 = 8.75, liquid 6 + 0.30 h · 45 = 19.50; sheathing and openings are one sweep, services
    # and later things the second. Tolerance: rounding.
    stated, shape, joints = paper_house()
    choice = ask(stated, shape, joints).choice
    instance = choice.instance
    assert instance.setup_money[0, choice.methods.index(("tape", 0))] == pytest.approx(8.75)
    assert instance.setup_money[0, choice.methods.index(("liquid", 1))] == pytest.approx(19.5)
    sweeps = {
        run.kind: {
            choice.methods[int(instance.method[row])][1]
            for row in choice.rows(number)
            if instance.method[row] >= 0
        }
        for number, run in enumerate(choice.runs)
    }
    assert sweeps[K.OPENING_JAMB] == sweeps[K.SEAM_UPRIGHT] == {0}
    assert sweeps[K.PIPE] == {1}


def test_what_cures_in_its_opened_pack_is_lost_by_the_day():
    # Source: by hand: half a pack a crew-day; 24 person-hours of two people at 8 h a day are 1.5 crew-days. Tolerance: none.
    assert lost(LIQUID, load(), 1.5) == 0.75
    assert lost(Option("liquid", "acrylic-flashing-5gal"), load(), 1.5) == 0.0
    assert lost(Option("tape", "acrylic-seam-tape"), load(), 1.5) == 0.0
    assert lost(Option("unsealed", ""), load(), 1.5) == 0.0


def test_evening_loss_is_in_the_use_and_money_of_each_option():
    stated, shape, joints = paper_house()
    choice = ask(stated, shape, joints).choice
    crew, catalog = stated.crew, load()
    for row, option in enumerate(choice.options):
        days = float(choice.instance.hours[row]) / (crew.people * crew.day)
        plain = takes(joints.runs[int(choice.run_of[row])], option, catalog).packs.get(option.product, 0.0)
        if option.product:
            used = float(choice.instance.use[row, choice.products.index(option.product)])
            due = 0.5 * days if catalog.products[option.product].cures_in_pack else 0.0
            assert used == pytest.approx(plain + due)
