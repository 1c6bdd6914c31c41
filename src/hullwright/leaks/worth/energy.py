"""What it takes to heat the air that leaks in, over a season."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hullwright.fantest.air import RHO_REFERENCE, density_altitude

HEAT_CAPACITY: Final = 1006.0
"""Of dry air [J/(kg K)]."""

Floats = NDArray[np.float64]


def heat_of_air(altitude_m: float = 0.0) -> float:
    """Heat to warm air that leaks in.

    Parameters
    ----------
    altitude_m : float
        Altitude [m]; thin air carries less.

    Returns
    -------
    float
        [Wh/(m3 K)]: density times heat capacity, dry air of 20 °C.

    Examples
    --------
    >>> round(heat_of_air(), 5)
    0.33648
    """
    return RHO_REFERENCE * HEAT_CAPACITY / 3600.0 * float(density_altitude(20.0, altitude_m)) / RHO_REFERENCE


def degree_day_energy(flow_m3_h: float, degree_days: float, *, altitude_m: float = 0.0) -> float:
    """Heat of a season from degree days.

    Parameters
    ----------
    flow_m3_h : float
        Mean infiltration [m3/h].
    degree_days : float
        Heating degree days [K d].
    altitude_m : float
        Altitude [m].

    Returns
    -------
    float
        [kWh]: ``0.33648 Q 24 HDD/1000``.

    Examples
    --------
    >>> round(degree_day_energy(60.0, 3000.0), 1)
    1453.6
    """
    return heat_of_air(altitude_m) * flow_m3_h * 24.0 * degree_days / 1000.0


def hourly_energy(flow_m3_h: ArrayLike, lift_k: ArrayLike, *, altitude_m: float = 0.0) -> float:
    """Heat of a season hour by hour.

    Parameters
    ----------
    flow_m3_h : array_like, shape (T,)
        Infiltration of each hour [m3/h].
    lift_k : array_like, shape (T,)
        Base less outdoor temperature [K]; hours below zero do not count.
    altitude_m : float
        Altitude [m].

    Returns
    -------
    float
        [kWh].

    Examples
    --------
    >>> round(hourly_energy([60.0] * 48, [10.0, -5.0] * 24), 2)
    4.85
    """
    lift = np.maximum(np.asarray(lift_k, dtype=np.float64), 0.0)
    return heat_of_air(altitude_m) * float(np.sum(np.asarray(flow_m3_h, dtype=np.float64) * lift)) / 1000.0
