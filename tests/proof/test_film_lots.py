"""Combs, lots, planning, area and spot rules, textbook acceptance."""

import math
from datetime import date

import jsonschema
import numpy as np
import pytest

from hullwright.errors import InfeasibleError, InputError, QuantityError
from hullwright.material.tolerance import k_factor, lower_bound
from hullwright.proof import acceptance, pa2, planning
from hullwright.proof.comb import Comb
from hullwright.proof.gauge_verdict import Verdict
from hullwright.proof.lots import Answer, LotKey, Need, Placed, assess, to_json
from hullwright.units import FOOT, MIL

# Source: ASTM D4414-95(2020), 7.1.2, example tab: 0.5 mil steps to 6, 1 to 10, 2 to 30, 5 above.
TAB = Comb(
    tuple(mil * MIL for mil in [*np.arange(0.5, 6, 0.5), *range(6, 10), *range(10, 30, 2), 30, 35, 40])
)
KEY = LotKey("liquid", "B", date(2024, 5, 3), "wood panel")


def lot(mils, comb=TAB):
    return [Placed(comb.read(None if mil is None else mil * MIL), f"J{i}") for i, mil in enumerate(mils)]


def test_reading_is_an_interval():
    # Source: ASTM D4414: film between the last coated and the next uncoated notch. Tolerance: rounding.
    reading = TAB.read(20 * MIL)
    assert (reading.low / MIL, reading.high / MIL) == pytest.approx((20, 22), rel=1e-12)
    assert TAB.read(None).high == pytest.approx(0.5 * MIL)
    assert math.isinf(TAB.read(40 * MIL).high)
    assert TAB.read(40 * MIL).middle == 40 * MIL
    assert TAB.read(40 * MIL).step == pytest.approx(5 * MIL)
    assert TAB.step_at(21 * MIL) == pytest.approx(2 * MIL)


def test_dry_interval_and_verdict():
    # Source: DFT = WFT * VS / (1 + T) (ASTM D4414 4.2); DFT 12, VS .60 needs WFT 20, 10 % thinned 22.0. Tolerance: rounding.
    assert Need(12 * MIL, 0.6).least_wet / MIL == pytest.approx(20.0, rel=1e-12)
    assert Need(12 * MIL, 0.6, 0.1).least_wet / MIL == pytest.approx(22.0, rel=1e-12)
    assert TAB.read(20 * MIL).judge(Need(12 * MIL, 0.6).least_wet) is Verdict.ENOUGH
    assert (
        TAB.read(18 * MIL).judge(Need(12 * MIL, 0.6).least_wet) is Verdict.CLOSE
    )  # 18-20 wet: 10.8-12.0 dry
    assert TAB.read(16 * MIL).judge(Need(12 * MIL, 0.6).least_wet) is Verdict.THIN
    assert TAB.read(20 * MIL).judge(Need(12 * MIL, 0.6, 0.1).least_wet) is Verdict.CLOSE


@pytest.mark.parametrize(
    "teeth", [(), (20e-6,), (20e-6, 20e-6), (30e-6, 20e-6), (0.0, 1e-6), (1e-6, math.nan)]
)
def test_bad_tooth_lists_are_refused(teeth):
    with pytest.raises(InputError, match="tooth list"):
        Comb(teeth)


def test_impossible_pairs_are_refused():
    assert TAB.between(20 * MIL, 22 * MIL).low == pytest.approx(20 * MIL)
    assert math.isinf(TAB.between(40 * MIL, None).high)
    for pair in ((20 * MIL, 24 * MIL), (21 * MIL, 22 * MIL), (None, None), (30 * MIL, None)):
        with pytest.raises(QuantityError):
            TAB.between(*pair)
    for solids, thinner in ((0, 0), (1.1, 0), (0.5, -0.1)):
        with pytest.raises(QuantityError, match="solids"):
            TAB.read(20 * MIL).dry(solids, thinned=thinner)


def test_proved_lot():
    # Source: hand-computed bound of these ten readings, 16.24 mil wet (k 2.355, s 2.5298). Tolerance: printed digit.
    result = assess(KEY, lot([20, 22, 18, 24, 20, 22, 20, 26, 22, 18]), Need(16 * MIL, 1.0))
    assert result.answer is Answer.PROVED
    assert result.bound is not None
    assert result.bound / MIL == pytest.approx(16.24, abs=0.01)
    assert result.more == 0
    assert result.thin_at == ()


