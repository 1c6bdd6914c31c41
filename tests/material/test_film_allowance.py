"""How far above its least a film is aimed: exact values against another library, gauges against exact counts and simulation."""

import math

import numpy as np
import pytest
from scipy import optimize, stats

from hullwright.errors import InputError, QuantityError
from hullwright.evidence import ESTIMATE
from hullwright.material.aim import Hand, Range, Worth, aim_for, usual_step
from hullwright.material.allowance import Reads, allowance, chance_at, readings_for
from hullwright.material.film import Liquid
from hullwright.material.stable import LEVEL, Shown, bartlett, pool
from hullwright.material.tolerance import k_factor, k_pooled, lower_bound
from hullwright.units import MIL

SHEET = Range(12 * MIL, 30 * MIL, 15 * MIL, Liquid(0.98))


@pytest.mark.parametrize("n", [3, 5, 10, 20, 40])
@pytest.mark.parametrize("chance", [0.5, 0.9, 0.95])
def test_exact_readings_by_the_noncentral_t_of_another_library(n, chance):
    # Source: power of the k-method: P(xbar - k s >= L) = P(T' >= k sqrt(n)), T' noncentral t with n - 1 and sqrt(n)(mu - L)/sigma
    # (scipy.stats.nct.sf, solved by brentq). Tolerance: 1e-6 relative, of both root searches.
    k = stats.nct.ppf(0.95, n - 1, stats.norm.ppf(0.9) * math.sqrt(n)) / math.sqrt(n)
    delta = optimize.brentq(lambda d: stats.nct.sf(k * math.sqrt(n), n - 1, d) - chance, 0, 60, xtol=1e-12)
    assert allowance(1.5, Reads(n, 0.0), chance) == pytest.approx(1.5 * delta / math.sqrt(n), rel=1e-6)


def test_a_known_spread_has_the_factor_of_the_sigma_method():
    # Source: sigma method (ISO 3951; ISO 16269-6): k = z_p + z_gamma/sqrt(n): by hand 1.281552 + 1.644854/sqrt(10) = 1.801699.
    # Tolerance: last digit. With one lot alone it is the table's k(10) = 2.355 (NBS Handbook 91, Table A-7), printed digit.
    assert k_pooled(10, math.inf) == pytest.approx(1.801699, abs=1e-6)
    assert k_pooled(10, 9) == pytest.approx(2.355, abs=5e-4)
    # Source: the same noncentral t of scipy.stats.nct with 60 degrees of freedom. Tolerance: 1e-8, its stop.
    delta = stats.norm.ppf(0.9) * math.sqrt(10)
    assert k_pooled(10, 60) == pytest.approx(stats.nct.ppf(0.95, 60, delta) / math.sqrt(10), rel=1e-8)
    with pytest.raises(QuantityError, match="degrees of freedom"):
        k_pooled(10, 8)


def test_a_pooled_bound_covers_as_stated():
    # Source: simulation, 20 000 lots of 10 with a spread pooled over three earlier lots of 10. Tolerance: 3.5 standard errors (0.0054).
    rng = np.random.default_rng(11)
    lots, n = 20_000, 10
    own = rng.normal(0, 1, (lots, n))
    variance = (own.var(axis=1, ddof=1) * (n - 1) + rng.chisquare(27, lots)) / (n - 1 + 27)
    bound = own.mean(axis=1) - k_pooled(n, n - 1 + 27) * np.sqrt(variance)
    assert np.mean(bound <= -stats.norm.ppf(0.9)) == pytest.approx(0.95, abs=0.0054)


@pytest.mark.parametrize(
    ("n", "step"), [(3, 1.0), (5, 2.0), (10, 1.0), (10, 2.0), (16, 2.0), (25, 1.0), (40, 2.0)]
)
@pytest.mark.parametrize("spread", [0.2, 0.7, 1.0, 1.5, 2.5])
def test_gauge_readings_are_proved_with_the_wanted_chance_wherever_the_film_lies(n, step, spread):
    # Source: simulation of the rule (middles, s never below step/sqrt(12)), 4 000 lots at each of ten places between two notches.
    # Tolerance: 0.90 less 3.5 standard errors (0.0166) at the worst place, less 1.1 (0.0053) over all ten.
    rng = np.random.default_rng(int(1000 * spread) + n)
    far = allowance(spread, Reads(n, step))
    shares = []
    for place in np.arange(10) / 10:
        mean = 20 + step * place
        film = rng.normal(mean, spread, (4000, n))
        bound = lower_bound((np.floor(film / step) + 0.5) * step, step)
        shares.append(np.mean(bound >= mean - far - 1e-9))
    assert min(shares) >= 0.90 - 0.0166
    assert np.mean(shares) >= 0.90 - 0.0053


