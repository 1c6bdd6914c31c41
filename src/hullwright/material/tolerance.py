"""What film is proved along a lot: the one-sided tolerance bound.

L = mean − k·s, with k exact from the noncentral t distribution (ISO 16269-6, one-sided, unknown σ; NIST/SEMATECH e-Handbook
7.2.6.3 gives the approximate formula, here :func:`k_approximate`). With comb readings the midpoints are used and s never
falls below step/√12. The maximum-likelihood σ is *never* put into the bound: it goes to zero when all readings fall on
one or two teeth and then covers only 35 to 66 % instead of 95 % (own simulation; the tests show it).
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from hullwright.errors import Problem, QuantityError
from hullwright.material.distributions import (
    Floats,
    chi_square_quantile,
    noncentral_t_quantile,
    normal_cdf,
    normal_quantile,
)

SHARE = 0.90  # share of the joint length that must carry the film (estimate: own default, stated with each answer)
CONFIDENCE = 0.95  # (estimate: own default)
LEAST_READINGS = 3  # fewer were not tried in the simulation that shows the rule's coverage


@lru_cache(maxsize=4096)
def k_factor(n: int, share: float = SHARE, confidence: float = CONFIDENCE) -> float:
    """Give the exact one-sided tolerance factor.

    Parameters
    ----------
    n : int
        Readings, 2 or more.
    share : float
        Share p of the population that must lie above the bound.
    confidence : float
        γ.

    Returns
    -------
    float
        k = t'(γ; n−1, z_p·√n) / √n.

    Raises
    ------
    QuantityError
        n below 2, share or confidence outside (0, 1).

    Examples
    --------
    >>> round(k_factor(10), 3), round(k_factor(43, 0.90, 0.99), 5)
    (2.355, 1.87395)
    """
    _check(n, share, confidence)
    root = math.sqrt(n)
    return noncentral_t_quantile(confidence, n - 1, normal_quantile(share) * root) / root


@lru_cache(maxsize=4096)
def k_pooled(n: int, df: float, share: float = SHARE, confidence: float = CONFIDENCE) -> float:
    """Give the exact one-sided factor where the spread is pooled over several lots.

    The pooled spread has `df` degrees of freedom, those of this lot among them, and does not hang on the mean: so the same
    noncentral t, with `df` in place of n − 1. With `df` without end it is the factor of a known spread, z_p + z_γ/√n, of the σ method
    (ISO 3951; ISO 16269-6 for the bound).

    Parameters
    ----------
    n : int
        Readings of this lot.
    df : float
        Degrees of freedom of the pooled spread, n − 1 or more; infinite for a known spread.
    share, confidence : float

    Returns
    -------
    float

    Examples
    --------
    >>> round(k_pooled(10, 9), 3), round(k_pooled(10, 60), 3), round(k_pooled(10, math.inf), 3)
    (2.355, 1.88, 1.802)
    """
    _check(n, share, confidence)
    if df < n - 1:
        raise QuantityError(
            f"a pooled spread has this lot's own {n - 1} degrees of freedom at least, got {df}"
        )
    root, z = math.sqrt(n), normal_quantile(share)
    if math.isinf(df):
        return z + normal_quantile(confidence) / root
    return noncentral_t_quantile(confidence, df, z * root) / root


def k_approximate(n: int, share: float, confidence: float) -> float:
    """Give the one-sided factor by the handbook's approximation; for comparison only.

    Source: NIST/SEMATECH e-Handbook 7.2.6.3: a = 1 − z_γ²/(2(n−1)), b = z_p² − z_γ²/n, k = (z_p + √(z_p² − ab))/a.

    Examples
    --------
    >>> round(k_approximate(43, 0.90, 0.99), 5)
    1.87519
    """
    _check(n, share, confidence)
    z_p, z_g = normal_quantile(share), normal_quantile(confidence)
    a = 1.0 - z_g**2 / (2.0 * (n - 1))
    b = z_p**2 - z_g**2 / n
    return (z_p + math.sqrt(z_p**2 - a * b)) / a


def k_two_sided(n: int, share: float, confidence: float) -> float:
    """Give the two-sided factor.

    Source: NIST/SEMATECH e-Handbook 7.2.6.3 (Howe): k = z·√((n−1)(1 + 1/n)/χ²(1−γ; n−1)), z at (1+p)/2.

    Examples
    --------
    >>> round(k_two_sided(43, 0.90, 0.99), 4)
    2.2173
    """
    _check(n, share, confidence)
    z = normal_quantile(0.5 * (1.0 + share))
    return z * math.sqrt((n - 1) * (1.0 + 1.0 / n) / chi_square_quantile(1.0 - confidence, n - 1))


def guarded_sd(middles: ArrayLike, step: ArrayLike) -> Floats:
    """Give the sample standard deviation of interval middles, never below step/√12.

    Parameters
    ----------
    middles : array_like (..., n)
        Middles of the intervals [m].
    step : array_like (...)
        Largest interval width of the lot [m].

    Returns
    -------
    ndarray (...)
        [m]
    """
    spread = np.std(np.asarray(middles, dtype=np.float64), axis=-1, ddof=1)
    return np.asarray(
        np.maximum(spread, np.asarray(step, dtype=np.float64) / math.sqrt(12.0)), dtype=np.float64
    )


def lower_bound(
    middles: ArrayLike, step: ArrayLike, *, share: float = SHARE, confidence: float = CONFIDENCE
) -> Floats:
    """Give the film that at least `share` of the length has, with `confidence`.

    Parameters
    ----------
    middles : array_like (..., n)
        Middles of the comb intervals [m]; several lots at once along the leading axes.
    step : array_like (...)
        Largest interval width of each lot [m]; 0 for exact values.
    share, confidence : float

    Returns
    -------
    ndarray (...)
        The bound [m].

    Raises
    ------
    QuantityError
        Fewer than two readings.

    Examples
    --------
    >>> mil = [21, 23, 19, 25, 21, 23, 21, 27, 23, 19]
    >>> round(float(lower_bound(mil, 2.0)), 2)
    16.24
    """
    values = np.asarray(middles, dtype=np.float64)
    k = k_factor(values.shape[-1], share, confidence)
    return np.asarray(values.mean(axis=-1) - k * guarded_sd(values, step), dtype=np.float64)


def share_proved(middles: ArrayLike, step: float, *, least: float, confidence: float = CONFIDENCE) -> float:
    """Give the share of the length that is shown to carry `least`, with `confidence`.

    Parameters
    ----------
    middles : array_like (n,)
        [m]
    step : float
        [m]
    least : float
        [m]
    confidence : float

    Returns
    -------
    float
        The largest share p whose bound still reaches `least` (found by bisection on the exact factor).

    Examples
    --------
    >>> mil = [21, 23, 19, 25, 21, 23, 21, 27, 23, 19]
    >>> round(share_proved(mil, 2.0, least=16.24256), 3)
    0.9
    """
    values = np.asarray(middles, dtype=np.float64)
    wanted = (float(values.mean()) - least) / float(guarded_sd(values, step))
    low, high = -8.0, 8.0
    for _ in range(60):
        z = 0.5 * (low + high)
        root = math.sqrt(len(values))
        k = noncentral_t_quantile(confidence, len(values) - 1, z * root) / root
        low, high = (z, high) if k <= wanted else (low, z)
    return float(normal_cdf(low))


def _check(n: int, share: float, confidence: float) -> None:
    if n < 2 or not 0 < share < 1 or not 0 < confidence < 1:
        raise QuantityError(
            "no tolerance factor for these figures",
            [
                Problem(
                    "readings, share or confidence out of range",
                    got=f"n {n}, share {share}, confidence {confidence}",
                    allowed="2 or more readings; share and confidence between 0 and 1",
                    hint="take more readings, or state share and confidence as fractions",
                )
            ],
        )
