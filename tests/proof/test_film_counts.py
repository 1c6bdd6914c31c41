"""Posteriors against textbooks, tape probes, rates, mock-up, use against plan, experience."""

import contextlib
import json
import math
from datetime import date

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from hullwright.errors import InputError, QuantityError
from hullwright.proof.bayes import BetaShare, GammaRate, LogNormal, LogStats
from hullwright.proof.comb import Comb
from hullwright.proof.experience import SCHEMA, experience, experience_from_json
from hullwright.proof.mockup import MockUp, Target, agreement, comb_mean, pace, saving
from hullwright.proof.rates import FLAW_PRIOR, Group, Inspection, Work, chance_to_meet, learn_rates
from hullwright.proof.tape import TapeLot, assess_tape, probes_needed, zero_failure_count
from hullwright.proof.use import Stock, UseDay, forecast, learn_yield, over_use
from hullwright.units import FOOT, GALLON, INCH, MIL

GROUP = Group("liquid", "horizontal seam", "A")


def test_textbook_gamma_poisson():
    # Source: Bayesian Data Analysis, 3rd ed., section 2.6: Gamma(3, 5), 3 in 2 -> .86, P(>1) .30; 30 in 20 -> 1.32, P(>1) .93.
    # Tolerance: 5e-5 on the recomputed digits.
    small = GammaRate(3, 5).update(3, 2)
    assert (small.mean, small.chance_above(1.0)) == pytest.approx((0.8571, 0.3007), abs=5e-5)
    large = GammaRate(3, 5).update(30, 20)
    assert (large.mean, large.chance_above(1.0)) == pytest.approx((1.32, 0.9285), abs=5e-5)


def test_textbook_beta_binomial():
    # Source: Bayesian Data Analysis, 3rd ed., section 2.4: Beta(1, 1), 437 of 980: .446, .016, (.415, .477). Tolerance: printed digits.
    after = BetaShare(1, 1).update(437, 980)
    assert (after.mean, after.sd, *after.interval()) == pytest.approx((0.446, 0.016, 0.415, 0.477), abs=5e-4)


def test_log_posterior_of_a_flat_prior_is_students_interval():
    # Source: classical t interval of the mean of logarithms (scipy.stats.t). Tolerance: rounding.
    values = [0.04, 0.05, 0.055, 0.07]
    rates = learn_rates([Work(GROUP, 1.0, value) for value in values], [])
    logs = np.log(values)
    low, high = stats.t.interval(0.95, 3, logs.mean(), logs.std(ddof=1) / 2)
    assert rates.hours[0].posterior.interval() == pytest.approx((math.exp(low), math.exp(high)), rel=1e-9)


def test_log_posterior_in_steps_is_the_same_as_at_once():
    # Source: conjugacy (Bayesian Data Analysis, 3rd ed., section 3.3). Tolerance: rounding.
    prior = LogNormal.prior(10, gsd=1.5)
    once = prior.update(LogStats.of([8, 9, 12, 7]))
    steps = prior.update(LogStats.of([8, 9])).update(LogStats.of([12, 7]))
    for name in ("centre", "weight", "shape", "scale"):
        assert getattr(once, name) == pytest.approx(getattr(steps, name), rel=1e-12)


def test_log_posterior_covers():
    # Source: definition: with draws from the prior itself, 95 % intervals hold in 95 %. Tolerance: 3 standard errors of 2 000.
    rng = np.random.default_rng(3)
    prior, hits = LogNormal.prior(10, gsd=1.5), 0
    for _ in range(2000):
        variance = prior.scale / rng.gamma(prior.shape)
        mean = rng.normal(prior.centre, math.sqrt(variance / prior.weight))
        low, high = prior.update(
            LogStats.of(np.exp(rng.normal(mean, math.sqrt(variance), 5)).tolist())
        ).interval()
        hits += low <= math.exp(mean) <= high
    assert hits / 2000 == pytest.approx(0.95, abs=0.0147)


def test_paper_figures_of_flaws():
    # Source: 11th Int. Conf. on Durability of Building Materials 2008, paper T14: 400 gaps in 35 000 ft, 0.2 % open:
    # 1.143 per 100 ft, 3.750 per 100 m, mean 2.1 in; 35 pulls of 6 in meet one with chance .2366. Tolerance: printed digits.
    assert 100 * FLAW_PRIOR.value == pytest.approx(3.750, abs=5e-4)
    assert 100 * FOOT * FLAW_PRIOR.value == pytest.approx(1.143, abs=5e-4)
    # one lot of 35 000 ft counted: Poisson 95 % interval 1.03 to 1.26 per 100 ft (gamma with a flat-rate prior, within 0.01)
    low, high = GammaRate(0.5, 1e-9).update(400, 350).interval()
    assert (low, high) == pytest.approx((1.03, 1.26), abs=0.01)
    lam = 400 / (35_000 * FOOT)
    assert chance_to_meet(lam, 35, check_length=6 * INCH, flaw_length=2.1 * INCH) == pytest.approx(
        0.2366, abs=5e-5
    )


