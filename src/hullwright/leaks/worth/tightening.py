"""What going from one tightness to another is worth in a season."""

from __future__ import annotations

from typing import Any

from hullwright.errors import InputError, Problem, Where
from hullwright.leaks.worth.leakage import Leak
from hullwright.leaks.worth.season import DegreeDays, Heat, Hours, House, worth


def value_of_tightening(
    leak: Leak,
    house: House,
    season: DegreeDays | Hours,
    *,
    to_ach50: float,
    heat: Heat | None = None,
    weather_factor: float | None = None,
) -> dict[str, Any]:
    """Give what going from the leakage at hand to another tightness is worth in a season.

    Parameters
    ----------
    leak : Leak
        Leakage at hand.
    house : House
    season : DegreeDays or Hours
    to_ach50 : float
        Air changes at 50 Pa to reach [1/h].
    heat : Heat or None
    weather_factor : float or None
        As in :func:`worth`.

    Returns
    -------
    dict
        Both ends and the difference; the need for fans grows when leaks shrink, which is part of the answer.

    Raises
    ------
    InputError

    Examples
    --------
    >>> from hullwright.leaks.worth.leakage import leak_of
    >>> house = House(500.0, 200.0, 5.0, storeys=2, bedrooms=3, shelter=3)
    >>> season = DegreeDays(3000.0, 210.0, 4.0, base_c=18.0, inside_c=20.0)
    >>> out = value_of_tightening(leak_of(1500.0), house, season, to_ach50=1.0)
    >>> round(out["energy_kwh"]["saved"] / out["energy_kwh"]["from"], 4)
    0.6667
    """
    if not to_ach50 > 0:
        problem = Problem("the tightness to reach must be above zero", Where(key="to_ach50"), f"{to_ach50:g}")
        raise InputError("the worth of tightening can't be computed", [problem])
    target = leak.scaled(to_ach50 * house.volume_m3 / leak.q50_m3_h)
    before = worth(leak, house, season, heat=heat, weather_factor=weather_factor)
    after = worth(target, house, season, heat=heat, weather_factor=weather_factor)
    money = None
    if before.money is not None and after.money is not None:
        money = {"from": before.money, "to": after.money, "saved": before.money - after.money}
    return {
        "ach50": {"from": leak.q50_m3_h / house.volume_m3, "to": to_ach50},
        "energy_kwh": {
            "from": before.energy_kwh,
            "to": after.energy_kwh,
            "saved": before.energy_kwh - after.energy_kwh,
        },
        "money": money,
        "currency": before.currency,
        "ventilation_need_m3_h": {"from": before.need.fan_m3_h, "to": after.need.fan_m3_h},
        "note": "energy of the infiltration alone: the air that fans bring instead must be heated too, less what a heat "
        "exchanger gives back",
    }
