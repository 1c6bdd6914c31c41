"""What a flow is divided by: every derived result is a factor times the flow at one pressure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from hullwright.fantest.areas import (
    ELA_PRESSURE,
    EQLA_DISCHARGE,
    EQLA_PRESSURE,
    NL_EXPONENT,
    NL_EXPONENT_119,
    area_cm2,
    normalized_leakage,
)
from hullwright.fantest.raw import Building
from hullwright.units import CFM, FOOT, INCH

M3_H_PER_CFM: Final = CFM * 3600.0
CFM_FT2: Final = 1.0 / (M3_H_PER_CFM / FOOT**2)  # of 1 m3/(h m2): 1/18.288
CM2_PER_IN2: Final = INCH**2 * 1e4
PRESSURES: Final = (4.0, 10.0, 50.0, 75.0)

ELA_FACTOR: Final = area_cm2(1.0, ELA_PRESSURE)
EQLA_FACTOR: Final = area_cm2(1.0, EQLA_PRESSURE, discharge=EQLA_DISCHARGE)


@dataclass(frozen=True, slots=True)
class Scale:
    """One derived result.

    Parameters
    ----------
    pressure_pa : float
        Pressure of the flow it rests on [Pa].
    factor : float
        Result per m3/h.
    size_share : float
        Accuracy of the volume or area it is divided by, share, 95 %.
    """

    pressure_pa: float
    factor: float
    size_share: float = 0.0


def flow_scales(building: Building) -> dict[str, Scale | None]:
    """Results that stand in each direction and in the mean, SI.

    Parameters
    ----------
    building : Building
        Volume and areas; what is not known gives None.

    Returns
    -------
    dict of str to Scale or None

    Examples
    --------
    >>> scale = flow_scales(Building(volume_m3=500.0))["ach50"]
    >>> scale.factor * 250.0
    0.5
    """
    volume = building.volume_m3
    ach = Scale(50.0, 1.0 / volume, building.volume_accuracy or 0.0) if volume else None
    return {
        "q4_m3_h": Scale(4.0, 1.0),
        "q10_m3_h": Scale(10.0, 1.0),
        "q50_m3_h": Scale(50.0, 1.0),
        "q75_m3_h": Scale(75.0, 1.0),
        "ach50": ach,
        "ela_cm2": Scale(ELA_PRESSURE, ELA_FACTOR),
        "eqla_cm2": Scale(EQLA_PRESSURE, EQLA_FACTOR),
    }


def us_scales() -> dict[str, Scale]:
    """Flows and areas in US units.

    Returns
    -------
    dict of str to Scale

    Examples
    --------
    >>> round(us_scales()["cfm50"].factor * 1.69901079552, 9)
    1.0
    """
    flows = {f"cfm{p:g}": Scale(p, 1.0 / M3_H_PER_CFM) for p in PRESSURES}
    return flows | {
        "ela_in2": Scale(ELA_PRESSURE, ELA_FACTOR / CM2_PER_IN2),
        "eqla_in2": Scale(EQLA_PRESSURE, EQLA_FACTOR / CM2_PER_IN2),
    }


def area_scales(area_m2: float | None, accuracy: float | None) -> dict[str, Scale] | None:
    """Results per area of envelope or floor.

    Parameters
    ----------
    area_m2 : float or None
        Area [m2].
    accuracy : float or None
        Share, 95 %.

    Returns
    -------
    dict of str to Scale, or None
        None where the area is not known.

    Examples
    --------
    >>> round(1 / area_scales(1.0, None)["cfm50_ft2"].factor, 6)
    18.288
    """
    if not area_m2:
        return None
    size = accuracy or 0.0
    return {
        "q50_m3_h_m2": Scale(50.0, 1.0 / area_m2, size),
        "q75_m3_h_m2": Scale(75.0, 1.0 / area_m2, size),
        "q50_l_s_m2": Scale(50.0, 1.0 / 3.6 / area_m2, size),
        "q75_l_s_m2": Scale(75.0, 1.0 / 3.6 / area_m2, size),
        "cfm50_ft2": Scale(50.0, CFM_FT2 / area_m2, size),
        "cfm75_ft2": Scale(75.0, CFM_FT2 / area_m2, size),
        "ela_cm2_m2": Scale(ELA_PRESSURE, ELA_FACTOR / area_m2, size),
        "eqla_cm2_m2": Scale(EQLA_PRESSURE, EQLA_FACTOR / area_m2, size),
        "ela_in2_100ft2": Scale(ELA_PRESSURE, ELA_FACTOR / CM2_PER_IN2 / (area_m2 / (100.0 * FOOT**2)), size),
    }


def nl_scale(building: Building, *, exponent: float = NL_EXPONENT) -> Scale | None:
    """Normalized leakage.

    Parameters
    ----------
    building : Building
        Floor area and height are needed.
    exponent : float
        0.4 (ASHRAE 62.2-2013 and later) or 0.3 (ASHRAE 119).

    Returns
    -------
    Scale or None

    Examples
    --------
    >>> nl_scale(Building(floor_m2=200.0)) is None
    True
    """
    if not building.floor_m2 or not building.height_m:
        return None
    factor = normalized_leakage(ELA_FACTOR, building.floor_m2, building.height_m, exponent=exponent)
    return Scale(ELA_PRESSURE, factor, building.floor_accuracy or 0.0)


def nl_scale_119(building: Building) -> Scale | None:
    """Normalized leakage with the exponent of ASHRAE 119, for its leakage classes.

    Parameters
    ----------
    building : Building

    Returns
    -------
    Scale or None

    Examples
    --------
    >>> nl_scale_119(Building()) is None
    True
    """
    return nl_scale(building, exponent=NL_EXPONENT_119)
