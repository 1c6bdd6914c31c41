"""Measures of the building file: quantities with units, pitches, bearings, rates, sections of lumber."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from hullwright import units
from hullwright.building.kinds import scalar
from hullwright.building.nodes import Node
from hullwright.building.spec import BROKEN, Notes, Schema
from hullwright.errors import QuantityError
from hullwright.evidence import Evidence, Mark
from hullwright.quantities import Verdict, quantity, verdict
from hullwright.typed import comma_hint

_NUMBER_OR_TEXT: Final[Schema] = {"type": ["number", "string"]}
_PLAIN: Final = re.compile(r"\d{1,9}(\.\d{1,9})?")  # a bare number needs none of the grammar
_PS20: Final = Evidence(Mark.MEMORY, "American Softwood Lumber Standard PS 20, dry dressed sizes")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity with a unit, read to SI.

    Parameters
    ----------
    of : str
        Name in the table of quantities: what it can be, and what is usual.
    bare : str
        Unit of a bare number: ``house`` (the file's units), or a pair ``in|mm`` (us | metric).
    """

    of: str
    bare: str = "house"

    @property
    def quantities(self) -> tuple[str, ...]:
        """What it reads."""
        return (self.of,)

    def unit(self, notes: Notes) -> str:
        """Unit of a bare number in this file."""
        if self.bare == "house":
            return notes.bare
        us, _, metric = self.bare.partition("|")
        return us if notes.system == "us" else metric

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to float [SI]."""
        row, unit = quantity(self.of), self.unit(notes)
        text = scalar(node, notes, path, row.words)
        if text is None:
            return BROKEN
        try:
            if _PLAIN.fullmatch(text) and row.kind == "length":
                value = float(text) * units.TABLES["length"][unit]
            else:
                value = units.read(text, row.kind, bare=unit)
        except QuantityError as error:
            return notes.wrong(
                notes.where(node, path),
                f"{row.words} can't be read",
                got=node.shown(),
                allowed=error.problems[0].allowed if error.problems else "",
                hint=comma_hint(text) or f"write the number with its unit; a bare number is in {unit}",
            )
        return notes.weigh(self.of, value, node, path, bare=unit)

    def schema(self) -> Schema:
        """Number or text."""
        bare = (
            "the file's units" if self.bare == "house" else self.bare.replace("|", " (us) or ") + " (metric)"
        )
        return {**_NUMBER_OR_TEXT, "description": f"A bare number is in {bare}."}


@dataclass(frozen=True, slots=True)
class Pitch:
    """Slope of a roof plane: ``6:12``, ``6/12``, ``30 deg``; in metric files also a bare number of degrees."""

    _allowed = "a slope such as 6:12, 6/12 or 30 deg, more than 0 and at most 80 deg"
    _of = "roof pitch"

    @property
    def quantities(self) -> tuple[str, ...]:
        """What it reads."""
        return (self._of,)

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to degrees."""
        text = scalar(node, notes, path, self._allowed)
        if text is None:
            return BROKEN
        where = notes.where(node, path)
        number = r"(\d+(?:\.\d+)?(?:\s+\d+/\d+)?)"
        ratio = re.fullmatch(rf"{number}\s*(?::|/|in)\s*(\d+(?:\.\d+)?)", text)
        angle = math.nan
        try:
            if ratio:
                run = float(ratio.group(2))
                angle = math.degrees(math.atan2(units.parse_number(ratio.group(1)), run)) if run else math.nan
            else:
                angle = units.read(text, "angle", bare="deg")
        except QuantityError:
            pass
        if verdict(self._of, angle) is Verdict.IMPOSSIBLE:
            return notes.wrong(where, "this slope can't be used", got=text, allowed=self._allowed)
        if notes.system == "us" and re.fullmatch(r"[\d.]+", text) and angle <= 24:
            return notes.wrong(
                where,
                "this slope can be read in two ways",
                got=text,
                allowed=self._allowed,
                hint=f"write {text}:12 or {text} deg",
            )
        return notes.weigh(self._of, angle, node, path, bare="deg")

    def schema(self) -> Schema:
        """Number or text."""
        return dict(_NUMBER_OR_TEXT)


_BEARINGS: Final = {
    "north": 0.0, "north east": 45.0, "east": 90.0, "south east": 135.0,
    "south": 180.0, "south west": 225.0, "west": 270.0, "north west": 315.0,
}  # fmt: skip
_AXES: Final = {"north-south": 0.0, "east-west": 90.0, "south-north": 0.0, "west-east": 90.0}


