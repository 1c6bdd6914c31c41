"""The regression core against certified data and independent libraries."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from hullwright.fantest.regress import fit, fit_weighted, organic_slope, t_quantile, z_quantile

# Source: NIST Statistical Reference Datasets, linear regression, data set Norris (36 points; public domain).
NORRIS_Y = (
    0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
    557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
)  # fmt: skip
NORRIS_X = (
    0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6,
    556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
)  # fmt: skip


def norris():
    return fit(np.array([NORRIS_X]), np.array([NORRIS_Y]))


@pytest.mark.parametrize(
    ("name", "certified"),
    [
        # Source: NIST StRD Norris, certified values.
        ("slope", 1.00211681802045),
        ("intercept", -0.262323073774029),
        ("r2", 0.999993745883712),
        ("s_slope", 0.429796848199937e-03),
        ("s_intercept", 0.232818234301152),
        ("sd", 0.884796396144373),
    ],
)
def test_norris(name, certified):
    # Tolerance: 1e-11 relative; certified to 15 digits, double precision on this easy set keeps 12 or more.
    assert float(getattr(norris(), name)[0]) == pytest.approx(certified, rel=1e-11)


def test_the_line_is_that_of_an_independent_library():
    """Slope, intercept, r2 and standard errors equal scipy's on the constructed case."""
    dp = np.array([60.4, 54.9, 49.8, 44.6, 39.3, 34.7, 29.5, 24.4, 19.5, 14.4])
    flow = np.array([291, 274, 257.5, 240.5, 222, 205, 184.5, 163.5, 141.5, 116.0])
    mine, theirs = fit(np.log(dp)[None], np.log(flow)[None]), stats.linregress(np.log(dp), np.log(flow))
    # Source: scipy.stats.linregress. Tolerance: 1e-12, rounding of two orders of summation.
    assert float(mine.slope[0]) == pytest.approx(theirs.slope, rel=1e-12)
    assert float(mine.intercept[0]) == pytest.approx(theirs.intercept, rel=1e-12)
    assert float(mine.r2[0]) == pytest.approx(theirs.rvalue**2, rel=1e-12)
    assert float(mine.s_slope[0]) == pytest.approx(theirs.stderr, rel=1e-9)
    assert float(mine.s_intercept[0]) == pytest.approx(theirs.intercept_stderr, rel=1e-9)


def test_standard_error_of_the_line_by_matrix_algebra():
    """S_y at any pressure equals sqrt(a' s^2 (X'X)^-1 a), and the formula E779 and ISO 9972 print."""
    rng = np.random.default_rng(3)
    x = np.log(rng.uniform(10, 70, 9))
    y = 3 + 0.66 * x + rng.normal(0, 0.02, 9)
    line = fit(x[None], y[None])
    design = np.column_stack([np.ones(9), x])
    beta = np.linalg.solve(design.T @ design, design.T @ y)
    variance = float(np.sum((y - design @ beta) ** 2) / 7)
    for pressure in (4.0, 10.0, 50.0, 75.0):
        a = np.array([1.0, np.log(pressure)])
        matrix = np.sqrt(variance * a @ np.linalg.inv(design.T @ design) @ a)
        n, sx2 = 9, np.var(x, ddof=1)
        s_n = np.sqrt((np.var(y, ddof=1) - beta[1] * np.cov(x, y)[0, 1]) / (n - 2)) / np.sqrt(sx2)
        printed = s_n * np.sqrt((n - 1) / n * sx2 + (np.log(pressure) - x.mean()) ** 2)
        # Source: linear algebra; ASTM E779 A1 and ISO 9972 annex C. Tolerance: 1e-9, conditioning of X'X.
        assert float(line.s_line(np.log(pressure))[0]) == pytest.approx(matrix, rel=1e-9)
        assert float(line.s_line(np.log(pressure))[0]) == pytest.approx(printed, rel=1e-9)


@pytest.mark.parametrize(
    ("freedom", "printed"),
    [
        (3, 3.1824),
        (4, 2.7764),
        (5, 2.5706),
        (6, 2.4469),
        (7, 2.3646),
        (8, 2.3060),
        (9, 2.2622),
        (10, 2.2281),
        (14, 2.1448),
    ],
)
def test_student_t(freedom, printed):
    # Source: t table, two-sided 95 %. Tolerance: half the last printed digit.
    assert float(t_quantile(0.95, np.array([float(freedom)]))[0]) == pytest.approx(printed, abs=5e-5)


def test_no_freedom_no_quantile():
    assert np.isnan(t_quantile(0.95, np.array([0.0, -1.0]))).all()
    assert z_quantile(0.95) == pytest.approx(1.959964, abs=1e-6)  # Source: normal table.


def test_rows_do_not_touch_each_other_and_masks_are_as_if_the_point_were_not_there():
    rng = np.random.default_rng(1)
    x, y = rng.normal(size=(50, 9)), rng.normal(size=(50, 9))
    mask = rng.random((50, 9)) < 0.7
    mask[:, :3] = True
    many = fit(np.where(mask, x, np.nan), np.where(mask, y, np.nan), mask)
    for row in range(50):
        alone = stats.linregress(x[row][mask[row]], y[row][mask[row]])
        # Tolerance: 1e-9, rounding on random data.
        assert many.slope[row] == pytest.approx(alone.slope, rel=1e-9)
        assert many.s_intercept[row] == pytest.approx(alone.intercept_stderr, rel=1e-9)


def test_all_x_equal_gives_no_line():
    line = fit(np.full((1, 5), 3.0), np.arange(5.0)[None])
    assert np.isnan(line.slope[0])
    assert np.isnan(line.s_slope[0])


@given(st.lists(st.floats(0.5, 4.5), min_size=4, max_size=12), st.integers(0, 1000))
@settings(max_examples=60, deadline=None)
def test_organic_slope_is_the_ratio_of_spreads(xs, seed):
    x = np.array(xs)
    if np.ptp(x) < 0.1:
        return
    y = 0.65 * x + np.random.default_rng(seed).normal(0, 0.05, len(x))
    line = fit(x[None], y[None])
    slope, _ = organic_slope(line, np.array([y.mean()]))
    # Source: definition, sign(r) S_y/S_x. Tolerance: rounding.
    expected = np.sign(line.slope[0]) * np.std(y) / np.std(x)
    assert float(slope[0]) == pytest.approx(float(expected), rel=1e-7)


def test_weights_as_repetition():
    """A weight of 3 is the same as the point three times (general statistics)."""
    x, y = np.array([1.0, 2.0, 3.0, 5.0]), np.array([1.0, 2.5, 2.9, 5.4])
    slope, intercept = fit_weighted(x[None], y[None], np.array([[1.0, 3.0, 1.0, 2.0]]))
    again = stats.linregress(np.repeat(x, [1, 3, 1, 2]), np.repeat(y, [1, 3, 1, 2]))
    assert float(slope[0]) == pytest.approx(again.slope, rel=1e-12)
    assert float(intercept[0]) == pytest.approx(again.intercept, rel=1e-10)
