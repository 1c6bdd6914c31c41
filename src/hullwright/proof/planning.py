"""How many readings should be planned, and what chance has a sound lot to be proved.

The chance is the integral over the sampling distribution of s of Φ((μ − L − k·max(s, step/√12))·√n/σ), with
σ² + step²/12 in place of σ² (Sheppard's correction for grouping). It holds where σ is at least a third of the comb
step; below that the comb decides, not the film.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from hullwright.errors import InfeasibleError, Problem
from hullwright.evidence import ESTIMATE, Figure
from hullwright.material.aim import LOT_READINGS
from hullwright.material.allowance import CHANCE, MOST_READINGS
from hullwright.material.allowance import readings_for as needed
from hullwright.material.distributions import Floats, chi_square_quantile, normal_cdf, normal_quantile
from hullwright.material.tolerance import CONFIDENCE, LEAST_READINGS, SHARE, k_factor, k_pooled
from hullwright.units import FOOT

READING_EVERY = Figure(10 * FOOT, "m", ESTIMATE)


@dataclass(frozen=True, slots=True)
class OperatingCurve:
    """Chance to prove a lot, against what the lot really is.

    Parameters
    ----------
    n : int
        Readings in the lot.
    mean : ndarray (m,)
        True mean wet film [m].
    share_below : ndarray (m,)
        True share of the length below the least film.
    chance : ndarray (m,)
        Chance that the lot is proved.
    """

    n: int
    mean: Floats
    share_below: Floats
    chance: Floats

    def to_json(self) -> dict[str, Any]:
        """Give the curve as columns, films in µm."""
        return {
            "readings": self.n,
            "mean_um": (self.mean * 1e6).tolist(),
            "share_below": self.share_below.tolist(),
            "chance": self.chance.tolist(),
        }


def chance_to_prove(
    n: int, mean: ArrayLike, sd: float, *, least: float, step: float, share: float = SHARE
) -> Floats:
    """Give the chance that a lot of this kind is proved, at the default confidence.

    Parameters
    ----------
    n : int
        Readings.
    mean : array_like
        True mean wet film [m].
    sd : float
        True spread [m].
    least : float
        Least wet film [m].
    step : float
        Step of the comb there [m]; 0 for exact readings.
    share : float
        Share of the length that must be proved.

    Returns
    -------
    ndarray

    Examples
    --------
    >>> at_the_limit = 20 + 1.2815515655446004 * 3  # 10 % of the length is too thin
    >>> round(float(chance_to_prove(10, at_the_limit, 3, least=20, step=0)), 3)
    0.05
    """
    k = k_factor(n, share, CONFIDENCE)
    spread = math.sqrt(sd**2 + step**2 / 12.0)
    grid = (np.arange(800) + 0.5) / 800
    s = np.array([chi_square_quantile(float(u), n - 1) for u in grid])
    s = np.maximum(spread * np.sqrt(s / (n - 1)), step / math.sqrt(12.0))
    z = (np.asarray(mean, dtype=np.float64)[..., None] - least - k * s) * math.sqrt(n) / spread
    return np.asarray(normal_cdf(z).mean(axis=-1), dtype=np.float64)


def readings_for(mean: float, sd: float, *, least: float, step: float, power: float = CHANCE) -> int:
    """Give the readings to plan so that a lot of this kind is proved with chance `power`.

    Parameters
    ----------
    mean, sd : float
        Wet film the crew is expected to lay, and its spread [m].
    least : float
        Least wet film [m].
    step : float
        Step of the comb there [m].
    power : float
        Wanted chance.

    Returns
    -------
    int

    Raises
    ------
    InfeasibleError
        Where even the most readings anybody takes (200) would not do: more film, or a steadier hand, is the way.

    Examples
    --------
    >>> readings_for(24e-5, 2e-5, least=20e-5, step=2e-5)
    51
    """
    found = needed(mean - least, sd, step, power)
    if found is not None:
        return found
    raise InfeasibleError(
        "no practical number of readings would prove such a lot",
        [
            Problem(
                "the film is too close to its least value for its spread",
                got=f"mean {mean * 1e6:.0f} µm, spread {sd * 1e6:.0f} µm, least {least * 1e6:.0f} µm wet",
                allowed=f"{MOST_READINGS} readings at most",
                hint="plan a thicker film, or a steadier one (mock-up first)",
            )
        ],
    )


@dataclass(frozen=True, slots=True)
class Risk:
    """What a lot must show, and what stands behind its spread.

    Parameters
    ----------
    least : float
        Least wet film [m].
    share, confidence : float
    pooled : float
        Degrees of freedom of earlier lots in the spread; 0: the lot's own.
    """

    least: float
    share: float = SHARE
    confidence: float = CONFIDENCE
    pooled: float = 0.0

    def k(self, n: int) -> float:
        """Factor of the bound with `n` readings."""
        return k_pooled(n, n - 1 + self.pooled, self.share, self.confidence)


def more_readings(mean: float, s: float, risk: Risk, *, n: int) -> int | None:
    """Give how many more readings would prove the lot if mean and spread stay as they are.

    Parameters
    ----------
    mean, s : float
        Of the readings so far [m]; `s` guarded by the step.
    risk : Risk
    n : int
        Readings so far.

    Returns
    -------
    int or None
        None where no number up to :data:`hullwright.material.allowance.MOST_READINGS` would do.

    Examples
    --------
    >>> more_readings(24.5, 2.5, Risk(20.0), n=10)
    18
    """
    wanted = (mean - risk.least) / s
    if wanted <= normal_quantile(risk.share) or risk.k(MOST_READINGS) > wanted:
        return None
    low, high = max(n, LEAST_READINGS - 1), MOST_READINGS  # low fails, high does
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if risk.k(middle) <= wanted else (middle, high)
    return high - n


def operating_curve(n: int, sd: float, *, least: float, step: float, points: int = 41) -> OperatingCurve:
    """Draw the chance to prove a lot against its true share below the least film.

    Parameters
    ----------
    n : int
    sd, least, step : float
        [m]
    points : int

    Returns
    -------
    OperatingCurve

    Examples
    --------
    >>> curve = operating_curve(10, 3.0, least=20.0, step=2.0)
    >>> bool(curve.chance[0] < 0.01 < 0.99 < curve.chance[-1])
    True
    """
    mean = least + sd * np.linspace(0.0, 6.0, points)
    below = normal_cdf((least - mean) / sd)
    return OperatingCurve(n, mean, below, chance_to_prove(n, mean, sd, least=least, step=step))


def readings_by_length(length: float, *, details: int = 0) -> int:
    """Give the least readings of a lot by its length: one per 10 ft, ten at least, one at each corner and penetration.

    Own rule (estimate), not from a standard: 100 ft2 of a 4-in band would be 300 ft of joint.

    Examples
    --------
    >>> readings_by_length(60.96, details=3), readings_by_length(5.0)
    (23, 10)
    """
    along = math.ceil(length / READING_EVERY.value - 1e-9)
    return max(along, int(LOT_READINGS.value)) + details
