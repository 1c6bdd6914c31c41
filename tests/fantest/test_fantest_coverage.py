"""Do the intervals hold what they promise: thousands of simulated tests with stated noise, and where they stop holding."""

from __future__ import annotations

import numpy as np
import pytest

from hullwright.fantest import Columns, analyse_columns
from hullwright.fantest.terms import Accuracy

COUNT = 4000
DP = np.linspace(60.0, 12.0, 10)
C, N = 30.0, 0.65
# Tolerance of a share of 4000: three standard deviations, 3 sqrt(p (1 - p)/4000) = 0.010 at 0.95, 0.014 at 0.90.
SLACK = {0.95: 0.0104, 0.90: 0.0143}


def simulate(seed, *, flow_sd=0.02, gust_pa=0.0, drift_pa=0.0, device_sd=0.0):
    """Exact power law, then: noise of ln flow, gusts on the pressures, a steady drift of the bias, one device error a test."""
    rng = np.random.default_rng(seed)
    true = np.broadcast_to(DP, (COUNT, len(DP)))
    flow = C * true**N * np.exp(rng.normal(0, flow_sd, true.shape) + rng.normal(0, device_sd, (COUNT, 1)))
    drift = rng.normal(0, drift_pa, COUNT)
    bias = drift[:, None] * np.linspace(0, 1, len(DP))
    shown = true + bias + (rng.normal(0, gust_pa, true.shape) if gust_pa else 0.0)
    zeros, nothing = np.zeros(COUNT), np.full(COUNT, np.nan)
    columns = Columns(
        -shown,
        flow,
        None,
        zeros,
        -drift,
        np.full(COUNT, -1.0),
        zeros + 20.0,
        zeros + 20.0,
        zeros,
        nothing,
        nothing,
        nothing,
    )
    return columns, drift


def share(result, half, pressure):
    found = result.flow(pressure)
    off = np.abs(np.log(found / (C * pressure**N)))
    return float(np.mean(off <= half))


@pytest.mark.parametrize("level", [0.90, 0.95])
@pytest.mark.parametrize("pressure", [4.0, 10.0, 50.0, 75.0])
def test_scatter_interval_holds_under_scatter(level, pressure):
    columns, _ = simulate(1)
    result = analyse_columns(columns, level=level)
    assert share(result, result.scatter(pressure), pressure) == pytest.approx(level, abs=SLACK[level])


@pytest.mark.parametrize("level", [0.90, 0.95])
def test_interval_of_n_holds_under_scatter(level):
    result = analyse_columns(simulate(2)[0], level=level)
    assert float(np.mean(np.abs(result.n - N) <= result.n_half)) == pytest.approx(level, abs=SLACK[level])


@pytest.mark.parametrize("level", [0.90, 0.95])
@pytest.mark.parametrize("pressure", [4.0, 50.0])
def test_total_interval_holds_with_device_bias(level, pressure):
    """A device error of 5 % (95 %) in every test: the scatter interval alone fails, the total one holds."""
    columns, _ = simulate(3, device_sd=np.log(1.05) / 1.96)
    result = analyse_columns(columns, level=level)
    total = result.total(pressure, Accuracy(0.05, 0.0, 0.0, 0.0, 0.1))
    # Two parts of unlike shape in quadrature: a little wide, never narrow.
    assert share(result, total, pressure) >= level - SLACK[level]
    if pressure == 50.0:
        assert share(result, result.scatter(pressure), pressure) < level - 0.1


@pytest.mark.parametrize("level", [0.90, 0.95])
@pytest.mark.parametrize("pressure", [4.0, 50.0])
@pytest.mark.parametrize("drift", [0.5, 2.0])
def test_total_interval_holds_with_drift_of_the_zero(level, pressure, drift):
    columns, drifts = simulate(4, drift_pa=drift)
    result = analyse_columns(columns, level=level)
    total = result.total(pressure, Accuracy(0.0, 0.0, 0.0, 0.0, 0.1), drift_pa=-drifts)
    assert share(result, total, pressure) >= level - SLACK[level]


def test_total_interval_holds_with_all_of_it():
    columns, drifts = simulate(5, device_sd=np.log(1.05) / 1.96, drift_pa=1.0)
    result = analyse_columns(columns)
    for pressure in (4.0, 10.0, 50.0, 75.0):
        total = result.total(pressure, Accuracy(0.05, 0.0, 0.0, 0.0, 0.1), drift_pa=-drifts)
        assert share(result, total, pressure) >= 0.95 - SLACK[0.95]


@pytest.mark.parametrize(
    ("gust", "at_4", "at_50"),
    [(0.1, 0.945, 0.952), (0.5, 0.902, 0.962), (1.0, 0.839, 0.977), (2.0, 0.782, 0.987)],
)
def test_where_the_interval_of_the_standards_stops_holding(gust, at_4, at_50):
    """Gusts on single stations weigh more at low pressure, which an unweighted fit does not know.

    The 95 % interval then covers too little at 4 Pa while it still holds at 50 Pa. Evidence of the shares: regression (this
    simulation; 3 standard deviations). Published in the same direction: equivalent windy tests differ by +87 to -45 % at 4
    and 10 Pa and by 15 % at 50 Pa (AIVC abstract).
    """
    result = analyse_columns(simulate(6, gust_pa=gust)[0])
    assert share(result, result.scatter(4.0), 4.0) == pytest.approx(at_4, abs=0.02)
    assert share(result, result.scatter(50.0), 50.0) == pytest.approx(at_50, abs=0.02)
    assert share(result, result.scatter(50.0), 50.0) >= 0.95 - SLACK[0.95]
    if gust >= 0.5:
        assert share(result, result.scatter(4.0), 4.0) < 0.95 - 2 * SLACK[0.95]
