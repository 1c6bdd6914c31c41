"""The table of quantities: names, units, what there can be, what is usual; how each is printed."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import Any, Final

from hullwright import units
from hullwright.evidence import Evidence, Mark

KINDS: Final[Mapping[str, str]] = MappingProxyType(
    {unit: kind for kind, unit in units.SI_UNIT.items() if kind != "pace"} | {"m/s": "speed"}
)
"""Unit of the table to the key of :data:`hullwright.units.TABLES`, for quantities whose text carries a unit."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """One row of the table.

    Parameters
    ----------
    name, words : str
        Name in the table; with its article, for errors.
    unit : str
        Unit of the limits: SI where the text carries a unit.
    show : tuple of str
        Unit to print in, for a US and a metric reader.
    least, greatest : float
        What there can be.
    low, high : float
        What is usual.
    evidence : Evidence
        How far the limits can be trusted.
    above : bool
        `least` itself is not taken.
    zero : bool
        0 stands for "none" and is usual.
    whole : bool
        A count.
    mixed : tuple of str
        Units that are taken for each other here; () for those of its kind.
    """

    name: str
    words: str
    unit: str
    show: tuple[str, str]
    least: float
    low: float
    high: float
    greatest: float
    evidence: Evidence
    above: bool = False
    zero: bool = False
    whole: bool = False
    mixed: tuple[str, ...] = ()

    @property
    def kind(self) -> str:
        """Key of :data:`hullwright.units.TABLES`; '' where the text carries no unit."""
        return KINDS.get(self.unit, "")

    @property
    def bare(self) -> str:
        """What is wanted, without its article."""
        first, _, rest = self.words.partition(" ")
        return rest if first in {"a", "an", "the"} else self.words

    def written(self, value: float, system: str, digits: int = 3) -> str:
        """Print a value as this reader writes it.

        Parameters
        ----------
        value : float
            In `unit`.
        system : str
            ``us`` or ``metric``.
        digits : int
            That matter.
        """
        unit = self.show[system == "metric"]
        if unit == "%":
            return f"{_plain(value * 100.0, digits)} %"
        if unit in {"F", "C"}:
            return f"{_plain(value * 1.8 + 32.0 if unit == 'F' else value, digits)} {unit}"
        factor = units.TABLES[self.kind].get(_key(unit), 1.0) if self.kind else 1.0
        number = _plain(value / factor, digits)
        return f"{number} {unit}" if unit and value != 0 else number

    def possible(self, system: str) -> str:
        """Say what there can be."""
        low, high = self.written(self.least, system), self.written(self.greatest, system)
        zero = "0, or " if self.zero and self.least > 0 else ""
        return f"{zero}{'more than' if self.above else 'at least'} {low} and at most {high}"

    def usual(self, system: str) -> str:
        """Say what is usual."""
        zero = "0, or " if self.zero and self.low > 0 else ""
        return f"{zero}{self.written(self.low, system, 2)} to {self.written(self.high, system, 2)}"


def _key(unit: str) -> str:
    return unit.lower().replace("fl oz", "floz")


def _plain(number: float, digits: int) -> str:
    """A limit as one would say it: no exponent where it can be helped."""
    if number == 0 or not math.isfinite(number):
        return f"{number:g}"
    places = digits - 1 - math.floor(math.log10(abs(number)))
    short = round(number, places)
    return f"{short:,.0f}" if abs(short) >= 1000 else f"{short:.4g}"


@cache
def _table() -> Mapping[str, Quantity]:
    file = resources.files("hullwright.quantities") / "data" / "quantities.toml"
    rows: Mapping[str, Mapping[str, Any]] = tomllib.loads(file.read_text(encoding="utf-8"))
    return MappingProxyType({name: _row(name, row) for name, row in rows.items()})


def _row(name: str, row: Mapping[str, Any]) -> Quantity:
    us, _, metric = str(row["show"]).partition("|")
    (least, greatest), (low, high) = row["possible"], row["usual"]
    return Quantity(
        name=name,
        words=row["words"],
        unit=row["unit"],
        show=(us, metric or us),
        least=float(least),
        low=float(low),
        high=float(high),
        greatest=float(greatest),
        evidence=Evidence(Mark(row["mark"]), row.get("source", "")),
        above=row.get("above", False),
        zero=row.get("zero", False),
        whole=row.get("whole", False),
        mixed=tuple(row.get("mixed", ())),
    )


def names() -> tuple[str, ...]:
    """Give the names of all quantities.

    Examples
    --------
    >>> "story height" in names()
    True
    """
    return tuple(_table())


def quantity(name: str) -> Quantity:
    """Give a row of the table.

    Parameters
    ----------
    name : str

    Returns
    -------
    Quantity

    Raises
    ------
    KeyError
        Where the table has no such quantity: a slip of ours, never of a user.

    Examples
    --------
    >>> quantity("story height").usual("us")
    '2 ft to 26 ft'
    """
    return _table()[name]
