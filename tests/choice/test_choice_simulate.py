"""Simulation: its means are those of the sums, its spread is that of its factors."""

from __future__ import annotations

import math

import numpy as np
import pytest

from hullwright.choice.drainage import Drainage
from hullwright.choice.simulate import RAIN_DRAWS, Spreads, band, draw
from hullwright.choice.sums import Terms
from hullwright.exposure import Links


def terms(n: int, *, flaws: float = 0.02, sound: float = 0.02, open_: float = 0.0) -> Terms:
    one = np.ones(n)
    quantity = np.linspace(5, 40, n)
    return Terms(
        quantity,
        sound * one,
        flaws * one,
        0.4 * one,
        0.05 * one,
        0.1 * one,
        open_ * one,
        200 * one,
        200 * one,
    )


def apart(n: int, *, reach: float = 1e9) -> Drainage:
    """Paths of one joint each, wide as a sea: what enters is in proportion to the flaws."""
    none = np.empty(0, dtype=np.int64)
    links = Links(np.full(n, reach), 0.0, np.full(n, reach), none, none, np.empty(0))
    share = np.linspace(5, 40, n) * 200 / reach  # metres for each metre of stream
    return Drainage(n * reach, np.arange(n), np.arange(n), share, share, links.chain())


@pytest.mark.parametrize(
    "case", [terms(40), terms(40, flaws=0.0), terms(40, sound=0.0), terms(20, open_=0.5)]
)
def test_means_are_those_of_the_sums(case):
    # Source: closed form, E[A] = Σ q·(a + λ·ā), E[W] = Σ q·λ·b·c·S + q·o·S.
    # Tolerance: four standard errors of the mean of the draws.
    drawn = draw(case, apart(len(case.quantity)), (30.0, 20.0), draws=60_000)
    for values, mean in ((drawn.area, case.air.sum()), (drawn.water, case.water.sum()), (drawn.other, 50.0)):
        assert abs(values.mean() - mean) <= 4 * values.std() / math.sqrt(len(values)) + 1e-6 * mean


def test_spread_of_sound_work_alone():
    """One run without flaws: area is a·q·H·R, log-normal with ln² spreads added."""
    # Source: closed form, GSD of H·R = exp(sqrt(ln² 1.6 + ln² 2)) = 2.314; p50 = mean·exp(-σ²/2).
    # Tolerance: 1.5 %, the Monte Carlo error of the percentiles at 200 000 draws with room.
    one = np.ones(1)
    alone = Terms(100 * one, 0.01 * one, 1e-12 * one, one, 0 * one, 0 * one, 0 * one, 0 * one, 0 * one)
    drawn = draw(alone, draws=200_000)
    sigma = math.sqrt(math.log(1.6) ** 2 + math.log(2.0) ** 2)
    found = band(drawn.area)
    assert found.p50 == pytest.approx(math.exp(-(sigma**2) / 2), rel=0.015)
    assert found.p90 == pytest.approx(math.exp(-(sigma**2) / 2 + 1.281552 * sigma), rel=0.015)


def test_variance_of_flaws():
    """Without factors (GSD 1) the flaw part is a compound Poisson: variance N·E[X²] = 2·N·ā²."""
    # Source: closed form of the compound Poisson sum with exponential sizes.
    # Tolerance: 5 %, the sample variance of 100 000 skewed draws.
    one = np.ones(1)
    flawed = Terms(
        100 * one, 0 * one, 0.02 * one, 0.5 * one, 0.05 * one, 0.1 * one, 0 * one, 100 * one, 100 * one
    )
    drawn = draw(flawed, apart(1), draws=100_000, spreads=Spreads(1.0 + 1e-12, 1.0 + 1e-12, 1.0 + 1e-12))
    assert drawn.area.var() == pytest.approx(2 * 2.0 * 0.25, rel=0.05)
    # A flaw that leaks also lets water in: size is shared.
    assert len(drawn.water) == RAIN_DRAWS
    assert np.corrcoef(drawn.area[:RAIN_DRAWS], drawn.water)[0, 1] > 0.999


def test_shared_factor_widens_the_whole_house():
    """A factor shared by the whole house does not average out over runs, one per run does."""
    many = terms(300)
    together = draw(many, draws=8_000).area
    apart = draw(many, draws=8_000, spreads=Spreads(house=1.0 + 1e-9)).area
    # Source: closed form, the shared factor alone has a coefficient of variation of sqrt(exp(ln² 1.6) - 1) = 0.497.
    # Tolerance: 5 %.
    assert together.std() / together.mean() > 0.497 * 0.95
    assert apart.std() / apart.mean() < 0.15


def test_percentiles_in_order_and_errors_shrink():
    few, many = band(draw(terms(50), draws=2_000).area), band(draw(terms(50), draws=32_000).area)
    assert many.p10 < many.p50 < many.p90
    # Source: Monte Carlo error goes with 1/sqrt(n): 16 times the draws, a quarter of the error. Tolerance: 40 %, itself drawn.
    assert many.errors[3] == pytest.approx(few.errors[3] / 4, rel=0.4)


def test_error_of_a_percentile_covers_the_truth():
    # Source: distribution-free interval of order statistics, 95 %. Tolerance: 400 repeats, 91 to 99 %.
    rng = np.random.default_rng(7)
    truth = 1.2815515655446004
    hits = 0
    for _ in range(400):
        found = band(rng.standard_normal(800))
        hits += abs(found.p90 - truth) <= found.errors[2]
    assert 0.91 * 400 <= hits <= 0.99 * 400


def test_same_seed_same_draws_other_seed_others():
    one, two, other = (draw(terms(30), draws=3_000, seed=s).area for s in (1, 1, 2))
    assert np.array_equal(one, two)
    assert not np.array_equal(one, other)


def test_fewer_draws_are_the_first_of_more():
    # Source: the rule that a plan has the same figure wherever it is printed. Tolerance: none.
    case, ways = terms(30, open_=0.1), apart(30)
    few, many = draw(case, ways, draws=RAIN_DRAWS), draw(case, ways, (5.0,), draws=3 * RAIN_DRAWS)
    assert np.array_equal(few.water, many.water)
    assert np.array_equal(few.area, many.area[:RAIN_DRAWS])


def test_no_draw_lets_in_more_than_falls():
    """Three joints below each other, so leaky that the plain sums would let in many times what falls."""
    # Source: water is neither made nor lost. Tolerance: rounding.
    own = np.array([6.0, 3.0, 1.0])
    down = Links(
        own, 0.0, np.array([0.0, 0.0, 10.0]), np.array([0, 1]), np.array([1, 2]), np.array([6.0, 9.0])
    )
    ways = Drainage(10.0, np.arange(3), np.arange(3), np.full(3, 1e4), np.full(3, 1.0), down.chain())
    drawn = draw(terms(3, flaws=0.5, open_=0.4), ways, draws=4_000)
    assert terms(3, flaws=0.5, open_=0.4).water.sum() > 1_000.0
    assert (drawn.water >= 0).all()
    assert drawn.water.max() <= 10.0 * (1 + 1e-12)
    assert drawn.water.max() > 9.0
