"""From a flow to a hole: leakage areas, normalized leakage, and the flow back from a hole.

Source: ASHRAE Handbook - Fundamentals (SI) 2021, chapter 16, eqs. 41 to 46.
"""

from __future__ import annotations

import math
from typing import Final

from hullwright.fantest.air import RHO_REFERENCE

ELA_PRESSURE: Final = 4.0
ELA_DISCHARGE: Final = 1.0
EQLA_PRESSURE: Final = 10.0
EQLA_DISCHARGE: Final = 0.611
NL_HEIGHT: Final = 2.5  # m
NL_EXPONENT: Final = 0.4  # ASHRAE 62.2-2013 and later; ASHRAE 119 and 136 have 0.3
NL_EXPONENT_119: Final = 0.3


def area_cm2(flow_m3_h: float, at_pa: float, *, discharge: float = 1.0, rho: float = RHO_REFERENCE) -> float:
    """Area of a hole that passes a flow.

    Parameters
    ----------
    flow_m3_h : float
        Flow [m3/h] at `at_pa`.
    at_pa : float
        Pressure difference [Pa].
    discharge : float
        Discharge coefficient; 1.0 for the effective leakage area at 4 Pa, 0.611 for the equivalent one at 10 Pa.
    rho : float
        Density of the air in the hole [kg/m3].

    Returns
    -------
    float
        Area [cm2]; handbook eq. 41: ``A = 10 000 Q sqrt(rho/(2 dp))/C_D``.

    Examples
    --------
    >>> round(area_cm2(0.92793, 4.0), 4)
    1.0
    """
    return 1e4 * flow_m3_h / 3600.0 * math.sqrt(rho / (2.0 * at_pa)) / discharge


def flow_m3_h(
    hole_cm2: float,
    at_pa: float,
    *,
    n: float,
    rated_pa: float = ELA_PRESSURE,
    discharge: float = 1.0,
    rho: float = RHO_REFERENCE,
) -> float:
    """Flow through a leakage area.

    Parameters
    ----------
    hole_cm2 : float
        Leakage area [cm2], rated at `rated_pa` with `discharge`.
    at_pa : float
        Pressure difference wanted [Pa].
    n : float
        Pressure exponent.
    rated_pa, discharge, rho : float
        Rating pressure [Pa], discharge coefficient, density [kg/m3].

    Returns
    -------
    float
        Flow [m3/h]; handbook eq. 43.

    Examples
    --------
    >>> round(flow_m3_h(1.0, 50.0, n=0.65), 4)
    4.7919
    """
    coefficient = coefficient_from_area(hole_cm2, n, rated_pa=rated_pa, discharge=discharge, rho=rho)
    return float(3600.0 * coefficient * at_pa**n)


def coefficient_from_area(
    hole_cm2: float,
    n: float,
    *,
    rated_pa: float = ELA_PRESSURE,
    discharge: float = 1.0,
    rho: float = RHO_REFERENCE,
) -> float:
    """Flow coefficient of a leakage area.

    Parameters
    ----------
    hole_cm2 : float
        Leakage area [cm2].
    n : float
        Pressure exponent.
    rated_pa, discharge, rho : float
        Rating pressure [Pa], discharge coefficient, density [kg/m3].

    Returns
    -------
    float
        c [m3/(s Pa^n)]; handbook eq. 45.

    Examples
    --------
    >>> round(coefficient_from_area(500.0, 0.67, rho=1.2), 3)  # handbook, example 5
    0.051
    """
    return float(discharge * hole_cm2 / 1e4 * math.sqrt(2.0 / rho) * rated_pa ** (0.5 - n))


def rerate(
    hole_cm2: float, *, n: float, from_to_pa: tuple[float, float], from_to_discharge: tuple[float, float]
) -> float:
    """Leakage area at another rating.

    Parameters
    ----------
    hole_cm2 : float
        Area [cm2].
    n : float
        Pressure exponent.
    from_to_pa, from_to_discharge : tuple of float
        Old and new pressure [Pa] and discharge coefficient.

    Returns
    -------
    float
        Area [cm2]; handbook eq. 42.

    Examples
    --------
    >>> round(rerate(1.0, n=0.65, from_to_pa=(4, 10), from_to_discharge=(1.0, 0.611)), 4)
    1.8778
    """
    pressure = (from_to_pa[1] / from_to_pa[0]) ** (n - 0.5)
    return float(hole_cm2 * from_to_discharge[0] / from_to_discharge[1] * pressure)


def normalized_leakage(
    ela_cm2: float, floor_m2: float, height_m: float, *, exponent: float = NL_EXPONENT
) -> float:
    """Normalized leakage.

    Parameters
    ----------
    ela_cm2 : float
        Effective leakage area at 4 Pa [cm2].
    floor_m2 : float
        Conditioned floor area [m2].
    height_m : float
        From the lowest above-grade floor to the highest ceiling [m].
    exponent : float
        0.4 in ASHRAE 62.2-2013 and later (handbook eq. 46), 0.3 in ASHRAE 119 and 136.

    Returns
    -------
    float
        ``NL = 0.1 (ELA/A_F) (H/2.5)^z`` with ELA in cm2. (A copy of eq. 46 prints the factor 0.1 with ELA in m2: that
        factor only works with cm2.)

    Examples
    --------
    >>> round(normalized_leakage(500.0, 200.0, 2.5), 3)
    0.25
    """
    return float(0.1 * ela_cm2 / floor_m2 * (height_m / NL_HEIGHT) ** exponent)


_CLASSES: Final = (
    ("A", 0.10), ("B", 0.14), ("C", 0.20), ("D", 0.28), ("E", 0.40), ("F", 0.57), ("G", 0.80), ("H", 1.13), ("I", 1.60),
)  # fmt: skip


def leakage_class(nl: float) -> str:
    """Leakage class by normalized leakage.

    Parameters
    ----------
    nl : float
        Normalized leakage with exponent 0.3.

    Returns
    -------
    str
        A to J; ASHRAE 119 (bounds from memory, unverified).

    Examples
    --------
    >>> leakage_class(0.10), leakage_class(2.0)
    ('B', 'J')
    """
    return next((name for name, bound in _CLASSES if nl < bound), "J")
