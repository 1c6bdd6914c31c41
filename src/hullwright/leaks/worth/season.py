"""What the leakage of a house means over a season: infiltration, ventilation need, energy, money."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import Caution, Evidence, Mark
from hullwright.fantest.areas import normalized_leakage
from hullwright.leaks.worth.energy import degree_day_energy, hourly_energy
from hullwright.leaks.worth.infiltration import Foundation, basic_flow, enhanced_flow
from hullwright.leaks.worth.leakage import Leak
from hullwright.leaks.worth.tables import evidence, tables
from hullwright.leaks.worth.ventilation import Credit, Need, ventilation_need

Floats = NDArray[np.float64]

CAUTION: Final = Caution(
    "A tight house needs mechanical ventilation: do not count leaks for fresh air beyond what the local code allows, and "
    "have combustion appliances checked by a qualified person after sealing.",
    Evidence(Mark.PUBLISHED, "ASHRAE Fundamentals 2021 ch. 16"),
)


@dataclass(frozen=True, slots=True)
class House:
    """What the infiltration models ask of a house.

    Parameters
    ----------
    volume_m3, floor_m2, height_m : float
        [m3], [m2], lowest above-grade floor to highest ceiling [m].
    storeys, bedrooms : int
        1 to 3; number of bedrooms.
    shelter : int
        Shelter class 1 (open) to 5 (closely built).
    flue : bool
        Whether an open flue goes through the roof.
    foundation : Foundation
        What it stands on.
    altitude_m : float
        Altitude [m].
    """

    volume_m3: float
    floor_m2: float
    height_m: float
    storeys: int
    bedrooms: int
    shelter: int
    flue: bool = False
    foundation: Foundation = Foundation.SLAB
    altitude_m: float = 0.0


@dataclass(frozen=True, slots=True)
class DegreeDays:
    """A heating season by its sums.

    Parameters
    ----------
    degree_days : float
        Heating degree days [K d] to `base_c`.
    days : float
        Length of the season [d].
    wind_m_s : float
        Mean wind at the weather station in the season [m/s].
    base_c, inside_c : float
        Base temperature, indoor temperature [°C].
    """

    degree_days: float
    days: float
    wind_m_s: float
    base_c: float
    inside_c: float

    @property
    def dt_k(self) -> float:
        """Mean indoor less outdoor temperature of the season [K]."""
        return self.degree_days / self.days + self.inside_c - self.base_c


@dataclass(frozen=True, slots=True)
class Hours:
    """A year hour by hour, from a weather file.

    Parameters
    ----------
    outside_c, wind_m_s : ndarray, shape (T,)
        Outdoor temperature [°C], wind at the weather station [m/s]; NaN where missing.
    base_c, inside_c : float
        Base temperature, indoor temperature [°C].
    """

    outside_c: Floats
    wind_m_s: Floats
    base_c: float
    inside_c: float


@dataclass(frozen=True, slots=True)
class Heat:
    """What heat costs.

    Parameters
    ----------
    price_per_kwh : float
        Price of bought energy [money/kWh].
    efficiency : float
        Useful heat over bought energy; a heat pump has more than 1.
    currency : str
        Name of the money.
    """

    price_per_kwh: float
    efficiency: float
    currency: str = ""


@dataclass(frozen=True, slots=True)
class Worth:
    """What the leakage means over a season.

    Parameters
    ----------
    leak : Leak
        Leakage.
    basic_m3_h, enhanced_m3_h : float
        Mean infiltration of the season by both models [m3/h].
    ach : float
        Air changes by the enhanced model [1/h].
    need : Need
        Ventilation need.
    energy_kwh : float
        Heat lost through the leaks by the enhanced model [kWh].
    energy_basic_kwh : float
        The same by the basic model [kWh].
    money : float or None
        Cost of it.
    currency : str
        Name of the money.
    hours_missing : int
        Hours of the weather file left out because temperature or wind is missing.
    """

    leak: Leak
    basic_m3_h: float
    enhanced_m3_h: float
    ach: float
    need: Need
    energy_kwh: float
    energy_basic_kwh: float
    money: float | None
    currency: str
    hours_missing: int = 0

    def to_json(self) -> dict[str, Any]:
        """Give the answer object of ``worth``."""
        typical = float(tables()["accuracy"]["typical"])
        return {
            "schema": {"name": "worth", "version": 1},
            "infiltration": {
                "basic_m3_h": self.basic_m3_h,
                "enhanced_m3_h": self.enhanced_m3_h,
                "ach": self.ach,
                "evidence": {
                    "basic": evidence("basic").to_json(),
                    "enhanced": evidence("enhanced").to_json(),
                },
                "typical_error_share": typical,
                "typical_error_evidence": evidence("accuracy").to_json(),
            },
            "leakage": {
                "q50_m3_h": self.leak.q50_m3_h,
                "ela_cm2": self.leak.ela_cm2,
                "evidence": self.leak.evidence.to_json(),
            },
            "ventilation_need_m3_h": self.need.fan_m3_h,
            "ventilation": self.need.to_json(),
            "energy_kwh": self.energy_kwh,
            "energy_basic_kwh": self.energy_basic_kwh,
            "energy_range_kwh": {
                "low": self.energy_kwh * (1.0 - typical),
                "high": self.energy_kwh * (1.0 + typical),
                "meaning": "typical error of such models, no interval of stated coverage",
            },
            "money": self.money,
            "currency": self.currency,
            "hours_missing": self.hours_missing,
            "cautions": [CAUTION.to_json()],
        }


def worth(
    leak: Leak,
    house: House,
    season: DegreeDays | Hours,
    *,
    heat: Heat | None = None,
    weather_factor: float | None = None,
    edition: Credit = Credit.E2013,
) -> Worth:
    """Give what a leakage means over a heating season.

    Parameters
    ----------
    leak : Leak
        Leakage.
    house : House
        House.
    season : DegreeDays or Hours
        Weather.
    heat : Heat or None
        Price; None gives no money.
    weather_factor : float or None
        wsf of ASHRAE 62.2 for the station [1/h]; None takes no credit.
    edition : Credit
        Edition of ASHRAE 62.2.

    Returns
    -------
    Worth

    Raises
    ------
    InputError
        With everything that is out of range.

    Examples
    --------
    >>> from hullwright.leaks.worth.leakage import leak_of
    >>> house = House(468.7, 195.3, 2.4, storeys=1, bedrooms=3, shelter=4)
    >>> season = DegreeDays(3000.0, 210.0, 4.0, base_c=18.0, inside_c=20.0)
    >>> result = worth(leak_of(1200.0), house, season, heat=Heat(0.12, 0.9, "USD"))
    >>> round(result.enhanced_m3_h), round(result.energy_kwh), round(result.money)
    (34, 829, 111)
    """
    _check(house, season, heat)
    basic, enhanced, energy_basic, energy, missing = _season(leak, house, season)
    nl = normalized_leakage(leak.ela_cm2, house.floor_m2, house.height_m)
    need = ventilation_need(
        house.floor_m2, house.bedrooms, nl=nl, weather_factor=weather_factor, edition=edition
    )
    money = energy / heat.efficiency * heat.price_per_kwh if heat else None
    currency = heat.currency if heat else ""
    ach = enhanced / house.volume_m3
    return Worth(leak, basic, enhanced, ach, need, energy, energy_basic, money, currency, missing)


def _flows(leak: Leak, house: House, dt_k: float | Floats, wind_m_s: float | Floats) -> tuple[Floats, Floats]:
    basic = basic_flow(leak.ela_cm2, dt_k, wind_m_s, storeys=house.storeys, shelter=house.shelter)
    by_direction = [
        enhanced_flow(
            c, n, dt_k, wind_m_s,
            storeys=house.storeys, shelter=house.shelter, flue=house.flue, foundation=house.foundation,
        )
        for c, n in leak.laws
    ]  # fmt: skip
    return basic, np.asarray(np.mean(by_direction, axis=0))


def _season(leak: Leak, house: House, season: DegreeDays | Hours) -> tuple[float, float, float, float, int]:
    """Mean basic and enhanced flow, energy by both, hours left out."""
    if isinstance(season, DegreeDays):
        basic, enhanced = (float(flow) for flow in _flows(leak, house, season.dt_k, season.wind_m_s))
        heats = [
            degree_day_energy(flow, season.degree_days, altitude_m=house.altitude_m)
            for flow in (basic, enhanced)
        ]
        return basic, enhanced, heats[0], heats[1], 0
    known = ~(np.isnan(season.outside_c) | np.isnan(season.wind_m_s))
    outside, wind = season.outside_c[known], season.wind_m_s[known]
    lift = season.base_c - outside
    flows = _flows(leak, house, season.inside_c - outside, wind)
    cold = lift > 0
    means = [float(flow[cold].mean()) if cold.any() else 0.0 for flow in flows]
    heats = [hourly_energy(flow, lift, altitude_m=house.altitude_m) for flow in flows]
    return means[0], means[1], heats[0], heats[1], int((~known).sum())


def _check(house: House, season: DegreeDays | Hours, heat: Heat | None) -> None:
    problems = [
        Problem("this must be above zero", Where(key=name), f"{value:g}", "more than 0")
        for name, value in (
            ("house.volume_m3", house.volume_m3),
            ("house.floor_m2", house.floor_m2),
            ("house.height_m", house.height_m),
            *((("heat.efficiency", heat.efficiency),) if heat else ()),
            *((("season.days", season.days),) if isinstance(season, DegreeDays) else ()),
        )
        if not value > 0
    ]
    if isinstance(season, DegreeDays) and not season.degree_days >= 0:
        problems.append(Problem("degree days can't be below zero", Where(key="season.degree_days")))
    if isinstance(season, Hours):
        if season.outside_c.shape != season.wind_m_s.shape:
            problems.append(Problem("temperature and wind have different lengths", Where(key="season")))
        elif not (~np.isnan(season.outside_c) & ~np.isnan(season.wind_m_s)).any():
            problems.append(Problem("no hour has both temperature and wind", Where(key="season")))
    if problems:
        raise InputError("the worth of the leakage can't be computed", problems)
