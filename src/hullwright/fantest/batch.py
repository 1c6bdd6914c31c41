"""What do thousands of tests say: one vectorised pass, nothing lost, a reason where a test can't be computed."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.fantest.air import Floats
from hullwright.fantest.raw import Procedure, RawTest, Run
from hullwright.fantest.reduce import Columns, Reduced, columns_of, reduce_columns, to_reference
from hullwright.fantest.regress import Lines, Mask, fit, t_quantile, z_quantile
from hullwright.fantest.scales import PRESSURES
from hullwright.fantest.terms import Accuracy, drift_effect, drift_factor, effect

PROBLEMS: Final = MappingProxyType(
    {
        0: "",
        1: "no zero-flow pressure",
        2: "the density of the air is not known",
        3: "a station is not a number, points the wrong way or has no flow",
        4: "fewer than three stations",
        5: "all stations have the same pressure",
    }
)
LEAST_STATIONS: Final = 3
BLOCK: Final = 1024


@dataclass(frozen=True, slots=True)
class BatchResult:
    """Results of many one-direction multi-point tests as columns.

    Parameters
    ----------
    problem : ndarray of int8, shape (T,)
        Key of :data:`PROBLEMS`; 0 for a test that could be computed, else its results are NaN.
    reduced : Reduced
        Induced pressures, flows, densities.
    used : ndarray of bool, shape (T, N)
        Stations that count.
    line : Lines
        Fits of ln flow on ln pressure.
    c_m3_h_pan, cl_m3_h_pan : ndarray, shape (T,)
        Coefficient of the day's air and of reference air [m3/(h Pa^n)].
    level : float
        Coverage.
    t : ndarray, shape (T,)
        Student t of each test.
    """

    problem: NDArray[np.int8]
    reduced: Reduced
    used: Mask
    line: Lines
    c_m3_h_pan: Floats
    cl_m3_h_pan: Floats
    level: float
    t: Floats

    @property
    def n(self) -> Floats:
        """Pressure exponents."""
        return self.line.slope

    @property
    def r2(self) -> Floats:
        """Coefficients of determination."""
        return self.line.r2

    @property
    def n_half(self) -> Floats:
        """Half-widths of n."""
        return np.asarray(self.t * self.line.s_slope)

    def flow(self, pressure_pa: float) -> Floats:
        """Flows of reference air at a pressure [m3/h]."""
        return np.asarray(self.cl_m3_h_pan * pressure_pa**self.line.slope)

    def scatter(self, pressure_pa: float) -> Floats:
        """Half-widths of ln Q from the scatter of the fit alone."""
        return np.asarray(self.t * self.line.s_line(math.log(pressure_pa)))

    def total(self, pressure_pa: float, accuracy: Accuracy, *, drift_pa: Floats | None = None) -> Floats:
        """Half-widths of ln Q with device, gauge, wind and zero-flow drift.

        Parameters
        ----------
        pressure_pa : float
            Pressure of interest [Pa].
        accuracy : Accuracy
            Instruments, 95 %, the same for all tests.
        drift_pa : ndarray, shape (T,), or None
            Zero-flow pressure after less before [Pa]; NaN where one is missing.

        Returns
        -------
        ndarray, shape (T,)
        """
        scale = z_quantile(self.level) / z_quantile(0.95)
        dp = self.reduced.dp_pa
        error = np.maximum(accuracy.pressure_share * dp, accuracy.pressure_pa)
        gauge = effect(self.line, dp, self.used, error_pa=error, at_pa=pressure_pa) * scale
        fixed = (math.log1p(accuracy.flow_share) ** 2 + math.log1p(accuracy.wind_share) ** 2) * scale**2
        square = self.scatter(pressure_pa) ** 2 + gauge**2 + fixed
        if drift_pa is not None:
            drift = drift_effect(
                self.line, dp, self.used, drift_pa=np.nan_to_num(drift_pa, nan=0.0), at_pa=pressure_pa
            )
            square = square + (drift_factor(self.level) * drift) ** 2
        return np.asarray(np.sqrt(square))

    def table(self, volume_m3: Floats | None = None) -> Mapping[str, Floats]:
        """Main results by name.

        Parameters
        ----------
        volume_m3 : ndarray, shape (T,), or None
            Volumes [m3]; NaN where not stated.

        Returns
        -------
        mapping of str to ndarray
            Keys as in the answer of one test; ``q50_low`` and ``q50_high`` are of the scatter alone.
        """
        q50, half = self.flow(50.0), self.scatter(50.0)
        out = {
            "stations": self.line.count,
            "bias_pa": self.reduced.bias_pa,
            "n": self.n,
            "n_half": self.n_half,
            "c_m3_h_pan": self.c_m3_h_pan,
            "cl_m3_h_pan": self.cl_m3_h_pan,
            "r2": self.r2,
        }
        out |= {f"q{pressure:g}_m3_h": self.flow(pressure) for pressure in PRESSURES}
        out |= {
            "q50_low_m3_h": np.asarray(q50 * np.exp(-half)),
            "q50_high_m3_h": np.asarray(q50 * np.exp(half)),
        }
        if volume_m3 is not None:
            out["ach50"] = np.asarray(q50 / volume_m3)
        return out


def analyse_columns(columns: Columns, *, viscous: bool = False, level: float = 0.95) -> BatchResult:
    """Analyse many multi-point tests in one pass.

    Parameters
    ----------
    columns : Columns
        Readings; ragged tests are padded and masked.
    viscous : bool
        Reference correction: False ISO 9972, True ASTM E779.
    level : float
        Coverage of the intervals.

    Returns
    -------
    BatchResult
        One row for each test, in order.

    Examples
    --------
    >>> from hullwright.fantest.example import example
    >>> test = example()
    >>> result = analyse_columns(pack([(test, run) for run in test.runs]))
    >>> result.n.round(7).tolist()
    [0.6407099]
    """
    reduced = reduce_columns(columns)
    line, problem = _fit(reduced.dp_pa, reduced.flow_m3_h, columns.used)
    problem[np.isnan(reduced.rho_leak)] = 2
    problem[np.isnan(reduced.bias_pa)] = 1
    problem[(problem == 0) & (line.count < LEAST_STATIONS)] = 4
    problem[(problem == 0) & np.isnan(line.ssx)] = 5
    line = _blank(line, problem)
    c = np.exp(line.intercept)
    cl = c * to_reference(reduced, line.slope, viscous=viscous)
    used = np.ones(reduced.dp_pa.shape, dtype=np.bool_) if columns.used is None else columns.used
    return BatchResult(problem, reduced, used, line, c, cl, level, t_quantile(level, line.freedom))


def _fit(dp: Floats, flow: Floats, used: Mask | None) -> tuple[Lines, NDArray[np.int8]]:
    """Fit in blocks of rows: what is needed in between then stays in the cache."""
    starts = range(0, max(len(dp), 1), BLOCK)
    parts = [
        _fit_block(dp[k : k + BLOCK], flow[k : k + BLOCK], None if used is None else used[k : k + BLOCK])
        for k in starts
    ]
    if len(parts) == 1:
        return parts[0]
    columns = {f.name: np.concatenate([getattr(line, f.name) for line, _ in parts]) for f in fields(Lines)}
    return Lines(**columns), np.concatenate([problem for _, problem in parts])


def _fit_block(dp: Floats, flow: Floats, used: Mask | None) -> tuple[Lines, NDArray[np.int8]]:
    with np.errstate(invalid="ignore", divide="ignore"):
        # Station by station in memory, so that the sums run along the tests: rows are short, blocks are long.
        x, y = np.log(dp.T, order="C").T, np.log(flow.T, order="C").T
        # A logarithm is finite just where its number is above zero and finite; so is a sum of them.
        if used is None and bool(np.isfinite(np.einsum("ij->i", x) + np.einsum("ij->i", y)).all()):
            return fit(x, y), np.zeros(len(dp), dtype=np.int8)
        good = np.isfinite(x) & np.isfinite(y)
        counted = good if used is None else good & used
        bad = ~good if used is None else used & ~good
        return fit(x, y, counted), np.where(bad.any(axis=1), 3, 0).astype(np.int8)


def _blank(line: Lines, problem: NDArray[np.int8]) -> Lines:
    """Take the numbers out of the rows that have a problem."""
    if not problem.any():
        return line
    bad = problem > 0

    def hide(values: Floats) -> Floats:
        return np.where(bad, np.nan, values)

    return Lines(
        hide(line.slope),
        hide(line.intercept),
        hide(line.r2),
        line.count,
        line.freedom,
        line.x_mean,
        hide(line.ssx),
        hide(line.sd),
    )


def pack(runs: Sequence[tuple[RawTest, Run]]) -> Columns:
    """Put many directions of many tests into columns, padded to the longest.

    Parameters
    ----------
    runs : sequence of (RawTest, Run)
        Multi-point runs.

    Returns
    -------
    Columns

    Raises
    ------
    ValueError
        Where a run is not multi-point.
    """
    if any(test.procedure is not Procedure.MULTI for test, _ in runs):
        raise ValueError("only multi-point tests go through the batch; analyse the others one by one")
    ones = [columns_of(run, test.device, test.weather) for test, run in runs]
    width = max((one.pressure_pa.shape[1] for one in ones), default=0)
    shape = (len(ones), width)
    pressure, flow = np.full(shape, np.nan), np.full(shape, np.nan)
    used = np.zeros(shape, dtype=np.bool_)
    for row, one in enumerate(ones):
        count = one.pressure_pa.shape[1]
        pressure[row, :count], flow[row, :count] = one.pressure_pa[0], one.flow_m3_h[0]
        used[row, :count] = True if one.used is None else one.used[0]

    def join(name: str) -> Floats:
        return np.array([float(getattr(one, name)[0]) for one in ones])

    return Columns(
        pressure,
        flow,
        used,
        join("before_pa"),
        join("after_pa"),
        join("sign"),
        join("inside_c"),
        join("outside_c"),
        join("altitude_m"),
        join("barometer_pa"),
        join("inside_humidity"),
        join("outside_humidity"),
    )