@pytest.mark.parametrize(("n", "spread"), [(10, 1.0), (10, 1.5), (20, 2.0), (40, 2.5)])
def test_the_aim_asks_for_no_more_film_than_the_chance_needs(n, spread):
    # Source: the same simulation with 0.30 of the spread taken off the allowance: the chance falls below 0.90.
    # Tolerance: 3.5 standard errors of 20 000 lots (0.0075).
    rng = np.random.default_rng(n)
    far = allowance(spread, Reads(n, 2.0)) - 0.30 * spread
    places = 20 + rng.uniform(0, 2, 20_000)
    film = rng.normal(places[:, None], spread, (20_000, n))
    bound = lower_bound(np.floor(film / 2) * 2 + 1, 2.0) - places
    assert np.mean(bound >= -far) < 0.90 - 0.0075


def test_the_case_that_was_seen():
    # Source: 2 000 simulated lots of 10 readings with a gauge of 2 mil: a crew at 15.3 mil wet, least 12.2, spread 1.5: 30 % proved; at
    # 2.5: 4 %. Tolerance: 3 standard errors (0.031, 0.013).
    assert chance_at(15.3 - 12.2, 1.5, Reads(10, 2.0)) == pytest.approx(0.30, abs=0.031)
    assert chance_at(15.3 - 12.2, 2.5, Reads(10, 2.0)) == pytest.approx(0.04, abs=0.013)


def test_fewest_readings_for_a_film():
    n = readings_for(4.0, 1.5, 2.0)
    assert n is not None
    assert allowance(1.5, Reads(n, 2.0)) <= 4.0 < allowance(1.5, Reads(n - 1, 2.0))
    assert readings_for(1.0, 1.5, 2.0) is None


def test_aim_is_least_and_what_the_readings_need():
    found = aim_for(SHEET, Hand(1.5 * MIL, ESTIMATE, 2 * MIL, 10))
    assert found.rule == "readings"
    assert found.aim_wet == pytest.approx(
        12 / 0.98 * MIL + allowance(1.5 * MIL, Reads(10, 2 * MIL)), rel=1e-9
    )
    assert found.chance >= 0.90
    assert (found.least, found.greatest) == (12 * MIL, 30 * MIL)


def test_a_steady_crew_lays_the_sheets_own_aim():
    found = aim_for(SHEET, Hand(0.4 * MIL, ESTIMATE, 1 * MIL, 10))
    assert (found.rule, found.aim) == ("sheet", 15 * MIL)
    assert found.needed < found.aim
    assert found.chance > 0.99


def test_never_above_the_greatest_and_says_what_would_do():
    tight = Range(12 * MIL, 16 * MIL, 15 * MIL, Liquid(0.98))
    found = aim_for(tight, Hand(1.5 * MIL, ESTIMATE, 2 * MIL, 10))
    assert (found.aim, found.rule, found.provable) == (16 * MIL, "greatest", False)
    assert found.chance < 0.90
    room, instead = 4 / 0.98 * MIL, found.instead
    assert instead is not None
    assert instead.readings is not None
    assert instead.spread is not None
    for spread, reads in (
        (1.5 * MIL, Reads(instead.readings, 2 * MIL)),
        (instead.spread, Reads(10, 2 * MIL)),
    ):
        assert allowance(spread, reads) <= room
    assert instead.step is None  # no finer gauge alone: even exact readings need 4.67 mil
    assert allowance(1.5 * MIL, Reads(10, 0.0)) > room
    finer = aim_for(Range(12 * MIL, 16.6 * MIL, 0, Liquid(0.98)), Hand(1.4 * MIL, ESTIMATE, 2 * MIL, 10))
    assert finer.instead is not None
    assert finer.instead.step == pytest.approx(1 * MIL)


def test_readings_left_open_are_chosen_for_the_least_money():
    # Source: film and readings of each number written out here. Tolerance: none, the cheapest of the numbers tried.
    worth = Worth(6.0 / MIL, 1.0)  # 6 money a mil over the lot, 1 a reading
    found = aim_for(SHEET, Hand(2 * MIL, ESTIMATE, 2 * MIL), worth)
    cost = {
        n: 6.0 * aim_for(SHEET, Hand(2 * MIL, ESTIMATE, 2 * MIL, n)).aim / MIL + n
        for n in (10, 12, 14, 16, 18, 20)
    }
    assert found.readings == min(cost, key=cost.__getitem__)
    assert found.readings > 10
    # film for nothing: the fewest; film without end of price: the most that are usual
    assert aim_for(SHEET, Hand(2 * MIL, ESTIMATE, 2 * MIL), Worth(0.0, 1.0)).readings == 10
    assert aim_for(SHEET, Hand(2 * MIL, ESTIMATE, 2 * MIL), Worth(1e9, 1.0)).readings == 20


