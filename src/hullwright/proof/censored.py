"""What film is there, by best estimate: maximum likelihood from intervals.

ℓ(μ, σ) = Σ ln[Φ((b−μ)/σ) − Φ((a−μ)/σ)], with one-sided terms for (−∞, b] and (a, ∞) and density terms where a = b.
For estimates only. The acceptance bound is in :mod:`hullwright.material.tolerance`, which says why.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from hullwright.errors import NoAnswerError, Problem, QuantityError
from hullwright.material.distributions import Floats, normal_cdf, normal_density, normal_log_cdf


@dataclass(frozen=True, slots=True)
class NormalFit:
    """Mean and standard deviation estimated from censored values.

    Parameters
    ----------
    mean, sd : float
        In the unit of the data.
    se_mean, se_sd : float
        Standard errors from the observed information.
    correlation : float
        Between the two estimates.
    log_likelihood : float
        At the maximum, constants included.
    """

    mean: float
    sd: float
    se_mean: float
    se_sd: float
    correlation: float
    log_likelihood: float

    def share_below(self, value: float) -> float:
        """Give the estimated share of the length below `value`."""
        return float(normal_cdf((value - self.mean) / self.sd))

    def share_below_interval(self, value: float, z: float = 1.959963984540054) -> tuple[float, float]:
        """Give the interval of the share below `value`, by the delta method on the normal scale."""
        u = (value - self.mean) / self.sd
        variance = self.se_mean**2 + (u * self.se_sd) ** 2
        variance += 2 * u * self.correlation * self.se_mean * self.se_sd
        half = z * math.sqrt(max(variance, 0.0)) / self.sd
        return float(normal_cdf(u - half)), float(normal_cdf(u + half))


def resolvable(low: ArrayLike, high: ArrayLike) -> bool:
    """Say whether the intervals hold a spread at all.

    Where all intervals share a point, the likelihood rises without end as σ goes to zero: the comb can't resolve the
    spread, and no σ must be stated.

    Examples
    --------
    >>> resolvable([20, 20, 22], [22, 22, 24]), resolvable([18, 20, 22], [20, 22, 24])
    (False, True)
    """
    return bool(np.max(np.asarray(low, dtype=np.float64)) > np.min(np.asarray(high, dtype=np.float64)))


def fit_normal(low: ArrayLike, high: ArrayLike) -> NormalFit:
    """Fit a normal distribution to exact, left-, right- and interval-censored values.

    Parameters
    ----------
    low, high : array_like (n,)
        Interval of each value; equal for an exact value, −inf or inf where one side is open.

    Returns
    -------
    NormalFit

    Raises
    ------
    QuantityError
        Where an interval is upside down or not a number.
    NoAnswerError
        Where the intervals can't resolve a spread, or the maximum is not found.

    Examples
    --------
    >>> low = [20, 22, 18, 24, 20, 22, 20, 26, 22, 18]
    >>> fit = fit_normal(low, [value + 2 for value in low])
    >>> round(fit.mean, 4), round(fit.sd, 4), round(fit.log_likelihood, 4)
    (22.2008, 2.3286, -16.0116)
    """
    a, b = np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)
    _check(a, b)
    if len(a) < 2 or not resolvable(a, b):
        raise NoAnswerError("the readings can't resolve a spread: all intervals share a point")
    centre, scale = _start(a, b)
    theta = np.array([centre, math.log(scale)])
    theta = _climb(theta, a, b)
    return _result(theta, a, b)


def log_likelihood(mean: float, sd: float, low: ArrayLike, high: ArrayLike) -> float:
    """Give the log-likelihood of a normal distribution for censored values, constants included."""
    a, b = np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)
    za, zb = (a - mean) / sd, (b - mean) / sd
    exact = a == b
    total = float(np.sum(-0.5 * za[exact] ** 2 - math.log(sd * math.sqrt(2 * math.pi))))
    return total + float(np.sum(_log_difference(za[~exact], zb[~exact])))


def _log_difference(za: Floats, zb: Floats) -> Floats:
    """ln[Φ(zb) − Φ(za)], flipped to the lower tail so that nothing cancels."""
    flip = za > 0
    lower, upper = np.where(flip, -zb, za), np.where(flip, -za, zb)
    log_upper, log_lower = normal_log_cdf(upper), normal_log_cdf(lower)
    with np.errstate(divide="ignore"):
        return np.asarray(log_upper + np.log1p(-np.exp(log_lower - log_upper)), dtype=np.float64)


def _start(a: Floats, b: Floats) -> tuple[float, float]:
    points = np.where(np.isinf(a), b, np.where(np.isinf(b), a, 0.5 * (a + b)))
    spread = float(np.std(points))
    width = float(np.max(np.where(np.isfinite(b - a), b - a, 0.0)))
    return float(np.mean(points)), max(spread, width / 4.0)


def _gradient(theta: Floats, a: Floats, b: Floats) -> Floats:
    """Gradient of ℓ with respect to (μ, ln σ)."""
    mean, sd = theta[0], math.exp(theta[1])
    za, zb = (a - mean) / sd, (b - mean) / sd
    exact = a == b
    z = za[exact]
    d_mean = float(np.sum(z)) / sd
    d_log = float(np.sum(z**2 - 1.0))
    za, zb = za[~exact], zb[~exact]
    log_p = _log_difference(za, zb)
    with np.errstate(over="ignore", invalid="ignore"):
        fa = np.exp(np.log(np.maximum(normal_density(za), 1e-320)) - log_p)
        fb = np.exp(np.log(np.maximum(normal_density(zb), 1e-320)) - log_p)
    fa, fb = np.where(np.isinf(za), 0.0, fa), np.where(np.isinf(zb), 0.0, fb)
    ta = np.where(np.isinf(za), 0.0, za) * fa
    tb = np.where(np.isinf(zb), 0.0, zb) * fb
    return np.array([d_mean - float(np.sum(fb - fa)) / sd, d_log - float(np.sum(tb - ta))])


def _curvature(theta: Floats, a: Floats, b: Floats) -> Floats:
    """Second derivatives in (μ, ln σ), by central differences of the exact gradient."""
    steps = np.array([1e-5 * math.exp(theta[1]), 1e-5])
    rows = []
    for axis in range(2):
        shift = np.zeros(2)
        shift[axis] = steps[axis]
        rows.append((_gradient(theta + shift, a, b) - _gradient(theta - shift, a, b)) / (2 * steps[axis]))
    matrix = np.array(rows)
    return np.asarray(0.5 * (matrix + matrix.T), dtype=np.float64)


def _climb(theta: Floats, a: Floats, b: Floats) -> Floats:
    """Newton with step halving; falls back to the scaled gradient where the surface is not concave."""
    value = _value(theta, a, b)
    for _ in range(200):
        slope, bend = _gradient(theta, a, b), _curvature(theta, a, b)
        concave = bend[0, 0] < 0 and float(np.linalg.det(bend)) > 0
        sd = math.exp(theta[1])
        step = -np.linalg.solve(bend, slope) if concave else slope * np.array([sd**2, 1.0]) / len(a)
        step = step / max(1.0, abs(step[1]), abs(step[0]) / (4 * sd))
        trial, gain = theta, -1.0
        for _ in range(40):
            trial = theta + step
            gain = _value(trial, a, b) - value
            if gain >= 0:
                break
            step = step / 2.0
        if abs(step[0]) < 1e-10 * sd and abs(step[1]) < 1e-10:
            return theta
        theta, value = trial, value + max(gain, 0.0)
    raise NoAnswerError("the best estimate of mean and spread was not found: the readings hold too little")


def _value(theta: Floats, a: Floats, b: Floats) -> float:
    return log_likelihood(float(theta[0]), math.exp(float(theta[1])), a, b)


def _result(theta: Floats, a: Floats, b: Floats) -> NormalFit:
    sd = math.exp(float(theta[1]))
    jacobian = np.diag([1.0, 1.0 / sd])  # from (μ, ln σ) to (μ, σ); the gradient is zero at the maximum
    information = -(jacobian @ _curvature(theta, a, b) @ jacobian)
    covariance = np.linalg.inv(information)
    se_mean, se_sd = (math.sqrt(float(covariance[i, i])) for i in range(2))
    correlation = float(covariance[0, 1]) / (se_mean * se_sd)
    return NormalFit(float(theta[0]), sd, se_mean, se_sd, correlation, _value(theta, a, b))


def _check(a: Floats, b: Floats) -> None:
    if a.shape != b.shape or a.ndim != 1 or np.isnan(a).any() or np.isnan(b).any() or (a > b).any():
        raise QuantityError(
            "these intervals can't be used",
            [
                Problem(
                    "an interval is upside down or not a number",
                    got=f"{a.tolist()} to {b.tolist()}",
                    allowed="two equally long lists, each lower end at or below its upper end",
                )
            ],
        )
