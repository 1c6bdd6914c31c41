"""Which power law q = C dp^n does one direction follow, by the procedure that was used.

Multi-point: unweighted regression (:mod:`hullwright.fantest.regress`). Two-point and single-point: ASTM E1827. All three
come out as the same kind of line, so that intervals are computed in one way.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from hullwright.evidence import Evidence, Figure, Mark
from hullwright.fantest.air import Floats
from hullwright.fantest.raw import Procedure, Weights
from hullwright.fantest.regress import Lines, Mask, fit, fit_weighted, organic_slope

E1827_EXPONENT: Final = Figure(
    0.65, "", Evidence(Mark.MEMORY, "ASTM E1827, single-point method: assumed pressure exponent")
)
FIELD_EXPONENT_SD: Final = Figure(
    0.057,
    "",
    Evidence(Mark.PUBLISHED, "Chan, Joh, Sherman, Energy and Buildings 66 (2013) 616-625: n 0.646, SD 0.057"),
)


@dataclass(frozen=True, slots=True)
class Other:
    """A second opinion on the same points, never the result a standard asks for.

    Parameters
    ----------
    label : str
        What it is.
    n, c_m3_h_pan : float
        Exponent and coefficient of the day's air [m3/(h Pa^n)].
    """

    label: str
    n: float
    c_m3_h_pan: float

    def at(self, pressure_pa: float) -> float:
        """Flow of the day's air [m3/h]."""
        return float(self.c_m3_h_pan * pressure_pa**self.n)


def fit_curve(dp_pa: Floats, flow_m3_h: Floats, used: Mask, procedure: Procedure) -> Lines:
    """Fit the power law to one direction.

    Parameters
    ----------
    dp_pa, flow_m3_h : ndarray, shape (1, N)
        Induced pressure [Pa] and envelope flow [m3/h], both above zero where used.
    used : ndarray of bool, shape (1, N)
        Stations that count.
    procedure : Procedure
        How many pressures were held.

    Returns
    -------
    Lines
        Of ln flow on ln pressure, T = 1. With two points and no repeats, or one reading, the scatter is NaN.
    """
    x = np.log(np.where(used, dp_pa, 1.0))
    y = np.log(np.where(used, flow_m3_h, 1.0))
    if procedure is Procedure.MULTI:
        return fit(x, y, used)
    if procedure is Procedure.TWO:
        return two_point(x[used], y[used])
    return single_point(x[used], y[used])


def single_point(x: Floats, y: Floats) -> Lines:
    """Fit the repeats of one pressure with the assumed exponent.

    Parameters
    ----------
    x, y : ndarray, shape (K,)
        ln pressure, ln flow.

    Returns
    -------
    Lines
        ASTM E1827: ``Q50 = Q (50/dp)^0.65``, geometric mean over the repeats.

    Examples
    --------
    >>> import numpy as np
    >>> line = single_point(np.log(np.array([49.0])), np.log(np.array([300.0])))
    >>> round(float(np.exp(line.at(np.log(50.0)))[0]), 3)
    303.966
    """
    count = float(len(x))
    intercept = y - float(E1827_EXPONENT) * x
    sd = float(np.std(intercept, ddof=1)) if count > 1 else np.nan
    return Lines(
        np.array([float(E1827_EXPONENT)]),
        np.array([intercept.mean()]),
        np.array([np.nan]),
        np.array([count]),
        np.array([count - 1.0]),
        np.array([x.mean()]),
        np.array([np.inf]),
        np.array([sd]),
    )


def groups_of(x: Floats) -> Mask:
    """Part the readings of a two-point test at the widest gap.

    Parameters
    ----------
    x : ndarray, shape (K,)
        ln pressure.

    Returns
    -------
    ndarray of bool, shape (K,)
        True for the upper group.

    Examples
    --------
    >>> import numpy as np
    >>> groups_of(np.log(np.array([50.2, 12.4, 49.8, 12.6]))).tolist()
    [True, False, True, False]
    """
    order = np.sort(x)
    gap = int(np.argmax(np.diff(order)))
    return np.asarray(x > (order[gap] + order[gap + 1]) / 2.0)


