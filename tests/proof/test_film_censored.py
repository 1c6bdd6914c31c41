"""Best estimates from intervals: a published example, another library, hand cases, and what can't be estimated."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from hullwright.errors import NoAnswerError, QuantityError
from hullwright.proof.censored import fit_normal, log_likelihood, resolvable

INF = math.inf
EXACT = [4.5, 5.4, 3.9, 5.1, 4.6, 4.8, 2.9, 6.3, 5.5, 4.6, 4.1, 5.2]
LOW = [*EXACT, 3.2, 4.0, 3.1, -INF, -INF, 2.2]
HIGH = [*EXACT, INF, INF, INF, 5.1, 3.8, 2.5]
DEMO = [20, 22, 18, 24, 20, 22, 20, 26, 22, 18]


def test_six_printed_results():
    # Source: numerical-library manual, routine g07bb, example (grouped and censored normal sample), printed results.
    # Tolerance: half a unit of the last printed digit.
    fit = fit_normal(LOW, HIGH)
    assert fit.mean == pytest.approx(4.4924, abs=5e-5)
    assert fit.sd == pytest.approx(1.0196, abs=5e-5)
    assert fit.se_mean == pytest.approx(0.2606, abs=5e-5)
    assert fit.se_sd == pytest.approx(0.1940, abs=5e-5)
    assert fit.correlation == pytest.approx(0.0160, abs=5e-5)
    assert fit.log_likelihood == pytest.approx(-22.2817, abs=5e-5)


def test_against_a_reference_library():
    # Source: scipy.stats.norm.fit with CensoredData, same example. Tolerance: 1e-3, its default search stops there.
    data = stats.CensoredData(uncensored=EXACT, right=[3.2, 4.0, 3.1], left=[5.1, 3.8], interval=[[2.2, 2.5]])
    mean, sd = stats.norm.fit(data)
    fit = fit_normal(LOW, HIGH)
    assert (fit.mean, fit.sd) == pytest.approx((mean, sd), abs=1e-3)


def test_comb_demonstration():
    # Source: scipy.stats.norm.fit on the same ten intervals (22.2008, 2.3286), log-likelihood -16.0116. Tolerance: printed digits.
    low = np.array(DEMO, dtype=float)
    fit = fit_normal(low, low + 2)
    assert (fit.mean, fit.sd, fit.log_likelihood) == pytest.approx((22.2008, 2.3286, -16.0116), abs=5e-5)
    mean, sd = stats.norm.fit(stats.CensoredData(interval=np.column_stack([low, low + 2])))
    assert (fit.mean, fit.sd) == pytest.approx((mean, sd), abs=1e-3)


@pytest.mark.parametrize(("low", "high"), [(9.0, 10.0), (-10.0, -9.0), (30.0, 31.0)])
def test_likelihood_far_out_in_either_tail(low, high):
    # Source: ln[S(low) - S(high)] by scipy's log survival function. Tolerance: 1e-12 relative.
    a, b = sorted((abs(low), abs(high)))
    expected = stats.norm.logsf(a) + math.log1p(-math.exp(stats.norm.logsf(b) - stats.norm.logsf(a)))
    assert log_likelihood(0.0, 1.0, [low], [high]) == pytest.approx(expected, rel=1e-12)


def test_exact_values_give_the_textbook_estimates():
    # Source: closed form: mean, sqrt(SS/n), SE sigma/sqrt(n), sigma/sqrt(2n), correlation 0. Tolerance: 1e-6, of the differences.
    fit = fit_normal(EXACT, EXACT)
    n, sd = len(EXACT), float(np.std(EXACT))
    assert (fit.mean, fit.sd) == pytest.approx((np.mean(EXACT), sd), rel=1e-9)
    assert (fit.se_mean, fit.se_sd) == pytest.approx((sd / math.sqrt(n), sd / math.sqrt(2 * n)), rel=1e-6)
    assert fit.correlation == pytest.approx(0, abs=1e-6)


def test_share_below_and_its_interval():
    # Source: normal distribution function at (20 - 22.2008)/2.3286 = -0.9451: 0.1723. Tolerance: 1e-4.
    low = np.array(DEMO, dtype=float)
    fit = fit_normal(low, low + 2)
    assert fit.share_below(20) == pytest.approx(0.1723, abs=1e-4)
    below, above = fit.share_below_interval(20)
    assert 0 < below < fit.share_below(20) < above < 0.5


@pytest.mark.parametrize("low", [[20, 20, 20], [20, 20, 22]])
def test_spread_that_the_comb_cannot_resolve_is_not_stated(low):
    values = np.array(low, dtype=float)
    assert not resolvable(values, values + 2)
    with pytest.raises(NoAnswerError, match="can't resolve"):
        fit_normal(values, values + 2)


@pytest.mark.parametrize(
    ("low", "high"), [([2.0, 1.0], [1.0, 2.0]), ([math.nan, 1.0], [2.0, 2.0]), ([1.0], [2.0, 3.0])]
)
def test_bad_intervals_are_refused(low, high):
    with pytest.raises(QuantityError):
        fit_normal(low, high)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(5, 25), min_size=4, max_size=25), st.floats(0.5, 5))
def test_estimate_is_a_maximum_and_scales(teeth, factor):
    low = np.array(teeth, dtype=float)
    if not resolvable(low, low + 1):
        return
    fit = fit_normal(low, low + 1)
    for mean, sd in (
        (fit.mean * 1.001, fit.sd),
        (fit.mean * 0.999, fit.sd),
        (fit.mean, fit.sd * 1.01),
        (fit.mean, fit.sd * 0.99),
    ):
        assert log_likelihood(mean, sd, low, low + 1) <= fit.log_likelihood + 1e-9
    scaled = fit_normal(low * factor, (low + 1) * factor)
    assert (scaled.mean, scaled.sd) == pytest.approx((fit.mean * factor, fit.sd * factor), rel=1e-5)
