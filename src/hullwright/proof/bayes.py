"""How does what was counted change what was thought: conjugate updates, prior and data kept apart.

Gamma-Poisson for counts along a length, beta-binomial for shares of pieces, normal-inverse-gamma on logarithms for
hours and yields (Bayesian Data Analysis, 3rd ed., sections 2.4, 2.6 and 3.3).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from hullwright.errors import QuantityError
from hullwright.material.distributions import (
    Floats,
    beta_cdf,
    beta_quantile,
    gamma_cdf,
    gamma_quantile,
    t_quantile,
)

LEVEL = 0.95


@dataclass(frozen=True, slots=True)
class GammaRate:
    """A rate with a gamma distribution.

    Parameters
    ----------
    shape : float
        a, in events.
    rate : float
        b, in units of exposure.

    Examples
    --------
    >>> after = GammaRate(3, 5).update(3, 2)
    >>> round(after.mean, 4), round(after.chance_above(1.0), 4)
    (0.8571, 0.3007)
    """

    shape: float
    rate: float

    def __post_init__(self) -> None:
        if not (self.shape > 0 and self.rate > 0 and math.isfinite(self.shape + self.rate)):
            raise QuantityError(f"a gamma prior needs shape and rate above 0, got {self.shape}, {self.rate}")

    def update(self, events: float, exposure: float) -> GammaRate:
        """Take in `events` seen over `exposure`: Gamma(a + x, b + T)."""
        if not (events >= 0 and exposure >= 0 and math.isfinite(events + exposure)):
            raise QuantityError(f"events and exposure can't be negative, got {events}, {exposure}")
        return GammaRate(self.shape + events, self.rate + exposure)

    @property
    def mean(self) -> float:
        """Mean rate, events per unit of exposure."""
        return self.shape / self.rate

    @property
    def sd(self) -> float:
        """Standard deviation of the rate."""
        return math.sqrt(self.shape) / self.rate

    def interval(self, level: float = LEVEL) -> tuple[float, float]:
        """Give the central interval of the rate."""
        tail = (1 - level) / 2
        return gamma_quantile(tail, self.shape, self.rate), gamma_quantile(1 - tail, self.shape, self.rate)

    def chance_above(self, value: float) -> float:
        """Give the chance that the rate is above `value`."""
        return 1.0 - gamma_cdf(value, self.shape, self.rate)

    def to_json(self) -> dict[str, float]:
        """Give mean and interval."""
        low, high = self.interval()
        return {"value": self.mean, "low": low, "high": high, "level": LEVEL}


@dataclass(frozen=True, slots=True)
class BetaShare:
    """A share with a beta distribution.

    Parameters
    ----------
    a, b : float
        Failing and sound pieces, prior included.

    Examples
    --------
    >>> after = BetaShare(1, 1).update(437, 980)
    >>> round(after.mean, 3), round(after.sd, 3)
    (0.446, 0.016)
    """

    a: float
    b: float

    def __post_init__(self) -> None:
        if not (self.a > 0 and self.b > 0 and math.isfinite(self.a + self.b)):
            raise QuantityError(f"a beta prior needs both figures above 0, got {self.a}, {self.b}")

    def update(self, failed: int, tried: int) -> BetaShare:
        """Take in `failed` of `tried` pieces."""
        if not 0 <= failed <= tried:
            raise QuantityError(f"failed pieces must lie between 0 and those tried, got {failed} of {tried}")
        return BetaShare(self.a + failed, self.b + tried - failed)

    @property
    def mean(self) -> float:
        """Mean share."""
        return self.a / (self.a + self.b)

    @property
    def sd(self) -> float:
        """Standard deviation of the share."""
        total = self.a + self.b
        return math.sqrt(self.a * self.b / (total + 1)) / total

    def interval(self, level: float = LEVEL) -> tuple[float, float]:
        """Give the central interval of the share."""
        tail = (1 - level) / 2
        return beta_quantile(tail, self.a, self.b), beta_quantile(1 - tail, self.a, self.b)

    def chance_below(self, share: float) -> float:
        """Give the chance that the share is at or below `share`."""
        return beta_cdf(share, self.a, self.b)

    def to_json(self) -> dict[str, float]:
        """Give mean and interval."""
        low, high = self.interval()
        return {"value": self.mean, "low": low, "high": high, "level": LEVEL}


@dataclass(frozen=True, slots=True)
class LogStats:
    """What a set of positive values says, as three figures that add up over houses.

    Parameters
    ----------
    n : int
        Values.
    mean_log : float
        Mean of their logarithms.
    sum_squares : float
        Sum of squared deviations of the logarithms.

    Examples
    --------
    >>> both = LogStats.of([2.0, 3.0]).merge(LogStats.of([5.0]))
    >>> alone = LogStats.of([2.0, 3.0, 5.0])
    >>> both.n, round(both.mean_log - alone.mean_log, 12), round(both.sum_squares - alone.sum_squares, 12)
    (3, 0.0, 0.0)
    """

    n: int
    mean_log: float
    sum_squares: float

    @staticmethod
    def of(values: Sequence[float]) -> LogStats:
        """Take the figures of some values, all above 0."""
        if any(not (value > 0 and math.isfinite(value)) for value in values):
            raise QuantityError(f"these figures must all be above 0: {list(values)}")
        if not values:
            return LogStats(0, 0.0, 0.0)
        logs = np.log(np.asarray(values, dtype=np.float64))
        return LogStats(len(values), float(logs.mean()), float(((logs - logs.mean()) ** 2).sum()))

    def merge(self, other: LogStats) -> LogStats:
        """Join two sets exactly."""
        n = self.n + other.n
        if n == 0:
            return self
        gap = other.mean_log - self.mean_log
        mean = self.mean_log + gap * other.n / n
        return LogStats(n, mean, self.sum_squares + other.sum_squares + gap**2 * self.n * other.n / n)


@dataclass(frozen=True, slots=True)
class LogNormal:
    """A positive figure whose logarithm has unknown mean and spread (normal-inverse-gamma).

    Parameters
    ----------
    centre : float
        Mean of the logarithm's mean.
    weight : float
        κ, in values.
    shape, scale : float
        α and β of the variance.

    Examples
    --------
    >>> prior = LogNormal.prior(10.0, gsd=1.5)
    >>> after = prior.update(LogStats.of([14.0, 15.0, 16.0]))
    >>> 13.0 < after.median < 15.0
    True
    """

    centre: float
    weight: float
    shape: float
    scale: float

    @staticmethod
    def prior(value: float, *, gsd: float, worth: float = 1.0) -> LogNormal:
        """Make a prior with median `value`, geometric spread `gsd`, worth that many values."""
        if not (value > 0 and gsd > 1 and worth > 0):
            raise QuantityError(
                f"a prior needs a value above 0, a spread factor above 1, got {value}, {gsd}, {worth}"
            )
        shape = 1.0 + worth / 2.0
        return LogNormal(math.log(value), worth, shape, shape * math.log(gsd) ** 2)

    def update(self, data: LogStats) -> LogNormal:
        """Take in data (Bayesian Data Analysis, 3rd ed., eq. 3.11 and below)."""
        weight = self.weight + data.n
        centre = (self.weight * self.centre + data.n * data.mean_log) / weight
        shift = self.weight * data.n * (data.mean_log - self.centre) ** 2 / (2.0 * weight)
        return LogNormal(
            centre, weight, self.shape + data.n / 2.0, self.scale + data.sum_squares / 2.0 + shift
        )

    @property
    def median(self) -> float:
        """Median of the figure."""
        return math.exp(self.centre)

    def interval(self, level: float = LEVEL) -> tuple[float, float]:
        """Give the interval of the long-run median."""
        half = t_quantile(0.5 + level / 2, 2 * self.shape) * math.sqrt(
            self.scale / (self.shape * self.weight)
        )
        return math.exp(self.centre - half), math.exp(self.centre + half)

    def draw(self, rng: np.random.Generator, worlds: int, values: int) -> Floats:
        """Draw values.

        Parameters
        ----------
        rng : numpy.random.Generator
        worlds : int
            Draws of mean and spread.
        values : int
            Values in each.

        Returns
        -------
        ndarray (worlds, values)
        """
        variance = self.scale / rng.gamma(self.shape, 1.0, (worlds, 1))
        mean = rng.normal(self.centre, np.sqrt(variance / self.weight))
        return np.exp(rng.normal(mean, np.sqrt(variance), (worlds, values)))

    def to_json(self) -> dict[str, Any]:
        """Give median and interval."""
        low, high = self.interval()
        return {"value": self.median, "low": low, "high": high, "level": LEVEL}