def two_point(x: Floats, y: Floats) -> Lines:
    """Fit two held pressures, each with its repeats.

    Parameters
    ----------
    x, y : ndarray, shape (K,)
        ln pressure, ln flow; K at least 2.

    Returns
    -------
    Lines
        ASTM E1827: ``n = ln(Q1/Q2)/ln(dp1/dp2)`` of the geometric means; the scatter of the repeats is pooled, and
        the line has the weights of least squares through two groups.

    Examples
    --------
    >>> import numpy as np
    >>> line = two_point(np.log(np.array([50.0, 12.5])), np.log(np.array([250.0, 101.5])))
    >>> round(float(line.slope[0]), 6), round(float(np.exp(line.intercept[0])), 5)
    (0.650224, 19.64394)
    """
    high = groups_of(x)
    k_high, k_low = float(high.sum()), float((~high).sum())
    x_high, x_low = float(x[high].mean()), float(x[~high].mean())
    y_high, y_low = float(y[high].mean()), float(y[~high].mean())
    slope = (y_high - y_low) / (x_high - x_low)
    intercept = y_high - slope * x_high
    freedom = k_high + k_low - 2.0
    rest = float(np.sum((y - intercept - slope * x) ** 2))
    return Lines(
        np.array([slope]),
        np.array([intercept]),
        np.array([np.nan]),
        np.array([k_high + k_low]),
        np.array([freedom]),
        np.array([(k_high * x_high + k_low * x_low) / (k_high + k_low)]),
        np.array([k_high * k_low / (k_high + k_low) * (x_high - x_low) ** 2]),
        np.array([np.sqrt(rest / freedom) if freedom > 0 else np.nan]),
    )


def weighted(dp_pa: Floats, flow_m3_h: Floats, weights: Weights, *, device_m3_h: Floats) -> Other:
    """Weighted log-linear fit with stated standard deviations of the stations.

    Parameters
    ----------
    dp_pa, flow_m3_h : ndarray, shape (K,)
        Stations that count.
    weights : Weights
        Standard deviations.
    device_m3_h : ndarray, shape (K,)
        Flows of the air in the device, to which the standard deviation of the flow belongs.

    Returns
    -------
    Other
        ``w = 1/((s_q/q)^2 + (n s_p/dp)^2)``, iterated on n (general statistics).

    Examples
    --------
    >>> import numpy as np
    >>> dp = np.array([60.0, 45.0, 30.0, 15.0])
    >>> round(weighted(dp, 20.0 * dp**0.65, Weights(0.5, 0.02), device_m3_h=20.0 * dp**0.65).n, 9)
    0.65
    """
    x, y = np.log(dp_pa)[None, :], np.log(flow_m3_h)[None, :]
    flow_sd = weights.flow_share + weights.flow_m3_h / device_m3_h
    slope, intercept = fit_weighted(x, y, np.ones_like(x))
    for _ in range(100):
        share = flow_sd**2 + (slope[0] * weights.pressure_pa / dp_pa) ** 2
        before = float(slope[0])
        slope, intercept = fit_weighted(x, y, 1.0 / share[None, :])
        if abs(float(slope[0]) - before) < 1e-14:
            break
    label = "weighted by the stated scatter of each station; not what the standard asks for"
    return Other(label, float(slope[0]), float(np.exp(intercept[0])))


def flow_weighted(dp_pa: Floats, flow_m3_h: Floats) -> Other:
    """Log-linear fit weighted by the square of the flow.

    Parameters
    ----------
    dp_pa, flow_m3_h : ndarray, shape (K,)
        Stations that count.

    Returns
    -------
    Other
        A variant of Canadian practice (from memory, unverified).

    Examples
    --------
    >>> import numpy as np
    >>> dp = np.array([60.0, 45.0, 30.0, 15.0])
    >>> round(flow_weighted(dp, 20.0 * dp**0.65).n, 9)
    0.65
    """
    slope, intercept = fit_weighted(
        np.log(dp_pa)[None, :], np.log(flow_m3_h)[None, :], np.asarray(flow_m3_h**2)[None, :]
    )
    label = "weighted by flow squared (Canadian practice, from memory, unverified)"
    return Other(label, float(slope[0]), float(np.exp(intercept[0])))


def organic(line: Lines) -> Other | None:
    """Line of organic correlation: both pressure and flow carry error.

    Parameters
    ----------
    line : Lines
        The ordinary fit of a multi-point test, T = 1.

    Returns
    -------
    Other or None
        None where the ordinary fit has no r2.
    """
    if not line.r2[0] > 0:
        return None
    slope, intercept = organic_slope(line, line.at(line.x_mean))
    label = "line of organic correlation (proposed for EN ISO 9972); not what the standard asks for"
    return Other(label, float(slope[0]), float(np.exp(intercept[0])))