@pytest.mark.parametrize(
    ("confidence", "sound", "n"), [(0.9, 0.9, 22), (0.95, 0.9, 29), (0.95, 0.95, 59), (0.95, 0.99, 299)]
)
def test_zero_failure_counts(confidence, sound, n):
    # Source: n = ln(1 - C)/ln(R), standard reliability demonstration table. Tolerance: none.
    assert zero_failure_count(confidence=confidence, sound_share=sound) == n
    assert sound**n <= 1 - confidence < sound ** (n - 1)


def test_probes_needed_is_the_first_that_suffices():
    # Source: closed form for no failure, 1 - (1 - limit)^(n + 1) >= confidence: n = 28. Tolerance: none.
    assert probes_needed(0, limit=0.1, confidence=0.95) == 28
    for failed in (0, 1, 3):
        n = probes_needed(failed, limit=0.1, confidence=0.95)
        at = [stats.beta.cdf(0.1, 1 + failed, 1 + m - failed) for m in (n - 1, n)]
        assert at[0] < 0.95 <= at[1]


def test_tape_answers():
    good = TapeLot(28, 0, ("lead",), first_tug_held=True)
    assert assess_tape(good).answer == "proved"
    assert assess_tape(TapeLot(28, 0, (), first_tug_held=True)).missing == ("rolled and seen by somebody",)
    assert assess_tape(TapeLot(28, 1, ("lead",), first_tug_held=True)).missing == ("17 more probes",)
    assert assess_tape(TapeLot(28, 0, ("lead",), first_tug_held=False)).answer == "bad"
    stapled = assess_tape(TapeLot(28, 0, ("lead",), first_tug_held=True, staples=3))
    assert stapled.answer == "bad"
    assert stapled.to_json()["cautions"]
    assert assess_tape(TapeLot(28, 12, ("lead",), first_tug_held=True)).answer == "bad"
    for bad in ((0, 0.1, 1.0), (0, 0.0, 0.9), (-1, 0.1, 0.9)):
        with pytest.raises(QuantityError):
            probes_needed(bad[0], limit=bad[1], confidence=bad[2])
    with pytest.raises(QuantityError):
        BetaShare(1, 1).update(3, 2)


def test_rates_show_prior_and_data_apart():
    # Source: by hand: prior Gamma(1, 26.67 m), 2 flaws in 100 m -> 3/126.67 = 2.368 per 100 m. Tolerance: printed digits.
    rates = learn_rates(
        [Work(GROUP, 30, 1.5), Work(GROUP, 60, 3.3)], [Inspection(GROUP, 60, 2), Inspection(GROUP, 40, 0)]
    )
    out = rates.to_json()
    assert out["flaws"][0]["data"] == pytest.approx(2.0)
    assert out["flaws"][0]["prior"]["value"] == pytest.approx(3.75, abs=1e-3)
    assert out["flaws"][0]["posterior"]["value"] == pytest.approx(
        100 * 3 / (100 + 35_000 * FOOT / 400), rel=1e-12
    )
    assert out["hours"][0]["observations"] == 2
    assert out["hours"][0]["data_h_per_unit"] == pytest.approx(math.sqrt(0.05 * 0.055))
    assert out["hours"][0]["prior_h_per_unit"] is None
    pieces = learn_rates(
        [], [Inspection(GROUP, 10, 1, pieces=True)], flaw_prior={("liquid", "horizontal seam"): 0.1}
    )
    assert pieces.flaws[0].posterior.mean == pytest.approx(2 / 20)  # Beta(1, 9) + 1 of 10


def test_mockup_mass_balance():
    # Source: coverage constant 1604.1667 ft2 mil/gal by definition: 0.25 gal over 10 ft of a 4-in band, no gap: 120.3125 mil.
    mock = MockUp(10 * FOOT, 4 * INCH, 0.25 * GALLON)
    assert mock.film / MIL == pytest.approx(1604.1667 * 0.25 / (10 / 3), rel=1e-6)
    # Source: by hand: 3 in x 20 mil over a 1/8-in gap filled 1/4 in: 1.095 in3/ft, the gap takes 34 %. Tolerance: printed digits.
    volume = 12 * (3 * 0.020 + 0.125 * 0.25) * INCH**3
    seam = MockUp(1 * FOOT, 3 * INCH, volume, gap=INCH / 8, depth=INCH / 4)
    assert volume / INCH**3 == pytest.approx(1.095, abs=5e-4)
    assert seam.gap_share == pytest.approx(0.34, abs=0.005)
    assert seam.film / MIL == pytest.approx(20.0, rel=1e-12)
    with pytest.raises(QuantityError, match="gap alone"):
        MockUp(1.0, 0.1, 1e-5, gap=0.003, depth=0.006)
    with pytest.raises(QuantityError, match="size is missing"):
        MockUp(1.0, math.nan, 1e-5)


