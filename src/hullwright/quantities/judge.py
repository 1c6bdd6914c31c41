"""Can it be, and is it usual: what is impossible is refused, what is odd is asked, with the unit that may be meant."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from enum import StrEnum
from typing import Final

from hullwright import units
from hullwright.errors import NOWHERE, Problem, QuantityError, Where
from hullwright.quantities.table import Quantity, quantity


class Verdict(StrEnum):
    """What is said of a value."""

    USUAL = "usual"
    ODD = "odd"
    IMPOSSIBLE = "impossible"


_SLACK: Final = 1e-9
"""Share by which a value may pass a limit: text in feet goes through floats."""

MIXED: Final[Mapping[str, tuple[str, ...]]] = {
    "length": ("in", "ft", "mm", "m", "cm"),
    "film": ("mil", "µm", "mm", "in"),
    "area": ("ft2", "m2", "in2", "cm2"),
    "volume": ("ft3", "m3", "gal", "L", "fl oz", "mL"),
    "flow": ("cfm", "m3/h", "L/s", "m3/s"),
    "pressure": ("Pa", "inH2O", "psf", "hPa", "inHg", "kPa"),
    "speed": ("mph", "m/s", "km/h", "ft/min"),
    "temperature": ("F", "C"),
    "coverage": ("ft2/gal", "m2/L"),
    "time": ("s", "min", "h", "days"),
}
"""Units that are taken for each other: by kind, films apart; a row of the table may name its own."""
_US: Final = frozenset(
    {"in", "ft", "mil", "yd", "ft2", "in2", "ft3", "gal", "fl oz", "cfm", "psf", "inHg", "mph", "ft/min", "F", "ft2/gal", "inH2O"}
)  # fmt: skip
_MOST_GUESSES: Final = 2


def verdict(name: str, value: float) -> Verdict:
    """Say whether a value can be, and whether it is usual.

    Parameters
    ----------
    name : str
        Quantity of the table.
    value : float
        In the unit of the table; a whole number of any length.

    Returns
    -------
    Verdict

    Examples
    --------
    >>> [verdict("story height", height).value for height in (2.7, 33.2, 3300.0)]
    ['usual', 'odd', 'impossible']
    >>> verdict("panel gap", 0.0).value, verdict("panel gap", 3e-6).value, verdict("packs", 10**400).value
    ('usual', 'impossible', 'impossible')
    """
    row = quantity(name)
    try:
        number = float(value)
    except OverflowError:
        return Verdict.IMPOSSIBLE
    if not math.isfinite(number):
        return Verdict.IMPOSSIBLE
    if row.zero and number == 0:
        return Verdict.USUAL
    if not _within(number, row.least, row.greatest) or (row.above and number <= row.least):
        return Verdict.IMPOSSIBLE
    return Verdict.USUAL if _within(number, row.low, row.high) else Verdict.ODD


def _within(number: float, low: float, high: float) -> bool:
    return low - abs(low) * _SLACK <= number <= high + abs(high) * _SLACK


def refuse(name: str, text: str, *, system: str, bare: str | None = None, where: Where = NOWHERE) -> Problem:
    """Say that a value can't be.

    Parameters
    ----------
    name : str
    text : str
        As typed.
    system : str
        ``us`` or ``metric``: units of the reader.
    bare : str or None
        Unit of a number without one.
    where : Where

    Returns
    -------
    Problem

    Examples
    --------
    >>> print(refuse("build-up", "0.2 mm", system="metric"))
    this is out of range for a thickness from the layer to the room
      found:   0.2 mm
      allowed: 0, or at least 1 mm and at most 3,000 mm
      do:      did you mean 0.2 m?
    """
    row = quantity(name)
    hint = _question(guesses(row, text, bare, system), row, system)
    if bare and row.kind and _number(text):
        hint = f"{hint} a bare number is in {bare}".strip()
    return Problem(f"this is out of range for {row.words}", where, text, row.possible(system), hint)


def ask(
    name: str,
    text: str,
    *,
    system: str,
    answer: str,
    bare: str | None = None,
    where: Where = NOWHERE,
) -> Problem:
    r"""Ask whether an odd value is meant.

    Parameters
    ----------
    name : str
    text : str
        As typed.
    system : str
    answer : str
        How to say that it is: ``add `sure: [stories]` here``; '' where the caller adds that.
    bare : str or None
    where : Where

    Returns
    -------
    Problem

    Examples
    --------
    >>> print(ask("story height", "109 ft", system="us", answer="add `sure: [stories]` to this body"))
    is this right? it is not usual for a story height
      found:   109 ft
      allowed: usually 2 ft to 26 ft
      do:      did you mean 109 in (9'-1")? if 109 ft is right, add `sure: [stories]` to this body
    """
    row = quantity(name)
    meant = _question(guesses(row, text, bare, system), row, system)
    shown = text if bare is None or not _number(text) else f"{text} {bare}"
    right = f"if {shown} is right, {answer}" if answer else ""
    hint = " ".join(part for part in (meant, right) if part)
    return Problem(
        f"is this right? it is not usual for {row.words}", where, text, f"usually {row.usual(system)}", hint
    )


def system_of(text: str, kind: str, bare: str | None = None) -> str:
    """Tell from the unit that was typed whether its reader thinks in feet or in meters.

    Examples
    --------
    >>> system_of("450 cfm", "flow"), system_of("291", "flow", "m3/h")
    ('us', 'metric')
    """
    parts = units.number_and_unit(text)
    typed = ((parts[1] if parts else "") or bare or "").lower()
    return "us" if kind and typed in units.TABLES[kind] and _is_us(typed, kind) else "metric"


def guesses(row: Quantity, text: str, bare: str | None, system: str) -> tuple[str, ...]:
    """Give the number with other units in which it would be usual, the likeliest first.

    Examples
    --------
    >>> guesses(quantity("altitude"), "5280 m", None, "metric")
    ('5280 ft',)
    >>> guesses(quantity("humidity"), "45", None, "us")
    ('45 %',)
    """
    parts = units.number_and_unit(text)
    if parts is None:
        return ()
    number, unit = parts
    if row.show[0] == "%":
        percent = not text.rstrip().endswith("%") and verdict(row.name, number / 100.0) is Verdict.USUAL
        return (f"{number:g} %",) if percent else ()
    if not row.kind:
        return ()
    typed = (unit or bare or "").lower()
    ours = [other for other in _mixed(row) if not _same(other, typed, row.kind)]
    us = _is_us(typed, row.kind) if typed else system == "us"
    fits = [other for other in ours if _fits(row, number, other)]
    own = [other for other in fits if (other in _US) is us]  # a slip within one system is the likelier
    return tuple(f"{number:g} {other}" for other in (own or fits)[:_MOST_GUESSES])


def _mixed(row: Quantity) -> tuple[str, ...]:
    return row.mixed or MIXED.get("film" if row.show[0] == "mil" else row.kind, ())


def _fits(row: Quantity, number: float, unit: str) -> bool:
    try:
        value = units.read(number, row.kind, bare=_known(unit))
    except QuantityError:
        return False
    return value != 0 and verdict(row.name, value) is Verdict.USUAL


def _known(unit: str) -> str:
    return {"fl oz": "floz", "inH2O": "inwg"}.get(unit, unit)


def _same(one: str, other: str, kind: str) -> bool:
    table = units.TABLES[kind]
    if kind == "temperature":
        return one.lower()[-1:] == other.lower()[-1:]
    return _known(other).lower() in table and table[_known(one).lower()] == table[_known(other).lower()]


def _is_us(unit: str, kind: str) -> bool:
    return any(_same(other, unit, kind) for other in _US if _known(other).lower() in units.TABLES[kind])


def _number(text: str) -> bool:
    parts = units.number_and_unit(text)
    return parts is not None and not parts[1]


def _question(found: tuple[str, ...], row: Quantity, system: str) -> str:
    if not found:
        return ""
    return f"did you mean {' or '.join(_explained(found, row, system))}?"


def _explained(found: tuple[str, ...], row: Quantity, system: str) -> Iterator[str]:
    for text in found:
        inches = (
            row.kind == "length"
            and system == "us"
            and text.endswith(" in")
            and units.read(text) >= units.FOOT
        )
        yield f"{text} ({units.feet_inches(units.read(text))})" if inches else text
