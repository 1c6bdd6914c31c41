"""How wide is the interval, and what makes it wide: scatter, device, gauge, zero-flow pressure, wind, assumed exponent.

Each term is the half-width of ln Q at one pressure and one coverage. They are shown apart and added in quadrature.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from hullwright.fantest.air import Floats
from hullwright.fantest.raw import ZeroFlow
from hullwright.fantest.regress import Lines, Mask, t_quantile, z_quantile


@dataclass(frozen=True, slots=True)
class Terms:
    """Half-widths of ln Q at one pressure.

    Parameters
    ----------
    scatter : float
        Of the fitted mean line (S_y of ASTM E779 and ISO 9972), or an allowance where no scatter is known.
    device : float
        Accuracy of the flow meter, common to all stations.
    gauge : float
        Accuracy of the pressure gauge, common to all stations.
    zero_flow : float
        The zero-flow pressure: how well its mean is known, and its drift from before to after.
    wind : float
        Allowance the tester stated.
    exponent : float
        Spread of the exponent where it was assumed (single-point).
    """

    scatter: float
    device: float
    gauge: float
    zero_flow: float
    wind: float
    exponent: float

    @property
    def total(self) -> float:
        """All in quadrature."""
        return math.sqrt(
            self.scatter**2
            + self.device**2
            + self.gauge**2
            + self.zero_flow**2
            + self.wind**2
            + self.exponent**2
        )

    def to_json(self) -> dict[str, float]:
        """Each term and the total, as half-widths of the natural logarithm."""
        return {
            "scatter": self.scatter,
            "device": self.device,
            "gauge": self.gauge,
            "zero_flow": self.zero_flow,
            "wind": self.wind,
            "exponent": self.exponent,
            "total": self.total,
        }


@dataclass(frozen=True, slots=True)
class Accuracy:
    """What is known of the instruments, as 95 % half-widths.

    Parameters
    ----------
    flow_share : float
        Of the flow reading.
    pressure_share, pressure_pa : float
        Of the pressure reading: the larger of the two counts at each station.
    wind_share : float
        Of the flow.
    scatter_share : float
        Of one unrepeated reading; used where no scatter can be seen.
    """

    flow_share: float
    pressure_share: float
    pressure_pa: float
    wind_share: float
    scatter_share: float


def effect(line: Lines, dp_pa: Floats, used: Mask, *, error_pa: Floats, at_pa: float) -> Floats:
    """Change of ln Q when each pressure is off by a known amount.

    Parameters
    ----------
    line : Lines
        Fitted lines, one a row.
    dp_pa : ndarray, shape (T, N)
        Induced pressures [Pa].
    used : ndarray of bool, shape (T, N)
        Stations that count.
    error_pa : ndarray, shape (T, N)
        Error of each pressure [Pa].
    at_pa : float
        Pressure of interest [Pa].

    Returns
    -------
    ndarray, shape (T,)
        ``-n sum h_i e_i/dp_i`` with the leverages ``h_i = 1/N + (x - xbar)(x_i - xbar)/ssx`` (first order).

    Examples
    --------
    A gauge that reads 1 % high everywhere makes the flow at any pressure 0.65 % low:

    >>> import numpy as np
    >>> from hullwright.fantest.regress import fit
    >>> dp = np.array([[60.0, 45.0, 30.0, 15.0]])
    >>> line = fit(np.log(dp), 3.0 + 0.65 * np.log(dp))
    >>> effect(line, dp, dp > 0, error_pa=0.01 * dp, at_pa=50.0).round(6).tolist()
    [-0.0065]
    """
    safe = np.where(used, dp_pa, 1.0)
    centre = line.x_mean[:, None]
    away = math.log(at_pa) - centre
    with np.errstate(divide="ignore", invalid="ignore"):  # rows without a line have NaN
        leverage = 1.0 / line.count[:, None] + away * (np.log(safe) - centre) / line.ssx[:, None]
        return np.asarray(-line.slope * np.where(used, leverage * error_pa / safe, 0.0).sum(axis=1))


def zero_uncertainty(before: ZeroFlow | None, after: ZeroFlow | None, level: float) -> tuple[float, float]:
    """How well the zero-flow pressure is known.

    Parameters
    ----------
    before, after : ZeroFlow or None
        As read.
    level : float
        Coverage.

    Returns
    -------
    random_pa : float
        Half-width of the mean of before and after from the scatter of their readings [Pa]; 0 where only means were kept.
    drift_pa : float
        Change from before to after [Pa], signed; 0 where one is missing.

    Examples
    --------
    >>> random, drift = zero_uncertainty(ZeroFlow((-1.6,)), ZeroFlow((-1.2,)), 0.95)
    >>> random, round(drift, 6)
    (0.0, 0.4)
    """
    taken = [zero for zero in (before, after) if zero is not None]
    drift = after.mean - before.mean if before and after else 0.0
    errors = [
        (float(t_quantile(level, np.array([len(zero.readings_pa) - 1.0]))[0]) * zero.standard_error) ** 2
        for zero in taken
        if zero.standard_error is not None
    ]
    return (math.sqrt(sum(errors)) / len(taken) if taken else 0.0), drift


def drift_factor(level: float) -> float:
    """Factor for an error of known size that is added in quadrature to random ones.

    Parameters
    ----------
    level : float
        Coverage.

    Returns
    -------
    float
        An offset D beside noise of half-width ``h = z2 s`` needs ``D + z1 s <= sqrt(h^2 + (k D)^2)`` for every D, with the
        one-sided z1 and the two-sided z2: ``k^2 = z2^2/(z2^2 - z1^2)``.

    Examples
    --------
    >>> round(drift_factor(0.95), 3), round(drift_factor(0.90), 3)
    (1.839, 1.595)
    """
    two = z_quantile(level)
    one = z_quantile(2.0 * level - 1.0)
    return two / math.sqrt(two**2 - one**2)


def drift_effect(line: Lines, dp_pa: Floats, used: Mask, *, drift_pa: Floats, at_pa: float) -> Floats:
    """Largest change of ln Q that a drift of the zero can make: all of it at one end of the test, or steady through it.

    Parameters
    ----------
    line : Lines
        Fitted lines, one a row.
    dp_pa, used : ndarray, shape (T, N)
        Induced pressures [Pa]; which count.
    drift_pa : ndarray, shape (T,)
        Change from before to after [Pa].
    at_pa : float
        Pressure of interest [Pa].

    Returns
    -------
    ndarray, shape (T,)
        Not negative.
    """
    drift = np.asarray(drift_pa, dtype=np.float64)[:, None]
    common = effect(line, dp_pa, used, error_pa=drift / 2.0 + 0.0 * dp_pa, at_pa=at_pa)
    steady = effect(line, dp_pa, used, error_pa=drift * drift_steps(dp_pa), at_pa=at_pa)
    return np.maximum(np.abs(common), np.abs(steady))


def terms_at(
    line: Lines,
    dp_pa: Floats,
    used: Mask,
    *,
    accuracy: Accuracy,
    zero: tuple[float, float],
    at_pa: float,
    level: float,
    exponent_sd: float = 0.0,
) -> Terms:
    """All terms of one direction at one pressure.

    Parameters
    ----------
    line : Lines
        Fitted line, T = 1.
    dp_pa, used : ndarray, shape (1, N)
        Induced pressures [Pa]; which count.
    accuracy : Accuracy
        Instruments, 95 %.
    zero : tuple of float
        From :func:`zero_uncertainty`.
    at_pa : float
        Pressure of interest [Pa].
    level : float
        Coverage asked.
    exponent_sd : float
        Standard deviation of an assumed exponent, 0 where it was measured.

    Returns
    -------
    Terms
    """
    z = z_quantile(level)
    scale = z / z_quantile(0.95)
    t = float(t_quantile(level, line.freedom)[0])
    scatter = t * float(line.s_line(math.log(at_pa))[0])
    if math.isnan(scatter):
        # The allowance is that of one reading; the line passes it on as it would pass on a scatter that was seen.
        away = math.log(at_pa) - float(line.x_mean[0])
        leverage = math.sqrt(1.0 / float(line.count[0]) + away**2 / float(line.ssx[0]))
        scatter = math.log1p(accuracy.scatter_share) * scale * leverage
    pressure = np.maximum(accuracy.pressure_share * dp_pa, accuracy.pressure_pa)
    random = effect(line, dp_pa, used, error_pa=np.full_like(dp_pa, zero[0]), at_pa=at_pa)
    drift = drift_effect(line, dp_pa, used, drift_pa=np.array([zero[1]]), at_pa=at_pa)
    return Terms(
        scatter=scatter,
        device=math.log1p(accuracy.flow_share) * scale,
        gauge=abs(float(effect(line, dp_pa, used, error_pa=pressure, at_pa=at_pa)[0])) * scale,
        zero_flow=math.hypot(float(random[0]), drift_factor(level) * float(drift[0])),
        wind=math.log1p(accuracy.wind_share) * scale,
        exponent=z * exponent_sd * abs(math.log(at_pa) - float(line.x_mean[0])),
    )


def drift_steps(dp_pa: Floats) -> Floats:
    """Share of a steady drift that each station, in the order it was held, lies off the mean of before and after.

    Parameters
    ----------
    dp_pa : ndarray, shape (T, N)
        Induced pressures; NaN where a row is padded.

    Returns
    -------
    ndarray, shape (T, N)
        From -0.5 to 0.5 in each row.

    Examples
    --------
    >>> import numpy as np
    >>> drift_steps(np.array([[60.0, 40.0, 20.0, np.nan]])).tolist()
    [[-0.5, 0.0, 0.5, 0.5]]
    """
    held = np.isfinite(dp_pa)
    place = np.cumsum(held, axis=1) - 1.0
    return np.asarray(
        place / np.maximum(held.sum(axis=1) - 1.0, 1.0)[:, None] - 0.5 * (held.sum(axis=1) > 1)[:, None]
    )


def average(terms: tuple[Terms, ...], flows: tuple[float, ...]) -> Terms:
    """Terms of the mean of the directions.

    Parameters
    ----------
    terms : tuple of Terms
        One for each direction.
    flows : tuple of float
        Flow of each direction at that pressure.

    Returns
    -------
    Terms
        Scatter and zero-flow pressure are independent between the directions; device, gauge, wind allowance and an
        assumed exponent are common to both and do not shrink.

    Examples
    --------
    >>> one = Terms(0.03, 0.05, 0.0, 0.0, 0.0, 0.0)
    >>> mean = average((one, one), (100.0, 100.0))
    >>> round(mean.scatter, 6), round(mean.device, 6)
    (0.021213, 0.05)
    """
    total = sum(flows)
    weight = [flow / total for flow in flows]

    def apart(values: list[float]) -> float:
        return math.sqrt(sum((w * value) ** 2 for w, value in zip(weight, values, strict=True)))

    def together(values: list[float]) -> float:
        return sum(w * value for w, value in zip(weight, values, strict=True))

    return Terms(
        scatter=apart([term.scatter for term in terms]),
        device=together([term.device for term in terms]),
        gauge=together([term.gauge for term in terms]),
        zero_flow=apart([term.zero_flow for term in terms]),
        wind=together([term.wind for term in terms]),
        exponent=together([term.exponent for term in terms]),
    )
