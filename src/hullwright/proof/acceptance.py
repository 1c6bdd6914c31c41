"""Textbook acceptance by variables: accept where (mean − limit)/s ≥ k.

The k-method of ISO 3951 and MIL-STD-414 (single limit, spread unknown), with designs by the normal approximation and
exactly by the noncentral t distribution.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from hullwright.errors import InfeasibleError, Problem, QuantityError
from hullwright.material.distributions import noncentral_t_cdf, noncentral_t_quantile, normal_quantile


@dataclass(frozen=True, slots=True)
class Quality:
    """What the k-method finds.

    Parameters
    ----------
    mean, sd : float
        In the unit of the readings.
    index : float
        Q, distance of the mean from the limit in spreads.
    accepted : bool
    """

    mean: float
    sd: float
    index: float
    accepted: bool


@dataclass(frozen=True, slots=True)
class Design:
    """A sampling plan.

    Parameters
    ----------
    n : float
        Readings (the approximate design gives a fraction: round up).
    k_low, k_high : float
        Acceptance constants that keep both risks; equal in the approximate design.
    """

    n: float
    k_low: float
    k_high: float


@dataclass(frozen=True, slots=True)
class Risks:
    """Good quality to be accepted and bad quality to be refused.

    Parameters
    ----------
    good, bad : float
        Shares outside the limit, good < bad.
    refuse_good, accept_bad : float
        Risks α and β.

    Raises
    ------
    QuantityError
        Shares or risks out of order.
    """

    good: float
    bad: float
    refuse_good: float = 0.05
    accept_bad: float = 0.10

    def __post_init__(self) -> None:
        if not (0 < self.good < self.bad < 1 and 0 < self.refuse_good < 1 and 0 < self.accept_bad < 1):
            problem = Problem(
                "shares or risks out of order", got=str(self), allowed="0 < good < bad < 1, risks in (0, 1)"
            )
            raise QuantityError("no plan for these risks", [problem])


def k_method(readings: ArrayLike, limit: float, k: float, *, upper: bool = False) -> Quality:
    """Accept or refuse a lot by the k-method.

    Parameters
    ----------
    readings : array_like (n,)
    limit : float
        Lower limit, or upper with `upper`.
    k : float
        Acceptance constant of the plan.
    upper : bool

    Returns
    -------
    Quality

    Examples
    --------
    >>> found = k_method([197, 188, 184, 205, 201], 209, 1.53, upper=True)
    >>> round(found.index, 2), found.accepted
    (1.59, True)
    """
    values = np.asarray(readings, dtype=np.float64)
    if values.ndim != 1 or len(values) < 2 or not np.isfinite(values).all():
        raise QuantityError(f"the k-method needs two or more finite readings, got {values.tolist()}")
    mean, sd = float(values.mean()), float(values.std(ddof=1))
    distance = limit - mean if upper else mean - limit
    index = math.copysign(math.inf, distance) if sd == 0 else distance / sd
    return Quality(mean, sd, index, index >= k)


def design_normal(risks: Risks) -> Design:
    """Design a plan by the normal approximation, spread unknown.

    k = (z_α·z_p2 + z_β·z_p1)/(z_α + z_β), n = (1 + k²/2)·((z_α + z_β)/(z_p1 − z_p2))².

    Examples
    --------
    >>> plan = design_normal(Risks(0.01, 0.06))
    >>> round(plan.k_low, 3), round(plan.n, 1)
    (1.893, 40.2)
    """
    z_a, z_b = normal_quantile(1 - risks.refuse_good), normal_quantile(1 - risks.accept_bad)
    z_1, z_2 = normal_quantile(1 - risks.good), normal_quantile(1 - risks.bad)
    k = (z_a * z_2 + z_b * z_1) / (z_a + z_b)
    n = (1 + k**2 / 2) * ((z_a + z_b) / (z_1 - z_2)) ** 2
    return Design(n, k, k)


def design_exact(risks: Risks, *, most: int = 2000) -> Design:
    """Design a plan exactly: the smallest n for which some k keeps both risks.

    Parameters
    ----------
    risks : Risks
    most : int
        Largest plan looked at.

    Returns
    -------
    Design

    Raises
    ------
    InfeasibleError
        Where `most` readings are not enough.

    Examples
    --------
    >>> plan = design_exact(Risks(0.01, 0.06))
    >>> plan.n, round(plan.k_low, 5), round(plan.k_high, 6)
    (42, 1.89756, 1.905285)
    """
    for n in range(2, most + 1):
        k_low = noncentral_t_quantile(1 - risks.accept_bad, n - 1, _delta(n, risks.bad)) / math.sqrt(n)
        k_high = noncentral_t_quantile(risks.refuse_good, n - 1, _delta(n, risks.good)) / math.sqrt(n)
        if k_low <= k_high:
            return Design(n, k_low, k_high)
    raise InfeasibleError(f"no plan of up to {most} readings keeps these risks: {risks}")


def chance_accepted(share_outside: float, *, n: int, k: float) -> float:
    """Give the chance that a lot with this share outside the limit is accepted (operating characteristic).

    Examples
    --------
    >>> round(chance_accepted(0.01, n=40, k=1.9), 3), round(chance_accepted(0.06, n=40, k=1.9), 3)
    (0.948, 0.105)
    """
    return 1.0 - noncentral_t_cdf(k * math.sqrt(n), n - 1, _delta(n, share_outside))


def _delta(n: int, share: float) -> float:
    return normal_quantile(1 - share) * math.sqrt(n)
