"""How much air on the design day, by the short form of the residential load chapter."""

from __future__ import annotations

from hullwright.errors import InputError, Problem, Where
from hullwright.leaks.worth.tables import tables


def unit_leakage(tightness: str) -> float:
    """Leakage area per exposed surface of a construction.

    Parameters
    ----------
    tightness : str
        ``tight``, ``good``, ``average``, ``leaky`` or ``very leaky``.

    Returns
    -------
    float
        [cm2/m2]; ASHRAE Fundamentals 2021 ch. 17 table 3.

    Raises
    ------
    InputError

    Examples
    --------
    >>> unit_leakage("good")
    1.4
    """
    table = tables()["design"]["unit_leakage_cm2_m2"]
    if tightness not in table:
        problem = Problem("unknown tightness", Where(key="tightness"), tightness, ", ".join(table))
        raise InputError("the leakage can't be looked up", [problem])
    return float(table[tightness])


def infiltration_factor(dt_k: float, height_m: float, *, heating: bool, flue_share: float = 0.0) -> float:
    """Infiltration driving force of the design day.

    Parameters
    ----------
    dt_k : float
        Indoor less outdoor design temperature [K]; its size counts.
    height_m : float
        Building height [m].
    heating : bool
        Heating (wind 6.7 m/s) or cooling (3.4 m/s).
    flue_share : float
        Leakage area of the flue over that of the house, below 0.5.

    Returns
    -------
    float
        IDF [L/(s cm2)]; ch. 17 eq. 10: ``(I0 + H |dt| (I1 + I2 A_flue/A_L))/1000``.

    Raises
    ------
    InputError
        Where the flue is half of the leakage or more.

    Examples
    --------
    >>> round(infiltration_factor(40.0, 2.5, heating=True), 3)
    0.086
    """
    if not 0 <= flue_share < 0.5:
        problem = Problem(
            "the short form does not hold", Where(key="flue_share"), f"{flue_share:g}", "below 0.5"
        )
        raise InputError("the design infiltration can't be computed", [problem])
    base, slope, flue = tables()["design"]["heating" if heating else "cooling"]
    return float((base + height_m * abs(dt_k) * (slope + flue * flue_share)) / 1000.0)


def design_flow(ela_cm2: float, factor_l_s_cm2: float) -> float:
    """Infiltration of the design day.

    Parameters
    ----------
    ela_cm2 : float
        Leakage area at 4 Pa [cm2].
    factor_l_s_cm2 : float
        From :func:`infiltration_factor`.

    Returns
    -------
    float
        [m3/h]; ch. 17 eq. 8.

    Examples
    --------
    >>> round(design_flow(499.1, 0.073) / 3.6, 1)  # handbook, Atlanta house: 36 L/s
    36.4
    """
    return 3.6 * ela_cm2 * factor_l_s_cm2
