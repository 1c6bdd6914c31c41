"""How much air comes through the leaks in weather: the basic and the enhanced model, and fans on top."""

from __future__ import annotations

from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from hullwright.leaks.worth.tables import check_place, tables

Floats = NDArray[np.float64]


class Foundation(StrEnum):
    """What the house stands on."""

    SLAB = "basement or slab"
    CRAWL = "crawlspace"


def basic_flow(ela_cm2: float, dt_k: ArrayLike, wind_m_s: ArrayLike, *, storeys: int, shelter: int) -> Floats:
    """Infiltration by the basic model.

    Parameters
    ----------
    ela_cm2 : float
        Effective leakage area at 4 Pa [cm2].
    dt_k : array_like
        Indoor less outdoor temperature [K]; its size counts.
    wind_m_s : array_like
        Mean wind at the weather station [m/s].
    storeys : int
        1, 2 or 3.
    shelter : int
        Shelter class 1 to 5.

    Returns
    -------
    ndarray
        Flow [m3/h].

    Raises
    ------
    InputError
        Where the tables do not hold the house.

    Notes
    -----
    ``Q = (A_L/1000) sqrt(C_s |dt| + C_w U^2)`` in m3/s: ASHRAE Fundamentals 2021 ch. 16 eq. 48 (after Sherman and
    Grimsrud). Half the leakage in floor and ceiling, storeys of 2.5 m, open country.

    Examples
    --------
    >>> round(float(basic_flow(500.0, 39.0, 6.7, storeys=2, shelter=3)), 1)  # handbook, example 2
    265.0
    """
    check_place(storeys, shelter)
    table = tables()["basic"]
    stack, wind = table["stack"][storeys - 1], table["wind"][shelter - 1][storeys - 1]
    dt = np.abs(np.asarray(dt_k, dtype=np.float64))
    speed = np.asarray(wind_m_s, dtype=np.float64)
    return np.asarray(3.6 * ela_cm2 * np.sqrt(stack * dt + wind * speed**2))


def enhanced_flow(
    c_m3_s_pan: float,
    n: float,
    dt_k: ArrayLike,
    wind_m_s: ArrayLike,
    *,
    storeys: int,
    shelter: int,
    flue: bool = False,
    foundation: Foundation = Foundation.SLAB,
) -> Floats:
    """Infiltration by the enhanced model.

    Parameters
    ----------
    c_m3_s_pan, n : float
        Flow coefficient [m3/(s Pa^n)] and exponent.
    dt_k, wind_m_s : array_like
        Temperature difference [K]; mean wind at the weather station [m/s].
    storeys, shelter : int
        1 to 3; class 1 to 5.
    flue : bool
        Whether an open flue goes through the roof.
    foundation : Foundation
        What the house stands on.

    Returns
    -------
    ndarray
        Flow [m3/h].

    Raises
    ------
    InputError
        Where the tables do not hold the house.

    Notes
    -----
    ``Q_s = c C_s dt^n``, ``Q_w = c C_w (s G U)^(2n)``, ``Q = sqrt(Q_s^2 + Q_w^2)``: ASHRAE Fundamentals 2021 ch. 16
    eqs. 47, 49, 50 (after Walker and Wilson). Its example 6 prints the exponent 1.34 although n is 0.6; 2n holds here.

    Examples
    --------
    >>> flow = enhanced_flow(0.051, 0.67, 39.0, 6.7, storeys=2, shelter=4, flue=True)  # handbook, example 5
    >>> round(float(flow), 1)
    214.6
    """
    check_place(storeys, shelter)
    table = tables()["enhanced"]
    ending = "flue" if flue else "no_flue"
    ground = "slab" if foundation is Foundation.SLAB else "crawl"
    stack = table[f"stack_{ending}"][storeys - 1]
    wind = table[f"wind_{ground}_{ending}"][storeys - 1]
    screen = (
        table["shelter_flue"][storeys - 1][shelter - 1] if flue else table["shelter_no_flue"][shelter - 1]
    )
    local = screen * table["speed"][storeys - 1] * np.asarray(wind_m_s, dtype=np.float64)
    by_stack = c_m3_s_pan * stack * np.abs(np.asarray(dt_k, dtype=np.float64)) ** n
    by_wind = c_m3_s_pan * wind * local ** (2.0 * n)
    return np.asarray(3600.0 * np.hypot(by_stack, by_wind))


def combined_flow(infiltration: ArrayLike, *, balanced: float = 0.0, unbalanced: float = 0.0) -> Floats:
    """Infiltration and fans together.

    Parameters
    ----------
    infiltration : array_like
        Flow through the leaks without fans.
    balanced, unbalanced : float
        Flow of balanced fans, and what exhaust or supply has in excess; same unit.

    Returns
    -------
    ndarray
        ``Q_bal + sqrt(Q_unbal^2 + Q_inf^2)``: ASHRAE Fundamentals 2021 ch. 16 eq. 51.

    Examples
    --------
    >>> float(combined_flow(30.0, balanced=10.0, unbalanced=40.0))
    60.0
    """
    return np.asarray(balanced + np.hypot(unbalanced, np.asarray(infiltration, dtype=np.float64)))