@dataclass(frozen=True, slots=True)
class Bearing:
    """A direction in plan, clockwise from plan north: ``east-west``, ``south``, ``30 deg``; or the name of a side.

    Reads to a number [deg], or to the text where it may be the name of a side.
    """

    axis: bool

    @property
    def quantities(self) -> tuple[str, ...]:
        """What it reads."""
        return ("bearing",)

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to float [deg] or to the name of a side."""
        text = scalar(node, notes, path, self.allowed)
        if text is None:
            return BROKEN
        words = _AXES if self.axis else _BEARINGS
        if text.lower() in words:
            return words[text.lower()]
        if re.match(r"[\d.+-]", text):
            try:
                angle = units.read(text, "angle", bare="deg")
            except QuantityError:
                return notes.wrong(
                    notes.where(node, path), "this direction can't be read", got=text, allowed=self.allowed
                )
            got = notes.weigh("bearing", angle, node, path, bare="deg")
            return got if got is BROKEN else got % 360.0
        return text

    @property
    def allowed(self) -> str:
        """What is taken."""
        first = "east-west, north-south" if self.axis else "south, east, north, west"
        return f"{first}, a bearing such as 30 deg, or along/towards a side such as `south 1`"

    def schema(self) -> Schema:
        """Number or text."""
        return dict(_NUMBER_OR_TEXT)


@dataclass(frozen=True, slots=True)
class Rate:
    """A quantity per something, as ``0.3 cfm/ft2`` (leakage of a unit) or ``30 cfm``.

    Parameters
    ----------
    of : str
        Name in the table of quantities.
    factors : mapping
        Unit text (lower case, no blanks) to factor into the unit of the quantity.
    bare : (str, str)
        Unit of a bare number in a us and in a metric file.
    """

    of: str
    factors: Mapping[str, float]
    bare: tuple[str, str]

    @property
    def quantities(self) -> tuple[str, ...]:
        """What it reads."""
        return (self.of,)

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to float in the unit of the quantity, never negative."""
        words = quantity(self.of).words
        allowed = f"{words} in {', '.join(self.factors)}"
        text = scalar(node, notes, path, allowed)
        if text is None:
            return BROKEN
        match = re.fullmatch(r"([\d.]+(?:[eE][+-]?\d+)?)\s*(\D.*)?", text)
        unit = (
            re.sub(r"\s+", "", (match.group(2) or "") if match else "")
            .lower()
            .replace("²", "2")
            .replace("³", "3")
        )
        unit = unit.replace("(", "").replace(")", "").replace("·", "") or self.bare[notes.system == "metric"]
        try:
            value = units.parse_number(match.group(1)) if match else math.nan
        except QuantityError:
            value = math.nan
        if math.isnan(value) or unit not in self.factors:
            return notes.wrong(
                notes.where(node, path),
                f"{words} can't be read",
                got=node.shown(),
                allowed=allowed,
                hint=comma_hint(text),
            )
        return notes.weigh(self.of, value * self.factors[unit], node, path)

    def schema(self) -> Schema:
        """Number or text."""
        return {
            **_NUMBER_OR_TEXT,
            "description": f"A bare number is in {self.bare[0]} (us) or {self.bare[1]} (metric).",
        }


_DRESSED: Final = {1: 0.75, 2: 1.5, 3: 2.5, 4: 3.5, 5: 4.5, 6: 5.5, 7: 6.5}


def lumber(thickness: int, width: int) -> tuple[float, float] | None:
    """Dry dressed size of nominal lumber.

    Parameters
    ----------
    thickness, width : int
        Nominal size [in].

    Returns
    -------
    tuple of float or None
        Dressed size [m]; None where the table has no such size.

    References
    ----------
    American Softwood Lumber Standard (PS 20), tables of nominal and minimum-dressed dry sizes: boards and dimension
    1 -> 3/4, 2 to 7 -> less 1/2 in, 8 and wider -> less 3/4 in; from memory, unverified.

    Examples
    --------
    >>> [round(side / 0.0254, 4) for side in lumber(2, 8)]
    [1.5, 7.25]
    """

    def dressed(nominal: int) -> float | None:
        return _DRESSED.get(nominal, nominal - 0.75 if 8 <= nominal <= 16 else None)

    first, second = dressed(thickness), dressed(width)
    if first is None or second is None:
        return None
    return first * units.INCH, second * units.INCH


@dataclass(frozen=True, slots=True)
class Section:
    """Section of a piece: ``2x8`` (nominal lumber, us files), ``45x195`` (mm, metric files) or ``1.5 in x 7.25 in``."""

    side: Quantity

    @property
    def quantities(self) -> tuple[str, ...]:
        """What it reads."""
        return self.side.quantities

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to a list of width and depth [m]."""
        allowed = "a section such as 2x8 (nominal), 45x195 (mm) or 1 1/2 in x 7 1/4 in"
        text = scalar(node, notes, path, allowed)
        if text is None:
            return BROKEN
        where = notes.where(node, path)
        parts = re.split(r"\s*[x×]\s*", text)
        if len(parts) != 2:
            return notes.wrong(where, "this section can't be read", got=text, allowed=allowed)
        if notes.system == "us" and all(re.fullmatch(r"\d{1,2}", part) for part in parts):
            size = lumber(int(parts[0]), int(parts[1]))
            if size is None:
                return notes.wrong(
                    where,
                    "no lumber of this nominal size",
                    got=text,
                    allowed="1x to 16x nominal",
                    hint="write the actual size with units: 1.5 in x 7.25 in",
                )
            inches = [f"{side / units.INCH:g}" for side in size]
            notes.assume("sections", f"{text} is {inches[0]} in by {inches[1]} in", _PS20)
            return list(size)
        sides = [self.side.read(Node("scalar", node.line, node.column, part), notes, path) for part in parts]
        return BROKEN if any(side is BROKEN for side in sides) else sides

    def schema(self) -> Schema:
        """Text."""
        return {"type": "string"}
