"""How heavy and how thick is the air: density and viscosity at the device and in the leaks.

Two forms of the density are in use and both are kept: the altitude form of ASTM E779 appendix X1 (dry air, standard
atmosphere) where the altitude is known, and the moist form of ISO 9972 annex B where the barometer was read.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

RHO_REFERENCE: Final = 1.2041
"""Density of dry air at 20 °C and 101 325 Pa [kg/m3] (ISO 9972; ASTM E779 X1)."""

GAS_CONSTANT_DRY_AIR: Final = 287.055
"""[J/(kg K)], as ISO 9972 annex B prints it."""


def density_altitude(temperature_c: ArrayLike, altitude_m: ArrayLike = 0.0) -> Floats:
    """Density of dry air from temperature and altitude.

    Parameters
    ----------
    temperature_c : array_like
        Air temperature [°C].
    altitude_m : array_like
        Altitude above sea level [m].

    Returns
    -------
    ndarray
        Density [kg/m3].

    Notes
    -----
    ``rho = 1.2041 (1 - 0.0065 E/293)^5.2553 293/(T + 273)``, ASTM E779 appendix X1 (from memory, unverified).

    Examples
    --------
    >>> round(float(density_altitude(20.0, 500.0)), 5)
    1.13555
    """
    height = np.asarray(altitude_m, dtype=np.float64)
    kelvin = np.asarray(temperature_c, dtype=np.float64) + 273.0
    return np.asarray(RHO_REFERENCE * (1.0 - 0.0065 * height / 293.0) ** 5.2553 * 293.0 / kelvin)


def vapour_pressure(temperature_c: ArrayLike, humidity: ArrayLike) -> Floats:
    """Pressure of the water vapour in air.

    Parameters
    ----------
    temperature_c : array_like
        Air temperature [°C].
    humidity : array_like
        Relative humidity, 0 to 1.

    Returns
    -------
    ndarray
        Vapour pressure [Pa]; ISO 9972 annex B (from memory; constants checked against 2339 Pa at 20 °C).

    Examples
    --------
    >>> round(float(vapour_pressure(20.0, 1.0)), 2)
    2339.25
    """
    kelvin = np.asarray(temperature_c, dtype=np.float64) + 273.15
    wet = np.exp(59.484085 - 6790.4985 / kelvin - 5.02802 * np.log(kelvin))
    return np.asarray(np.asarray(humidity, dtype=np.float64) * wet)


def density_moist(temperature_c: ArrayLike, barometer_pa: ArrayLike, humidity: ArrayLike = 0.0) -> Floats:
    """Density of moist air from temperature, barometer and relative humidity.

    Parameters
    ----------
    temperature_c : array_like
        Air temperature [°C].
    barometer_pa : array_like
        Station pressure, not reduced to sea level [Pa].
    humidity : array_like
        Relative humidity, 0 to 1.

    Returns
    -------
    ndarray
        Density [kg/m3].

    Notes
    -----
    ``rho = (p - 0.37802 p_v)/(287.055 (T + 273.15))``, ISO 9972 annex B (from memory; constants checked).

    Examples
    --------
    >>> round(float(density_moist(20.0, 101_325.0, 0.5)), 6)
    1.198843
    """
    kelvin = np.asarray(temperature_c, dtype=np.float64) + 273.15
    dry = np.asarray(barometer_pa, dtype=np.float64) - 0.37802 * vapour_pressure(temperature_c, humidity)
    return np.asarray(dry / (GAS_CONSTANT_DRY_AIR * kelvin))


def viscosity(temperature_c: ArrayLike) -> Floats:
    """Dynamic viscosity of air (Sutherland).

    Parameters
    ----------
    temperature_c : array_like
        Air temperature [°C].

    Returns
    -------
    ndarray
        Viscosity [Pa s]; ASTM E779 appendix X1 (from memory, unverified).

    Examples
    --------
    >>> f"{float(viscosity(20.0)):.5e}"
    '1.81269e-05'
    """
    kelvin = np.asarray(temperature_c, dtype=np.float64) + 273.0
    return np.asarray(1.458e-6 * np.sqrt(kelvin) / (1.0 + 110.4 / kelvin))


MU_REFERENCE: Final = float(viscosity(20.0))
"""Viscosity at 20 °C [Pa s]."""


def density(
    temperature_c: ArrayLike, *, altitude_m: ArrayLike, barometer_pa: ArrayLike, humidity: ArrayLike
) -> Floats:
    """Density by what was measured: the moist form where a barometer was read, else the altitude form.

    Parameters
    ----------
    temperature_c, altitude_m, barometer_pa, humidity : array_like
        [°C], [m], [Pa], 0 to 1; NaN where not stated. An unstated humidity counts as dry air.

    Returns
    -------
    ndarray
        Density [kg/m3]; NaN where neither altitude nor barometer is known.

    Examples
    --------
    >>> nan = float("nan")
    >>> round(float(density(0.0, altitude_m=1500.0, barometer_pa=nan, humidity=nan)), 5)
    1.08175
    """
    barometer = np.asarray(barometer_pa, dtype=np.float64)
    if np.isnan(barometer).all():
        return density_altitude(temperature_c, altitude_m)
    wet = np.nan_to_num(np.asarray(humidity, dtype=np.float64), nan=0.0)
    return np.where(
        np.isnan(barometer),
        density_altitude(temperature_c, altitude_m),
        density_moist(temperature_c, barometer, wet),
    )
