"""A batch of fan tests against a loop of regressions one by one: 100 000 tests of 10 stations, both in one run.

The peer is ordinary least squares of statsmodels where it is installed (it is no dependency), else scipy's linregress.
The loop is timed on some of the tests and scaled up.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from hullwright.fantest import Columns, analyse_columns

TESTS, STATIONS, LOOPED = 100_000, 10, 400


def tests() -> Columns:
    """Invented tests with 2 % noise."""
    rng = np.random.default_rng(1)
    dp = np.linspace(60.0, 12.0, STATIONS) + rng.normal(0, 0.5, (TESTS, STATIONS))
    flow = rng.uniform(5, 100, (TESTS, 1)) * dp**0.65 * np.exp(rng.normal(0, 0.02, dp.shape))
    zeros, nothing = np.zeros(TESTS), np.full(TESTS, np.nan)
    return Columns(
        -dp,
        flow,
        None,
        zeros,
        zeros,
        zeros - 1.0,
        zeros + 21.0,
        zeros + 4.0,
        zeros,
        nothing,
        nothing,
        nothing,
    )


def batch(columns: Columns) -> np.ndarray:
    """C, n, flow at 50 Pa and its interval of every test."""
    result = analyse_columns(columns)
    return np.vstack([result.flow(50.0), result.scatter(50.0)])


def peer() -> tuple[str, Callable[[np.ndarray, np.ndarray], float]]:
    """One regression with its interval, by a general library."""
    try:
        import statsmodels.api as sm  # noqa: PLC0415 - may be missing
    except ImportError:
        from scipy import stats  # noqa: PLC0415 - only as a stand-in

        return "scipy linregress", lambda x, y: float(stats.linregress(x, y).slope)

    def ols(x: np.ndarray, y: np.ndarray) -> float:
        fit = sm.OLS(y, sm.add_constant(x)).fit()
        fit.conf_int()
        return float(fit.params[1])

    return "statsmodels OLS", ols


def ratio(repeats: int = 5) -> tuple[str, float, float]:
    """Name of the peer, processor time of the batch [s], and how many times the loop takes."""
    columns = tests()
    name, one = peer()
    x, y = np.log(-columns.pressure_pa[:LOOPED]), np.log(columns.flow_m3_h[:LOOPED])
    one(x[0], y[0])
    own: list[float] = []
    for _ in range(repeats):
        start = time.process_time()
        batch(columns)
        own.append(time.process_time() - start)
    start = time.process_time()
    slopes = [one(a, b) for a, b in zip(x, y, strict=True)]
    loop = (time.process_time() - start) * TESTS / LOOPED
    assert np.allclose(slopes, analyse_columns(columns).n[:LOOPED], rtol=1e-10)
    return name, min(own), loop / min(own)


if __name__ == "__main__":
    who, seconds, times = ratio()
    print(
        f"{TESTS} tests of {STATIONS} stations: {seconds * 1000:.0f} ms; {who} one by one takes {times:.0f} x (asked: 1000 x)"
    )
