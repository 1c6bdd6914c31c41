"""The posterior against independent importance sampling, against closed forms, and against its own calibration."""

import numpy as np
import pytest
from scipy.stats import norm

from hullwright.leaks.components import Prior, draw
from hullwright.leaks.evidence_seen import SEEN_BEST, SEEN_HALF, Likelihood, Term, value_of
from hullwright.leaks.posterior import chain_ratio, effective_size, sample


def make(mean, gsd, house=1.6):
    mean = np.asarray(mean, dtype=float)
    own = np.full(len(mean), np.log(gsd))
    h = np.log(house)
    return Prior(np.log(mean) - (own**2 + h**2) / 2, own, h, np.ones(len(mean)))


def weighted(prior, terms, size=400_000, seed=5):
    """Independent of the sampler: prior draws weighted by the likelihood written out again."""
    x = draw(prior, size, seed)
    log = np.zeros(size)
    for t in terms:
        s = x @ t.members
        if t.sort == "total":
            log += -0.5 * ((np.log(s) - np.log(t.value)) / t.spread) ** 2
        elif t.sort == "moved":
            log += -0.5 * ((s - t.value) / t.spread) ** 2
        elif t.sort == "above":
            log += norm.logcdf(s, t.value, t.spread)
        else:
            seen = SEEN_BEST.value * (1 - 0.5 ** (s / SEEN_HALF.value))
            log += np.log(seen if t.sort == "leak" else 1 - seen)
    w = np.exp(log - log.max())
    return x, w / w.sum()


CASES = {
    "total": lambda j: [Term("total", np.ones(j), 60.0, 0.05)],
    "total far above the prior": lambda j: [Term("total", np.ones(j), 220.0, 0.05)],
    "looked at one, nothing seen": lambda j: [Term("total", np.ones(j), 60.0, 0.05), Term("nothing", np.eye(j)[0])],
    "saw a leak in a group": lambda j: [Term("total", np.ones(j), 60.0, 0.05), Term("leak", np.r_[1.0, 1.0, np.zeros(j - 2)])],
    "sealed one, fan moved": lambda j: [Term("total", np.ones(j), 60.0, 0.05), Term("moved", np.eye(j)[1], 15.0, 2.0)],
    "a fix took away at least": lambda j: [
        Term("total", np.ones(j), 60.0, 0.05),
        Term("above", np.eye(j)[2], 10.0, 1.0),
    ],
    "zone masked off": lambda j: [Term("total", np.ones(j), 60.0, 0.05), Term("total", np.r_[np.zeros(2), np.ones(j - 2)], 20.0, 0.06)],
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_means_and_spreads_agree_with_importance_sampling(name):
    prior = make([20, 12, 6, 4, 2, 1], 3.5)
    terms = CASES[name](6)
    x, w = weighted(prior, terms)
    size = 1 / (w**2).sum()
    assert size > 400, "the check itself must have enough draws"
    got = sample(prior, terms, seed=3)
    # Source: self-normalised importance sampling, Owen, Monte Carlo theory, methods and examples, eq. 9.6
    mean = w @ x
    sd = np.sqrt(w @ (x - mean) ** 2)
    # Tolerance: five standard errors of both estimates together
    error = sd * np.sqrt(1 / size + 1 / max(got.effective, 1))
    assert np.all(np.abs(got.flows.mean(axis=0) - mean) < 5 * error + 0.02 * mean)
    assert got.mixing < 1.06


def test_drawn_totals_match_the_test():
    prior = make(np.geomspace(0.05, 20, 150), 4.0)
    got = sample(prior, [Term("total", np.ones(150), 300.0, 0.03)])
    # Source: the term itself. Tolerance: the sheet has 3 % of width; the prior pulls by less than that
    assert abs(np.log(got.total).mean() - np.log(300.0)) < 0.01
    assert 0.02 < np.log(got.total).std() < 0.04


def test_one_component_has_a_closed_form():
    # Source: normal prior × normal likelihood in ln x: precision-weighted mean (Bayesian Data Analysis, 3rd ed., eq. 2.10)
    prior = Prior(np.array([np.log(10.0)]), np.array([1.0]), 0.0, np.zeros(1))
    got = sample(prior, [Term("total", np.ones(1), 30.0, 0.5)], keep=600)
    precision = 1 + 1 / 0.25
    mean = (np.log(10.0) + 4 * np.log(30.0)) / precision
    log = np.log(got.flows[:, 0])
    # Tolerance: five standard errors at the effective size
    assert abs(log.mean() - mean) < 5 / np.sqrt(precision * got.effective)
    assert abs(log.std() - precision**-0.5) < 5 / np.sqrt(2 * precision * got.effective)


def test_ranks_are_even_when_truth_comes_from_the_prior():
    # Source: simulation-based calibration (Cook, Gelman, Rubin 2006): the rank of the truth among posterior draws is uniform
    prior = make([15, 8, 4, 2], 3.0)
    ranks = []
    for seed in range(60):
        truth = draw(prior, 1, 1000 + seed)[0]
        rng = np.random.default_rng(seed)
        measured = float(truth.sum() * np.exp(0.05 * rng.standard_normal()))
        got = sample(
            prior, [Term("total", np.ones(4), measured, 0.05)], seed=seed, chains=16, warm=60, keep=60
        )
        ranks.append((got.flows < truth).mean(axis=0))
    ranks = np.array(ranks)
    # Tolerance: Kolmogorov–Smirnov distance of 60 uniforms stays below 0.21 with 99 %
    for column in ranks.T:
        ordered = np.sort(column)
        assert np.abs(ordered - (np.arange(60) + 0.5) / 60).max() < 0.21 + 1 / 120


def test_the_same_seed_gives_the_same_draws():
    prior = make([5, 3], 3.0)
    terms = [Term("total", np.ones(2), 9.0, 0.05)]
    assert np.array_equal(sample(prior, terms, seed=4).flows, sample(prior, terms, seed=4).flows)


@pytest.mark.parametrize("sort", ["total", "moved", "above", "nothing", "leak"])
def test_slopes_agree_with_differences(sort):
    term = Term(sort, np.ones(1), 7.0, 0.3)
    s = np.array([[0.4], [3.0], [11.0]])
    _, slope = Likelihood((term,)).value_and_slope(s)
    h = 1e-6
    # Source: central difference. Tolerance: its own error, h² and rounding
    assert slope[:, 0] == pytest.approx(
        (value_of(term, s[:, 0] + h) - value_of(term, s[:, 0] - h)) / (2 * h), rel=1e-5
    )


def test_effective_size_of_a_slow_chain_is_small_and_apart_chains_are_told():
    rng = np.random.default_rng(0)
    e = rng.standard_normal((2000, 4))
    slow = np.empty_like(e)
    slow[0] = e[0]
    for k in range(1, 2000):
        slow[k] = 0.9 * slow[k - 1] + e[k] * np.sqrt(1 - 0.81)
    # Source: AR(1): n_eff = n m (1 - rho) / (1 + rho) = 8000 · 0.1 / 1.9 = 421. Tolerance: 25 %, sampling error of the autocorrelations
    assert effective_size(slow) == pytest.approx(421, rel=0.25)
    apart = rng.standard_normal((500, 4)) + np.array([0, 0, 3, 3])
    assert chain_ratio(apart) > 1.5
