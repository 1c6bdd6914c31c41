"""Which straight line runs through these points, and how sure is it: many lines in one pass.

All functions work on the last axis; a mask marks the points that count. The algebra is that of ASTM E779 annex A1 and
ISO 9972 annex C, which is ordinary least squares; sums are taken about the means so that no digits are lost.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hullwright.fantest.air import Floats

Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Lines:
    """Fitted lines ``y = intercept + slope x``, one a row.

    Parameters
    ----------
    slope, intercept : ndarray, shape (T,)
        Coefficients.
    r2 : ndarray, shape (T,)
        Share of the scatter of y that the line explains; NaN where y does not vary or is not fitted.
    count : ndarray, shape (T,)
        Points used.
    freedom : ndarray, shape (T,)
        Degrees of freedom left for the scatter.
    x_mean : ndarray, shape (T,)
        Mean of x.
    ssx : ndarray, shape (T,)
        Sum of (x - x_mean)^2; infinite where the slope was assumed.
    sd : ndarray, shape (T,)
        Standard deviation of the residuals, with `freedom` degrees.
    """

    slope: Floats
    intercept: Floats
    r2: Floats
    count: Floats
    freedom: Floats
    x_mean: Floats
    ssx: Floats
    sd: Floats

    @property
    def s_slope(self) -> Floats:
        """Standard error of the slope (E779 A1: S_n)."""
        return np.asarray(self.sd / np.sqrt(self.ssx))

    @property
    def s_intercept(self) -> Floats:
        """Standard error of the intercept (E779 A1: S_lnC)."""
        return self.s_line(0.0)

    def s_line(self, x: ArrayLike) -> Floats:
        """Standard error of the fitted mean line at `x` (E779 A1: S_y; not of a single reading)."""
        away = np.asarray(x, dtype=np.float64) - self.x_mean
        with np.errstate(divide="ignore", invalid="ignore"):  # rows without a line have NaN
            return np.asarray(self.sd * np.sqrt(1.0 / self.count + away**2 / self.ssx))

    def at(self, x: ArrayLike) -> Floats:
        """The line at `x`."""
        return np.asarray(self.intercept + self.slope * np.asarray(x, dtype=np.float64))


def fit(x: Floats, y: Floats, mask: Mask | None = None) -> Lines:
    """Fit ordinary least squares, unweighted, to each row.

    Parameters
    ----------
    x, y : ndarray, shape (T, N)
        Points.
    mask : ndarray of bool, shape (T, N), or None
        Which points count; None for all.

    Returns
    -------
    Lines
        Rows with fewer than two points, or with all x equal, give NaN; with two points the scatter is NaN.

    Notes
    -----
    ASTM E779 annex A1, ISO 9972 annex C. ``S_y^2 = sd^2 (1/N + (x - xbar)^2/ssx)`` equals their
    ``S_n^2 ((N-1)/N Sx2 + (x - xbar)^2)``.

    Examples
    --------
    >>> import numpy as np
    >>> line = fit(np.array([[0.0, 1.0, 2.0]]), np.array([[1.0, 3.0, 5.0]]))
    >>> float(line.slope[0]), float(line.intercept[0]), float(line.r2[0])
    (2.0, 1.0, 1.0)
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        if mask is None:
            count = np.full(x.shape[0], float(x.shape[1]))
            x_mean = np.einsum("ij->i", x) / x.shape[1]
            y_mean = np.einsum("ij->i", y) / x.shape[1]
            dx = x - x_mean[:, None]
            dy = y - y_mean[:, None]
        else:
            count = mask.sum(axis=1).astype(np.float64)
            x_mean = np.where(mask, x, 0.0).sum(axis=1) / count
            y_mean = np.where(mask, y, 0.0).sum(axis=1) / count
            dx = np.where(mask, x - x_mean[:, None], 0.0)
            dy = np.where(mask, y - y_mean[:, None], 0.0)
        return _finish(dx, dy, x_mean, y_mean, count)