def test_readings_left_open_grow_until_the_greatest_film_holds():
    tight = Range(12 * MIL, 16 * MIL, 15 * MIL, Liquid(0.98))
    found = aim_for(tight, Hand(1.5 * MIL, ESTIMATE, 2 * MIL))
    assert found.provable
    assert found.readings > 10
    assert found.aim <= 16 * MIL


def test_a_usual_gauge_has_wider_steps_at_thicker_films():
    # Source: ASTM D4414-95(2020), 7.1.2: 0.5 mil to 6, 1 to 10, 2 to 30, 5 above. Tolerance: none.
    assert [round(usual_step(wet * MIL) / MIL, 6) for wet in (5, 6, 6.1, 10, 11, 30, 30.1)] == [
        0.5, 0.5, 1.0, 1.0, 2.0, 2.0, 5.0,
    ]  # fmt: skip
    thick = aim_for(Range(12 * MIL, 30 * MIL, 0, Liquid(0.5)), Hand(3 * MIL, ESTIMATE, readings=10))
    assert thick.hand.step == pytest.approx(5 * MIL)  # 24 mil wet least, aimed over 30: the step there


def test_a_pooled_spread_lowers_the_aim():
    alone = aim_for(SHEET, Hand(1.5 * MIL, ESTIMATE, 2 * MIL, 10))
    pooled = aim_for(SHEET, Hand(1.5 * MIL, ESTIMATE, 2 * MIL, 10, pooled=40))
    assert pooled.aim < alone.aim - 0.5 * MIL


def test_films_out_of_order_are_refused():
    for films in ((12, 10, 0), (12, 30, 11), (12, 14, 15), (0, 10, 0)):
        with pytest.raises(InputError):
            Range(*(film * MIL for film in films), Liquid(1.0))
    with pytest.raises(InputError):
        Hand(-1.0, ESTIMATE)
    with pytest.raises(InputError):
        Hand(1.0, ESTIMATE, readings=2)
    with pytest.raises(QuantityError):
        Reads(2, 1.0)
    with pytest.raises(QuantityError):
        allowance(math.nan, Reads(10, 1.0))


def test_bartlett_is_that_of_another_library():
    # Source: scipy.stats.bartlett on the same samples. Tolerance: 1e-9 relative.
    rng = np.random.default_rng(2)
    samples = [rng.normal(0, s, n) for s, n in ((1, 10), (1.5, 12), (1.1, 20), (0.8, 7))]
    lots = [Shown(float(x.std(ddof=1)), len(x) - 1) for x in samples]
    assert bartlett(lots) == pytest.approx(stats.bartlett(*samples).pvalue, rel=1e-9)


def test_tests_for_a_change_keep_their_level_with_a_gauge():
    # Source: simulation, 4 000 crews of four lots of 10 at one spread, read by steps of 2. Tolerance: the level 0.05 and 3.5 standard
    # errors (0.012); the rounding may only take away (a guarded spread is never below the floor).
    rng = np.random.default_rng(4)
    for spread in (1.0, 1.5, 3.0):
        film = rng.normal(15 + rng.uniform(0, 2, (4000, 4, 1)), spread, (4000, 4, 10))
        sd = np.maximum((np.floor(film / 2) * 2 + 1).std(axis=2, ddof=1), 2 / math.sqrt(12))
        pools = [pool([Shown(float(one), 9) for one in row[:3]]) for row in sd]
        assert np.mean([not found.stable for found in pools]) <= LEVEL + 0.012
        grew = [found.grew(Shown(float(row[3]), 9)) for found, row in zip(pools, sd, strict=True)]
        assert np.mean(grew) <= LEVEL + 0.012


def test_a_change_is_found():
    # Source: F(0.95; 9, 27) = 2.250 (printed tables of F): a spread 1.6 times the pooled one, 2.56, is a change, 1.45 times, 2.10, is none.
    earlier = pool([Shown(1.0, 9)] * 3)
    assert earlier is not None
    assert earlier.grew(Shown(1.6, 9))
    assert not earlier.grew(Shown(1.45, 9))
    assert not pool([Shown(1.0, 9), Shown(1.0, 9), Shown(2.6, 9)]).stable
    assert not pool([Shown(1.0, 9)] * 2).stable  # two lots show nothing yet
    assert not pool([Shown(1.0, 4)] * 4).stable  # nor sixteen degrees of freedom
    assert pool([Shown(1.0, 9)] * 14).lots == 10
    assert k_pooled(10, 9 + earlier.df) < k_factor(10)