def test_bead_and_pace():
    # Source: by hand D = sqrt(4 W t/(1000 pi)): 4 in x 20 mil -> .3192 in. Tolerance: printed digits.
    target = Target(4 * INCH, 20 * MIL)
    assert target.bead / INCH == pytest.approx(0.3192, abs=5e-5)
    mock = MockUp(3.0, 0.1, 3e-4, seconds=60)
    assert pace(mock, Target(0.1, 1e-3)) == pytest.approx(0.05, rel=1e-12)  # 5 mL/s over 100 mL/m
    with pytest.raises(QuantityError, match="watch"):
        pace(MockUp(3.0, 0.1, 3e-4), target)


def test_agreement_of_comb_and_mass():
    comb = Comb(tuple(k * 1e-4 for k in range(1, 12)))
    reads = tuple(comb.read(x * 1e-4) for x in (4, 5, 4, 3, 4, 5))
    mean, u = comb_mean(reads)
    # Source: middles 4.67e-4 with spread about .75e-4: mean near, u near .75/sqrt(6) = .31e-4. Tolerance: grouping.
    assert (mean, u) == pytest.approx((4.67e-4, 0.31e-4), abs=0.1e-4)
    assert agreement(MockUp(3.0, 0.1, 3 * 0.1 * 4.7e-4, readings=reads, volume_u=5e-6)).agree
    more = agreement(MockUp(3.0, 0.1, 3 * 0.1 * 7e-4, readings=reads, volume_u=5e-6))
    assert not more.agree
    assert "more material" in more.to_json()["hint"]
    less = agreement(MockUp(3.0, 0.1, 3 * 0.1 * 3e-4, readings=reads, volume_u=5e-6))
    assert "count the packs" in less.to_json()["hint"]
    with pytest.raises(QuantityError):
        comb_mean(reads[:1])


def test_one_tooth_repeated_tells_nothing_new():
    comb = Comb((1.0, 2.0, 3.0))
    assert comb_mean([comb.read(1.0)] * 3) == comb_mean([comb.read(1.0)] * 300)


@pytest.mark.parametrize(
    ("habit", "target", "share"),
    [((3.75, 15), (2.25, 15), 0.400), ((3.75, 22), (3.75, 15), 0.318), ((3.75, 22), (2.25, 15), 0.591)],
)
def test_film_savings(habit, target, share):
    # Source: by hand: 1 - 2.25/3.75 = 40.0 %, 1 - 15/22 = 31.8 %, both 59.1 %. Tolerance: printed digits.
    mock = MockUp(1.0, habit[0] * INCH, habit[0] * INCH * habit[1] * MIL, volume_u=1e-6)
    found = saving(mock, Target(target[0] * INCH, target[1] * MIL), house_length=100)
    assert found.share == pytest.approx(share, abs=5e-4)
    assert found.share_low < found.share < found.share_high
    assert found.volume == pytest.approx(100 * mock.section * found.share, rel=1e-12)


def test_forecast_when_nothing_is_uncertain():
    # Source: by hand: 60 m a day at 6 m a pack = 10 packs a day; 24 packs last two days, the third runs short.
    days = [UseDay(date(2024, 5, 1), 60, 10) for _ in range(400)]
    plan = [(date(2024, 6, d), 60.0) for d in (3, 4, 5, 6)]
    found = forecast(learn_yield(days, planned=6), plan, Stock(24, 5))
    assert (found.packs_p50, found.short_p50) == pytest.approx(
        (40, 16), abs=1
    )  # Tolerance: one pack lost overnight or rounded
    assert found.out_p50 == date(2024, 6, 5)
    assert found.reorder == date(2024, 5, 31)
    enough = forecast(learn_yield(days, planned=6), plan, Stock(60, 5))
    assert (enough.out_p10, enough.reorder, enough.short_p90) == (None, None, 0)


