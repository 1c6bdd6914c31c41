"""Which quantity of the table is each figure of an entry: the name stands here, the limits in :mod:`hullwright.quantities`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

QUANTITY: Final[Mapping[str, str]] = {
    # lengths and places
    "from_m": "length done",
    "to_m": "length done",
    "width_m": "band width",
    "size_m": "hole size",
    # film; figures of a gauge in µm
    "teeth_um": "wet film",
    "notches_um": "wet film",
    "last_wet_um": "wet film",
    "next_dry_um": "wet film",
    "dry_um": "dry film",
    # weather and surface
    "air_c": "air temperature",
    "surface_c": "measured surface temperature",
    "dew_point_c": "dew point",
    "humidity": "humidity",
    "wind_m_s": "wind",
    "moisture_share": "moisture",
    # stock and hours
    "packs": "packs used",
    "cured": "packs used",
    "quantity": "amount of work",
    "hours": "hours worked",
    "people": "people",
    # checks
    "force_n": "force",
    "tried": "count of checks",
    "failed": "count of checks",
    "count": "count of checks",
    "flaws": "count of checks",
    "perimeter": "count of fasteners",
    "over_1_16": "count of fasteners",
    "over_1_8": "count of fasteners",
    "sealed": "count of fasteners",
}
"""Figure to quantity, the same for every kind of entry that has it."""
_SCALE: Final = {"_um": 1e-6}
_UNIT: Final = {"_um": " µm", "_m_s": " m/s", "_m": " m", "_c": " C"}


def quantity_of(name: str) -> str | None:
    """Give the quantity of a figure, None where it is no number.

    Examples
    --------
    >>> quantity_of("width_m"), quantity_of("crew")
    ('band width', None)
    """
    return QUANTITY.get(name)


def as_typed(name: str, value: float) -> str:
    """Give a stored figure as it was typed, '' where it was turned from another unit: then it has many digits.

    Examples
    --------
    >>> as_typed("dry_um", 15.0), as_typed("width_m", 3.048)
    ('15 µm', '')
    """
    if float(f"{value:.3g}") != value:
        return ""
    return f"{value:g}" + next((unit for end, unit in _UNIT.items() if name.endswith(end)), "")


def in_table_unit(name: str, value: float) -> float:
    """Turn a figure as stored into the unit of its quantity.

    Examples
    --------
    >>> in_table_unit("last_wet_um", 508.0)
    0.000508
    """
    return value * next((factor for end, factor in _SCALE.items() if name.endswith(end)), 1.0)