def test_wet_is_compared_with_wet():
    """Bound 16.24 mil wet; 16 mil *dry* at 60 % needs 26.7 mil wet: the lot is thin, though 16.24 > 16."""
    readings = lot([20, 22, 18, 24, 20, 22, 20, 26, 22, 18])
    assert assess(KEY, readings, Need(16 * MIL, 0.6)).answer is Answer.THIN
    assert assess(KEY, readings, Need(16 * 0.6 * MIL, 0.6)).answer is Answer.PROVED


def test_not_yet_says_how_many_and_they_suffice():
    result = assess(KEY, lot([20, 22, 18, 24, 20, 22, 20, 26, 22, 18]), Need(17.5 * MIL, 1.0))
    assert result.answer is Answer.NOT_YET
    assert result.more is not None
    middles = np.array([21, 23, 19, 25, 21, 23, 21, 27, 23, 19]) * MIL
    mean, s, n = middles.mean(), middles.std(ddof=1), 10 + result.more
    assert mean - k_factor(n) * s >= 17.5 * MIL > mean - k_factor(n - 1) * s


def test_thin_lot_says_where():
    result = assess(KEY, lot([20, 22, 14, 24, 20, 12, 20, 26, 22, 18]), Need(20 * MIL, 1.0))
    assert result.answer is Answer.THIN
    assert result.more is None
    assert result.thin_at[:2] == ("J5", "J2")
    assert "J5" in result.sentence()


def test_thin_lot_without_a_surely_thin_reading_still_says_where():
    result = assess(KEY, lot([20] * 6), Need(21 * MIL, 1.0))
    assert result.answer is Answer.THIN
    assert len(result.thin_at) == 6


def test_few_or_no_readings_prove_nothing():
    assert assess(KEY, [], Need(12 * MIL, 0.6)).answer is Answer.NOT_YET
    two = assess(KEY, lot([40, 40]), Need(1 * MIL, 1.0))
    assert (two.answer, two.more, two.bound) == (Answer.NOT_YET, 8, None)


def test_all_teeth_wet_counts_as_the_last_tooth():
    result = assess(KEY, lot([40] * 5), Need(20 * MIL, 1.0))
    assert result.mean == pytest.approx(40 * MIL)
    # Source: by hand 40 - k(5)*5/sqrt(12) = 40 - 3.407*1.4434 = 35.08 mil. Tolerance: 0.01.
    assert result.bound / MIL == pytest.approx(35.08, abs=0.01)


def test_json_has_the_fixed_keys():
    out = to_json([assess(KEY, lot([20] * 5), Need(12 * MIL, 0.6)), assess(KEY, [], Need(12 * MIL, 0.6))])
    keys = ["id", "readings", "mean_um", "sd_um", "bound_um", "minimum_um", "answer", "more_readings"]
    schema = {
        "required": ["schema", "cautions", "lots"],
        "properties": {
            "lots": {
                "items": {"required": keys, "properties": {"answer": {"enum": ["proved", "not yet", "thin"]}}}
            }
        },
    }
    jsonschema.validate(out, schema)
    assert out["lots"][0]["minimum_um"] == pytest.approx(508.0)  # 20 mil wet


def test_units_do_not_change_the_answer():
    mils = [20, 22, 18, 24, 20, 22, 20, 26, 22, 18]
    by_mil = assess(KEY, lot(mils), Need(17 * MIL, 1.0))
    metric = Comb(tuple(tooth / MIL for tooth in TAB.teeth))
    same = assess(KEY, [Placed(metric.read(float(m)), "J") for m in mils], Need(17.0, 1.0))
    assert by_mil.bound / MIL == pytest.approx(same.bound, rel=1e-9)


def test_chance_to_prove_matches_simulation():
    # Source: simulation of the rule itself, 4 000 lots. Tolerance: 3.5 standard errors (2.8 %).
    rng = np.random.default_rng(5)
    for n, mean, sd in ((10, 25.3, 1.6), (20, 24.0, 2.0), (5, 27.0, 2.2)):
        film = rng.normal(mean + rng.uniform(-1, 1, (4000, 1)), sd, (4000, n))
        share = np.mean(lower_bound(np.floor(film / 2) * 2 + 1, 2.0) >= 20)
        smeared = planning.chance_to_prove(n, mean + np.linspace(-1, 1, 21), sd, least=20, step=2.0).mean()
        assert share == pytest.approx(smeared, abs=0.028)


def test_chance_at_the_limit_is_the_risk():
    # Source: definition: where exactly 10 % is too thin, the exact bound accepts 5 % of lots. Tolerance: 2e-4 quadrature.
    limit = 20 + 1.2815515655446004 * 2
    for n in (3, 10, 30):
        assert float(planning.chance_to_prove(n, limit, 2.0, least=20, step=0)) == pytest.approx(
            0.05, abs=2e-4
        )