def test_forecast_is_repeatable_and_wider_with_less_known():
    plan = [(date(2024, 6, d), 60.0) for d in (3, 4, 5, 6)]
    few = learn_yield([UseDay(date(2024, 5, 1), 60, 10)], planned=6)
    many = learn_yield([UseDay(date(2024, 5, 1), 60, 10)] * 50, planned=6)
    assert forecast(few, plan, Stock(20, 2)) == forecast(few, plan, Stock(20, 2))
    spread = [
        f.packs_p90 - f.packs_p50
        for f in (forecast(few, plan, Stock(20, 2)), forecast(many, plan, Stock(20, 2)))
    ]
    assert spread[0] > spread[1]
    for bad in ([], [(date(2024, 6, 2), 1.0), (date(2024, 6, 1), 1.0)], [(date(2024, 6, 2), 0.0)]):
        with pytest.raises(QuantityError):
            forecast(few, bad, Stock(20, 2))


def test_yield_learns_from_the_job():
    learned = learn_yield(
        [UseDay(date(2024, 5, 1), 60, 10, cured=1), UseDay(date(2024, 5, 2), 66, 10)], planned=10
    )
    out = learned.to_json()
    assert out["prior_m_per_pack"]["value"] == pytest.approx(10)
    assert out["data_m_per_pack"] == pytest.approx(math.sqrt(6 * 6.6))
    # Source: by hand: prior worth one day: exp((ln 10 + ln 6 + ln 6.6)/3) = 7.3434. Tolerance: printed digits.
    assert out["m_per_pack"]["value"] == pytest.approx(7.3434, abs=5e-4)
    # Source: Gamma(1, 2 d) + 1 pack in 2 days -> 2/4. Tolerance: rounding.
    assert out["cured_packs_per_day"]["value"] == pytest.approx(0.5)
    with pytest.raises(QuantityError):
        UseDay(date(2024, 5, 1), 0, 1)


def test_over_use_in_money():
    # Source: by hand: 22 mil where 15 are asked, 100 ft of 2.25 in: 46.7 % more. Tolerance: rounding.
    target = Target(2.25 * INCH, 15 * MIL)
    pack = 6e-4
    used = 22 / 15 * target.section * 100 * FOOT / pack
    found = over_use(
        [UseDay(date(2024, 5, 1), 100 * FOOT, used, cured=2)], target, pack_volume=pack, pack_money=10.0
    )
    assert found.to_json()["over_share"] == pytest.approx(7 / 15, rel=1e-9)
    assert found.money == pytest.approx(10 * 7 / 22 * used, rel=1e-9)
    assert found.cured_money == 20
    with pytest.raises(QuantityError):
        over_use([], target, pack_volume=pack, pack_money=10.0)


def _house(hours, flaws):
    other = Group("liquid", "horizontal seam", "Z")
    rates = learn_rates(
        [Work(GROUP, 10, h) for h in hours],
        [
            Inspection(GROUP, 50, flaws),
            Inspection(other, 30, 1),
            Inspection(Group("boot", "pipe", "A"), 8, 1, pieces=True),
        ],
    )
    return experience(rates, [("P", "liquid", LogStats.of([5.0, 6.0]))])


def test_experience_adds_up_and_carries_no_names():
    both = _house([1.0, 2.0], 2).merge(_house([3.0], 1))
    hours = both.hours["liquid", "horizontal seam"]
    alone = LogStats.of([0.1, 0.2, 0.3])
    assert (hours.n, hours.mean_log, hours.sum_squares) == pytest.approx(
        (3, alone.mean_log, alone.sum_squares), rel=1e-9
    )
    assert both.flaws["liquid", "horizontal seam"].flaws == 5
    text = json.dumps(both.to_json())
    assert experience_from_json(json.loads(text)) == both
    assert "crew" not in text
    assert '"Z"' not in text
    figure = both.flaw_figures({("liquid", "horizontal seam"): 0.006})["liquid", "horizontal seam"]
    # Source: by hand: (1 + 5)/(1/.006 + 160) per m. Tolerance: rounding.
    assert figure.value == pytest.approx(6 / (1 / 0.006 + 160), rel=1e-12)
    assert "2 house(s), 5 flaws" in figure.evidence.source


_JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.text(max_size=5) | st.integers(),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["method", "kind", "flaws", "n", "looked_at", "pieces", "mean_log"]),
            inner,
            max_size=4,
        )
    ),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(st.sampled_from(["houses", "flaws", "hours", "yields"]), _JSON))
def test_any_experience_file_is_read_or_refused(data):
    with contextlib.suppress(InputError):  # anything else is a fault
        experience_from_json({"schema": SCHEMA, **data})


@pytest.mark.parametrize("bad", [None, [], {}, {"schema": "x"}])
def test_foreign_files_are_refused(bad):
    with pytest.raises(InputError):
        experience_from_json(bad)
