"""Film sums against the trade's definitions and printed figures."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hullwright.errors import InputError
from hullwright.material import balance, film
from hullwright.material.film import NO_GAP, Gap, Line, Liquid
from hullwright.units import FLUID_OUNCE, FOOT, GALLON, INCH, MIL

FT_PER_GAL = FOOT**2 / GALLON


def test_one_gallon_covers_1604_square_feet_at_one_mil():
    # Source: definition, 1 US gal = 231 in3 (NIST Handbook 44 App. C); 231/144/0.001 = 1604.1667
    # Tolerance: printed to 4 decimals
    assert pytest.approx(1604.1667, abs=5e-5) == film.COVERAGE_US


def test_one_litre_covers_a_thousand_square_metres_at_one_micrometre():
    # Source: 1 L over 1 m2 = 1 mm, by definition of the litre
    # Tolerance: float rounding
    assert film.theoretical_spread(1e-6, 1.0) * 1e-3 == pytest.approx(1000.0, rel=1e-12)


def test_square_foot_per_gallon_in_metric():
    # Source: 0.09290304 m2 / 3.785411784 L = 0.0245424 m2/L
    # Tolerance: printed to 7 decimals
    spread = film.theoretical_spread(film.COVERAGE_US * MIL, 1.0)  # 1 ft2/gal
    assert spread * 1e-3 == pytest.approx(0.0245424, abs=5e-8)


def test_dry_12_mil_at_60_per_cent():
    # Source: DFT = WFT·VS (ASTM D4414 4.2): 12/0.60 = 20 mil; 1604.1667/20 = 80.21 ft2/gal; thinned 10 %: 22.0 mil
    # Tolerance: printed rounding
    assert film.wet_film(12 * MIL, 0.6) / MIL == pytest.approx(20.0, rel=1e-12)
    assert film.theoretical_spread(12 * MIL, 0.6) / FT_PER_GAL == pytest.approx(80.21, abs=0.005)
    assert film.wet_film(12 * MIL, 0.6, thinned=0.1) / MIL == pytest.approx(22.0, rel=1e-12)
    assert film.dry_film(22 * MIL, 0.6, thinned=0.1) / MIL == pytest.approx(12.0, rel=1e-12)


def test_the_two_conventions_for_waste_differ_at_15_per_cent():
    # Source: 1/(1 − 0.15) = 1.17647: 17.6 % more, not 15 %
    # Tolerance: printed to 0.1 %
    more = Liquid(1.0, waste=0.15).bought_per_laid - 1
    assert 100 * more == pytest.approx(17.6, abs=0.05)
    assert film.practical_spread(12 * MIL, Liquid(0.6, waste=0.15)) / FT_PER_GAL == pytest.approx(
        80.2083 * 0.85, abs=1e-3
    )


def test_thinner_is_not_bought_as_product():
    # Source: hand: 1 L thinned 10 % makes 1.1 L of mix, but leaves the solids of 1 L
    # Tolerance: float rounding
    plain = Line(0.1, 300e-6, Liquid(0.6))
    thinned = Line(0.1, 300e-6, Liquid(0.6, thinned=0.1))
    assert thinned.wet == pytest.approx(plain.wet * 1.1, rel=1e-12)
    assert thinned.bought == pytest.approx(plain.bought, rel=1e-12)


# Source: ft per volume of a film W in wide, t mil wet: V/(W·t/1000)/12 (hand table, film of 1 gal = 231 in3)
# Tolerance: half the last printed digit (36.09375/0.432 = 83.5503 is printed 83.6)
FILMS = [
    (2, (12, 20, 30), (802, 481, 321), (63.3, 38.0, 25.3), (125, 75.2, 50.1), (182, 109, 72.7), (0.175, 0.226, 0.276)),
    (3, (12, 20, 30), (535, 321, 214), (42.2, 25.3, 16.9), (83.6, 50.1, 33.4), (121, 72.7, 48.5), (0.214, 0.276, 0.339)),
    (4, (12, 20, 30), (401, 241, 160), (31.6, 19.0, 12.7), (62.7, 37.6, 25.1), (90.9, 54.5, 36.3), (0.247, 0.319, 0.391)),
    (6, (12, 20, 30), (267, 160, 107), (21.1, 12.7, 8.44), (41.8, 25.1, 16.7), (60.6, 36.3, 24.2), (0.303, 0.391, 0.479)),
    (9, (12, 20, 30), (178, 107, 71.3), (14.1, 8.44, 5.63), (27.9, 16.7, 11.1), (40.4, 24.2, 16.2), (0.371, 0.479, 0.586)),
]  # fmt: skip


def half_digit(printed: float) -> float:
    """Half a unit in the last printed digit (3 figures or fewer), a hair more for halves that were rounded up."""
    text = f"{printed:g}"
    places = len(text.partition(".")[2])
    return 0.5 * 10.0**-places * (1 + 1e-6)


@pytest.mark.parametrize("row", FILMS, ids=lambda row: f"{row[0]} in")
def test_table_of_films(row):
    width, wets, gallon, ten, twenty, twentynine, beads = row
    for i, wet in enumerate(wets):
        line = Line(width * INCH, wet * MIL, Liquid(1.0))
        for volume, printed in (
            (GALLON, gallon[i]),
            (10.1 * FLUID_OUNCE, ten[i]),
            (20 * FLUID_OUNCE, twenty[i]),
            (29 * FLUID_OUNCE, twentynine[i]),
        ):
            assert line.length_per(volume) / FOOT == pytest.approx(printed, abs=half_digit(printed)), (
                width,
                wet,
            )
        assert line.bead / INCH == pytest.approx(beads[i], abs=half_digit(beads[i]))


def test_four_inches_at_20_mil():
    # Source: D = sqrt(4·4·20/(1000·π)) = .3192 in; 36.094/(12·.08) = 37.60 ft per 20 fl oz (hand)
    # Tolerance: printed rounding
    line = Line(4 * INCH, 20 * MIL, Liquid(1.0))
    assert line.bead / INCH == pytest.approx(0.3192, abs=5e-5)
    assert line.length_per(20 * FLUID_OUNCE) / FOOT == pytest.approx(37.60, abs=0.005)


def test_a_filled_gap_takes_a_third():
    # Source: hand: 12·(3·.020 + .125·.25) = 1.095 in3/ft, gap 34 %; 36.094/1.095 = 33.0 ft per 20 fl oz
    # Tolerance: printed rounding
    line = Line(3 * INCH, 20 * MIL, Liquid(1.0), Gap(INCH / 8, INCH / 4))
    assert line.section * FOOT / INCH**3 == pytest.approx(1.095, abs=5e-4)
    assert line.gap_share == pytest.approx(0.34, abs=0.005)
    assert line.length_per(20 * FLUID_OUNCE) / FOOT == pytest.approx(33.0, abs=0.05)
    # Source: hand: sqrt(4·(.06 + .03125)/π) = .3409 in
    assert line.bead_with_gap / INCH == pytest.approx(0.3409, abs=5e-5)


def test_a_gap_right_through_a_panel():
    # Source: hand: 12·.125·.4375 = 0.656 in3/ft
    # Tolerance: printed rounding
    assert Gap(INCH / 8, 7 / 16 * INCH).section * FOOT / INCH**3 == pytest.approx(0.656, abs=5e-4)


def test_what_wider_and_thicker_costs():
    # Source: hand: 3.75/2.25 = 1.667, 22/15 = 1.467; savings 40.0 %, 31.8 %, both 59.1 %
    # Tolerance: printed to 1 % and 0.1 %
    def bought(width: float, dry: float) -> float:
        return Line(width * INCH, dry * MIL, Liquid(0.97)).bought

    sheet = bought(2.25, 15)
    assert bought(3.75, 15) / sheet == pytest.approx(1.67, abs=0.005)
    assert bought(2.25, 22) / sheet == pytest.approx(1.47, abs=0.005)
    assert 100 * (1 - sheet / bought(3.75, 15)) == pytest.approx(40.0, abs=0.05)
    assert 100 * (1 - sheet / bought(2.25, 22)) == pytest.approx(31.8, abs=0.05)
    assert 100 * (1 - sheet / bought(3.75, 22)) == pytest.approx(59.1, abs=0.05)


def test_mass_balance_turns_the_spread_round():
    # Source: hand: 1 gal on 100 ft2 is 16.04 mil wet, at 60 % 9.63 mil dry
    # Tolerance: printed rounding
    mean = balance.mass_balance(GALLON, 100 * FOOT**2, Liquid(0.6))
    assert mean.wet / MIL == pytest.approx(16.04, abs=0.005)
    assert mean.dry / MIL == pytest.approx(9.625, abs=0.005)
    # Source: hand: thinned 10 % the comb reads 17.65 mil, and it dries to the same film
    thin = balance.mass_balance(GALLON, 100 * FOOT**2, Liquid(0.6, thinned=0.1))
    assert thin.wet / MIL == pytest.approx(17.65, abs=0.005)
    assert thin.dry == pytest.approx(mean.dry)


def test_waste_is_learned_from_the_job():
    # Source: hand: 20 mil on 68.18 ft2 is 0.85 gal; of 1 gal opened 15 % was lost
    # Tolerance: rounding of 68.18
    assert balance.learned_waste(20 * MIL, 68.177 * FOOT**2, GALLON) == pytest.approx(0.15, abs=1e-4)
    with pytest.raises(
        InputError, match=r"4\.719 L laid, 3\.785 L opened"
    ):  # Source: hand: 20 mil on 100 ft2
        balance.learned_waste(20 * MIL, 100 * FOOT**2, GALLON)


@pytest.mark.parametrize("solids", [0.0, -0.1, 1.01, 60, math.nan, math.inf, True, "0.6", None])
def test_solids_outside_0_to_1_are_refused(solids):
    with pytest.raises(InputError, match="solids"):
        Liquid(solids)


def test_percent_solids_get_a_hint():
    with pytest.raises(InputError, match=r"for 60 per cent give 0\.6"):
        Liquid(60)


@pytest.mark.parametrize("bad", [0.0, -1e-3, math.nan, math.inf, -math.inf])
def test_sizes_must_be_finite_and_above_zero(bad):
    with pytest.raises(InputError):
        Line(bad, 1e-4, Liquid(1.0))
    with pytest.raises(InputError):
        Line(0.1, bad, Liquid(1.0))
    with pytest.raises(InputError):
        Line(0.1, 1e-4, Liquid(1.0)).length_per(bad)
    with pytest.raises(InputError):
        balance.mass_balance(1e-3, bad, Liquid(1.0))


@pytest.mark.parametrize("waste", [-0.01, 1.0, 1.5, math.nan])
def test_waste_must_stay_below_one(waste):
    with pytest.raises(InputError, match="waste"):
        Liquid(0.6, waste=waste)


def test_every_problem_at_once():
    with pytest.raises(InputError) as caught:
        Liquid(2.0, thinned=-1.0, waste=1.0)
    assert [problem.where.key for problem in caught.value.problems] == ["solids", "thinned", "waste"]


def test_a_gap_needs_its_depth():
    with pytest.raises(InputError, match="together"):
        Gap(0.003, 0.0)
    with pytest.raises(InputError, match="together"):
        Gap(0.0, 0.003)
    assert Gap(0.0, 0.0) == NO_GAP


def test_a_film_must_be_wider_than_its_gap():
    with pytest.raises(InputError, match="wider than the gap"):
        Line(0.01, 1e-4, Liquid(1.0), Gap(0.01, 0.01))


def test_weight_solids_alone_are_refused():
    with pytest.raises(InputError, match="by weight only"):
        balance.solids_by_volume(None, 0.7)
    with pytest.raises(InputError, match="no solids"):
        balance.solids_by_volume(None)
    assert balance.solids_by_volume(0.5, 0.7) == 0.5


SIZE = st.floats(0.02, 0.5)
THIN = st.floats(1e-4, 2e-3)
SOLIDS = st.floats(0.2, 1.0)


@given(SIZE, THIN, SOLIDS, st.floats(0.1, 10))
def test_scale_laws(width, dry, solids, k):
    line = Line(width, dry, Liquid(solids))
    assert Line(width, dry * k, Liquid(solids)).bought == pytest.approx(k * line.bought, rel=1e-9)
    assert Line(width * k, dry * k, Liquid(solids)).bead == pytest.approx(k * line.bead, rel=1e-9)
    assert line.length_per(k * 1e-3) == pytest.approx(k * line.length_per(1e-3), rel=1e-9)


@given(SIZE, THIN, SOLIDS, st.floats(0, 0.015), st.floats(1e-3, 0.02))
def test_a_gap_never_makes_a_pack_go_farther(width, dry, solids, gap, depth):
    filled = Gap(gap, depth) if gap else NO_GAP
    line = Line(width, dry, Liquid(solids), filled)
    assert line.length_per(6e-4) <= Line(width, dry, Liquid(solids)).length_per(6e-4) * (1 + 1e-12)
    assert 0 <= line.gap_share < 1
