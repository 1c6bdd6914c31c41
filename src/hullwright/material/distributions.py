"""Which distribution functions do film sums and proofs stand on.

Thin typed wrappers of SciPy's special functions, loaded on first use so that the command line starts fast.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]


def _special() -> Any:
    from scipy import special  # noqa: PLC0415  half a second to import: only when a sum is asked for

    return special


def normal_cdf(z: ArrayLike) -> Floats:
    """Give the standard normal distribution function at `z`.

    Examples
    --------
    >>> round(float(normal_cdf(1.6448536269514722)), 12)
    0.95
    """
    return np.asarray(_special().ndtr(z), dtype=np.float64)


def normal_log_cdf(z: ArrayLike) -> Floats:
    """Give the log of the standard normal distribution function, exact far out in the tail."""
    return np.asarray(_special().log_ndtr(z), dtype=np.float64)


def normal_quantile(p: float) -> float:
    """Give the standard normal quantile.

    Examples
    --------
    >>> round(normal_quantile(0.9), 6)
    1.281552
    """
    return float(_special().ndtri(p))


def noncentral_t_quantile(p: float, df: float, delta: float) -> float:
    """Give the quantile of the noncentral t distribution with `df` degrees of freedom, noncentrality `delta`."""
    return float(_special().nctdtrit(df, delta, p))


def noncentral_t_cdf(t: float, df: float, delta: float) -> float:
    """Give the distribution function of the noncentral t distribution."""
    return float(_special().nctdtr(df, delta, t))


def t_quantile(p: float, df: float) -> float:
    """Give the quantile of Student's t distribution."""
    return float(_special().stdtrit(df, p))


def chi_square_quantile(p: float, df: float) -> float:
    """Give the quantile of the chi-square distribution."""
    return 2.0 * float(_special().gammaincinv(df / 2.0, p))


def chi_square_quantiles(p: ArrayLike, df: float) -> Floats:
    """Give quantiles of the chi-square distribution, many at once."""
    return np.asarray(2.0 * _special().gammaincinv(df / 2.0, p), dtype=np.float64)


def noncentrality(p: float, df: float, t: float) -> float:
    """Give the noncentrality at which a noncentral t variable with `df` degrees of freedom lies below `t` with chance `p`.

    Examples
    --------
    >>> round(noncentral_t_cdf(2.0, 9, noncentrality(0.1, 9, 2.0)), 6)
    0.1
    """
    return float(_special().nctdtrinc(df, p, t))


def chi_square_cdf(x: float, df: float) -> float:
    """Give the distribution function of the chi-square distribution."""
    return float(_special().gammainc(df / 2.0, x / 2.0))


def f_quantile(p: float, df_above: float, df_below: float) -> float:
    """Give the quantile of the F distribution."""
    return float(_special().fdtri(df_above, df_below, p))


def gamma_cdf(x: float, shape: float, rate: float) -> float:
    """Give the distribution function of a gamma distribution (shape, rate)."""
    return float(_special().gammainc(shape, rate * x))


def gamma_quantile(p: float, shape: float, rate: float) -> float:
    """Give the quantile of a gamma distribution (shape, rate)."""
    return float(_special().gammaincinv(shape, p)) / rate


def beta_cdf(x: float, a: float, b: float) -> float:
    """Give the distribution function of a beta distribution."""
    return float(_special().betainc(a, b, x))


def beta_quantile(p: float, a: float, b: float) -> float:
    """Give the quantile of a beta distribution."""
    return float(_special().betaincinv(a, b, p))


def normal_density(z: ArrayLike) -> Floats:
    """Give the standard normal density."""
    values = np.asarray(z, dtype=np.float64)
    return np.exp(-0.5 * values * values) / math.sqrt(2.0 * math.pi)