def test_planning_readings():
    n = planning.readings_for(25, 2, least=20, step=2)
    # Source: the other sum of the same chance (smooth, mean over the places between notches). Tolerance: readings_for asks for the worst
    # place, up to 0.02 more, which two readings are worth here.
    chance = [float(planning.chance_to_prove(m, 25, 2, least=20, step=2)) for m in (n - 2, n)]
    assert chance[0] < 0.9 <= chance[1]
    with pytest.raises(InfeasibleError, match="no practical number"):
        planning.readings_for(21, 2, least=20, step=2)
    curve = planning.operating_curve(10, 2.0, least=20.0, step=2.0)
    assert (np.diff(curve.chance) > -1e-12).all()
    assert curve.to_json()["readings"] == 10


@pytest.mark.parametrize(
    ("square_feet", "areas"),
    [(2800, 5), (12_500, 15), (28_000, 30), (250, 3), (300, 3), (301, 3), (1000, 3), (1001, 4)],
)
def test_number_of_areas(square_feet, areas):
    # Source: SSPC-PA 2, published examples 2 800 -> 5/25/75, 12 500 -> 15/75/225, 28 000 -> 30/150/450; the rest by its rule.
    # Tolerance: none, whole numbers.
    found = pa2.sampling(square_feet * FOOT**2)
    assert (found.areas, found.spots, found.readings) == (areas, 5 * areas, 15 * areas)


def test_spot_limits():
    # Source: SSPC-PA 2, published example: 8-12 mil, level 3: 6.4 and 14.4 mil; one stated value 3 mil: 2.4 to 3.6.
    found = pa2.limits(8, 12)
    assert (found.spot_low, found.spot_high) == pytest.approx((6.4, 14.4), rel=1e-12)
    assert (found.area_low, found.area_high) == (8, 12)
    one = pa2.limits(3)
    assert (one.area_low, one.area_high) == pytest.approx((2.4, 3.6), rel=1e-12)
    assert pa2.limits(8, 12, level=5).spot_high is None
    for bad in ((8, 12, 6), (12, 8, 3), (0, None, 3)):
        with pytest.raises(QuantityError):
            pa2.limits(bad[0], bad[1], level=bad[2])


def test_spots_and_areas_are_judged_apart():
    judged = pa2.judge({"a": [9, 9, 9, 9, 6.4], "b": [7, 7, 7, 7, 7]}, pa2.limits(8, 12))
    assert (judged.accepted, judged.bad_spots, judged.bad_areas) == (False, (), ("b",))
    assert judged.to_json()["cautions"][0]["source"].startswith("SSPC-PA 2")
    with pytest.raises(QuantityError, match="spots"):
        pa2.judge({"a": [9, 9]}, pa2.limits(8, 12))


def test_standard_example_of_the_k_method():
    # Source: MIL-STD-414, Example B-1: lot 40, code D, n 5, AQL 1 %, upper limit 209, k 1.53: mean 195, s 8.81, Q_U 1.59, accept.
    # Tolerance: printed digits (the standard prints 8.81 for 8.803).
    found = acceptance.k_method([197, 188, 184, 205, 201], 209, 1.53, upper=True)
    assert found.mean == 195
    assert found.sd == pytest.approx(8.81, abs=0.01)
    assert found.index == pytest.approx(1.59, abs=0.005)
    assert found.accepted


def test_textbook_designs():
    # Source: quality-control textbook, burst strength of bottles, LSL 225, mean 255, s 15: n 40, k 1.9, Z 2.00 accepted; the open
    # textbook on acceptance sampling with R, chapter 3: n 42, k 1.905285 by the noncentral t. Tolerance: printed digits.
    risks = acceptance.Risks(0.01, 0.06, 0.05, 0.10)
    assert acceptance.design_normal(risks).k_low == pytest.approx(1.893, abs=5e-4)
    assert acceptance.design_normal(risks).n == pytest.approx(40.2, abs=0.05)
    exact = acceptance.design_exact(risks)
    assert exact.n == 42
    assert exact.k_high == pytest.approx(1.905285, abs=5e-7)
    assert acceptance.chance_accepted(0.01, n=40, k=1.9) == pytest.approx(0.948, abs=5e-4)
    assert acceptance.chance_accepted(0.06, n=40, k=1.9) == pytest.approx(0.105, abs=5e-4)
    bottles = [255 - 15 * math.sqrt(0.5), 255 + 15 * math.sqrt(0.5)]
    assert acceptance.k_method(bottles, 225, 1.9).index == pytest.approx(2.0, abs=1e-12)
    with pytest.raises(QuantityError):
        acceptance.Risks(0.06, 0.01)
    with pytest.raises(InfeasibleError):
        acceptance.design_exact(risks, most=20)