def _finish(dx: Floats, dy: Floats, x_mean: Floats, y_mean: Floats, count: Floats) -> Lines:
    ssx = np.einsum("ij,ij->i", dx, dx)
    ssy = np.einsum("ij,ij->i", dy, dy)
    sxy = np.einsum("ij,ij->i", dx, dy)
    ssx = np.where((count >= 2) & (ssx > count * (1e-9) ** 2), ssx, np.nan)
    slope = sxy / ssx
    dx *= slope[:, None]
    rest = np.subtract(dy, dx, out=dx)  # in place: the batch is bound by memory
    freedom = count - 2.0
    sd = np.sqrt(np.einsum("ij,ij->i", rest, rest) / np.where(freedom > 0, freedom, np.nan))
    r2 = np.where(ssy > 0, sxy / ssy * slope, np.nan)
    return Lines(slope, y_mean - slope * x_mean, r2, count, freedom, x_mean, ssx, sd)


def fit_weighted(x: Floats, y: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Fit weighted least squares to each row.

    Parameters
    ----------
    x, y, weight : ndarray, shape (T, N)
        Points and their weights; weight 0 leaves a point out.

    Returns
    -------
    slope, intercept : ndarray, shape (T,)
        ``slope = sum w (x-xw)(y-yw) / sum w (x-xw)^2``, ``intercept = yw - slope xw`` (general statistics).

    Examples
    --------
    >>> import numpy as np
    >>> x, y = np.array([[0.0, 1.0, 2.0]]), np.array([[1.0, 3.0, 9.0]])
    >>> slope, intercept = fit_weighted(x, y, np.array([[1.0, 1.0, 0.0]]))
    >>> float(slope[0]), float(intercept[0])
    (2.0, 1.0)
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        total = weight.sum(axis=1)
        x_mean = (weight * x).sum(axis=1) / total
        y_mean = (weight * y).sum(axis=1) / total
        dx = x - x_mean[:, None]
        slope = (weight * dx * (y - y_mean[:, None])).sum(axis=1) / (weight * dx**2).sum(axis=1)
        return slope, y_mean - slope * x_mean


def organic_slope(line: Lines, y_mean: Floats) -> tuple[Floats, Floats]:
    """Line of organic correlation through the same points.

    Parameters
    ----------
    line : Lines
        Ordinary fit.
    y_mean : ndarray, shape (T,)
        Mean of y.

    Returns
    -------
    slope, intercept : ndarray, shape (T,)
        ``slope = sign(r) S_y/S_x = slope_OLS/|r|`` (both variables carry error).

    Examples
    --------
    >>> import numpy as np
    >>> line = fit(np.array([[0.0, 1.0, 2.0]]), np.array([[1.0, 3.0, 5.0]]))
    >>> float(organic_slope(line, np.array([3.0]))[0][0])
    2.0
    """
    slope = line.slope / np.sqrt(line.r2)
    return slope, y_mean - slope * line.x_mean


def t_quantile(level: float, freedom: Floats) -> Floats:
    """Student t, two-sided.

    Parameters
    ----------
    level : float
        Coverage, such as 0.95.
    freedom : ndarray
        Degrees of freedom; below 1 gives NaN, because no scatter is known.

    Returns
    -------
    ndarray
        The quantile.

    Examples
    --------
    >>> import numpy as np
    >>> np.round(t_quantile(0.95, np.array([8.0, 3.0])), 4).tolist()
    [2.306, 3.1824]
    """
    from scipy.special import stdtrit  # noqa: PLC0415 - heavy, needed here only

    if freedom.size and freedom.min() == freedom.max() >= 1:  # as in a batch of equal tests
        return np.full(freedom.shape, float(stdtrit(float(freedom.max()), 0.5 + level / 2.0)))
    kinds, back = np.unique(np.where(freedom >= 1, freedom, np.nan), return_inverse=True)
    return np.asarray(stdtrit(kinds, 0.5 + level / 2.0), dtype=np.float64)[back].reshape(freedom.shape)


def z_quantile(level: float) -> float:
    """Normal quantile, two-sided.

    Parameters
    ----------
    level : float
        Coverage.

    Returns
    -------
    float
        1.96 for 0.95.

    Examples
    --------
    >>> round(z_quantile(0.95), 4)
    1.96
    """
    from statistics import NormalDist  # noqa: PLC0415 - used here only

    return NormalDist().inv_cdf(0.5 + level / 2.0)
