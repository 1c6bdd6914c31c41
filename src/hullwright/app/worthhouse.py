"""What the tested leakage of a house is worth: the house from its building file, the rest as said or assumed aloud."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from hullwright import hull as hull_room
from hullwright.app.house import House, Source, load
from hullwright.app.worth import leak_of_file, load_weather, season_of
from hullwright.errors import InputError, Problem
from hullwright.evidence import Figure
from hullwright.leaks.worth import Credit, DegreeDays, Heat, Hours, Worth, value_of_tightening, worth
from hullwright.leaks.worth import House as Modelled
from hullwright.leaks.worth.infiltration import Foundation

MOST_STOREYS = 3
STEPS = 25


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a season.

    Parameters
    ----------
    weather : path or None
        Hourly weather file (EPW); else the next three.
    degree_days, days, wind : float or None
        Heating degree days [K d], days of the season [d], mean wind at the weather station [m/s].
    base, inside : float or None
        Base temperature and indoor temperature [°C].
    price, efficiency : float or None
        Money a kWh of bought energy; useful heat over bought energy.
    bedrooms, shelter : int or None
        Bedrooms; shelter class 1 (open) to 5 (closely built).
    weather_factor : float or None
        wsf of ASHRAE 62.2 for the station [1/h].
    edition : Credit
    to_ach50 : float or None
        Tightness to compare with [1/h].
    """

    weather: str | Path | None = None
    degree_days: float | None = None
    days: float | None = None
    wind: float | None = None
    base: float | None = None
    inside: float | None = None
    price: float | None = None
    efficiency: float | None = None
    bedrooms: int | None = None
    shelter: int | None = None
    weather_factor: float | None = None
    edition: Credit = Credit.E2016
    to_ach50: float | None = None


@dataclass(frozen=True, slots=True)
class HouseWorth:
    """Answer of ``worth``."""

    house: House
    worth: Worth
    tightening: dict[str, Any] | None
    assumed: tuple[str, ...]
    questions: tuple[str, ...]
    curve: tuple[Worth, ...] = ()
    tightened: Worth | None = None

    @property
    def volume(self) -> float:
        """Inner volume [m3]."""
        return self.house.inner_volume.value

    @property
    def floor(self) -> Figure:
        """Floor area on which the need for ventilation is counted [m2]: stated, or worked out."""
        return hull_room.floor_area(self.house.building)

    @property
    def height(self) -> float:
        """Height of the inside, which the infiltration models take [m]."""
        return hull_room.height(self.house.hull, self.house.building)

    def to_json(self) -> dict[str, Any]:
        """Give the answer with the keys of ``answers.md``."""
        return self.worth.to_json() | {
            "name": self.house.building.name,
            "inner_volume_m3": self.house.inner_volume.to_json(),
            "floor_area_m2": self.floor.to_json(),
            "height_m": self.height,
            "tightening": self.tightening,
            "assumed": list(self.assumed),
            "weather_questions": list(self.questions),
            "curve": [
                {
                    "ach50": step.leak.q50_m3_h / self.volume,
                    "energy_kwh": step.energy_kwh,
                    "money": step.money,
                    "infiltration_m3_h": step.enhanced_m3_h,
                    "fans_m3_h": step.need.fan_m3_h,
                }
                for step in self.curve
            ],
        }


class _Taken:
    """Gives stated values, and notes aloud what is assumed instead."""

    def __init__(self) -> None:
        self.assumed: list[str] = []

    def number(self, value: float | None, name: str, default: float) -> float:
        if value is None:
            self.assumed.append(f"{name} {default:g} [estimate]")
            return default
        return value


def worth_of_house(source: Source, test: str | Path, asked: Asked) -> HouseWorth:
    """Say what the leakage that a fan test found is worth in a season.

    Parameters
    ----------
    source : path or Building
    test : path
        Fan-test file.
    asked : Asked
        Weather, heat, people.

    Returns
    -------
    HouseWorth

    Raises
    ------
    InputError
        Where weather is missing or a file is wrong.
    """
    taken = _Taken()
    house = load(source)
    season, questions = _season(asked, taken)
    modelled = _modelled(house, asked, taken)
    heat = (
        None
        if asked.price is None
        else Heat(
            asked.price, taken.number(asked.efficiency, "efficiency of heating", 1.0), house.building.currency
        )
    )
    leak = leak_of_file(test)
    found = worth(
        leak, modelled, season, heat=heat, weather_factor=asked.weather_factor, edition=asked.edition
    )
    tighter = None
    if asked.to_ach50 is not None:
        tighter = value_of_tightening(
            leak, modelled, season, to_ach50=asked.to_ach50, heat=heat, weather_factor=asked.weather_factor
        )
    far = max(leak.q50_m3_h / modelled.volume_m3, asked.to_ach50 or 0.0) * 1.25

    def at(ach50: float) -> Worth:
        scaled = leak.scaled(ach50 * modelled.volume_m3 / leak.q50_m3_h)
        return worth(
            scaled, modelled, season, heat=heat, weather_factor=asked.weather_factor, edition=asked.edition
        )

    curve = tuple(at(far * step / STEPS) for step in range(1, STEPS + 1))
    tightened = None if asked.to_ach50 is None else at(asked.to_ach50)
    if asked.weather_factor is None:
        taken.assumed.append(
            "no credit for infiltration: the weather factor wsf of the station is not stated [common practice, no source]"
        )
    return HouseWorth(house, found, tighter, tuple(taken.assumed), questions, curve, tightened)


def _season(asked: Asked, taken: _Taken) -> tuple[DegreeDays | Hours, tuple[str, ...]]:
    base = taken.number(asked.base, "base temperature [°C]", 18.0)
    inside = taken.number(asked.inside, "indoor temperature [°C]", 20.0)
    if asked.weather is not None:
        weather = load_weather(asked.weather)
        return season_of(weather, base_c=base, inside_c=inside), tuple(
            str(question) for question in weather.questions
        )
    missing = [
        name
        for name, value in (
            ("--degree-days", asked.degree_days),
            ("--days", asked.days),
            ("--wind", asked.wind),
        )
        if value is None
    ]
    if missing:
        hint = "name an hourly weather file with --weather, or all of --degree-days, --days and --wind"
        raise InputError(
            "the worth of leakage needs weather",
            [Problem(f"{name} is missing", hint=hint) for name in missing],
        )
    assert asked.degree_days is not None
    assert asked.days is not None
    assert asked.wind is not None
    return DegreeDays(asked.degree_days, asked.days, asked.wind, base_c=base, inside_c=inside), ()


def _modelled(house: House, asked: Asked, taken: _Taken) -> Modelled:
    inside = [mass for mass in house.building.masses if mass.inside]
    storeys = max(len(mass.storeys) for mass in inside)
    if storeys > MOST_STOREYS:
        problem = Problem(
            "the infiltration models know one to three storeys",
            got=str(storeys),
            allowed="1 to 3",
            hint="test the flats one by one",
        )
        raise InputError("the worth can't be worked out", [problem])
    height = hull_room.height(house.hull, house.building)
    crawl = any(mass.bottom.kind == "crawl space" for mass in inside)
    flue = any(p.kind in ("flue", "chimney") for p in house.building.penetrations)
    return Modelled(
        house.inner_volume.value,
        hull_room.floor_area(house.building).value,
        height,
        storeys=storeys,
        bedrooms=int(taken.number(asked.bedrooms, "bedrooms", 3)),
        shelter=int(taken.number(asked.shelter, "shelter class", 3)),
        flue=flue,
        foundation=Foundation.CRAWL if crawl else Foundation.SLAB,
    )
