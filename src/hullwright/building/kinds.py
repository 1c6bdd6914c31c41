"""Scalars of the building file: texts, words, yes and no, numbers, shares."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from hullwright import units
from hullwright.building.nodes import Node
from hullwright.building.spec import BROKEN, Notes, Schema, nearest
from hullwright.errors import QuantityError
from hullwright.quantities import Verdict, quantity, verdict
from hullwright.typed import comma_hint


def scalar(node: Node, notes: Notes, path: str, allowed: str) -> str | None:
    """Text of a scalar, or None after noting that something else stands there."""
    if node.kind == "scalar" and node.text.strip():
        return node.text.strip()
    notes.wrong(notes.where(node, path), "a single value is wanted here", got=node.shown(), allowed=allowed)
    return None


@dataclass(frozen=True, slots=True)
class Text:
    """Free text on one line."""

    what: str = "a text"
    most: int = 200

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to str."""
        text = scalar(node, notes, path, self.what)
        if text is None:
            return BROKEN
        if len(text) > self.most or "\n" in text:
            return notes.wrong(
                notes.where(node, path),
                "this text is too long",
                got=node.shown(),
                allowed=f"{self.what} of at most {self.most} characters on one line",
            )
        return text

    def schema(self) -> Schema:
        """String; numbers are read as their text."""
        return {"type": ["string", "number"]}


@dataclass(frozen=True, slots=True)
class Word:
    """One of a few words.

    Parameters
    ----------
    words : tuple of str
    also : mapping
        Other spellings that people use, to the word.
    """

    words: tuple[str, ...]
    also: Mapping[str, str] = field(default_factory=dict)

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to the word."""
        if node.text in self.words:
            return node.text
        allowed = ", ".join(self.words)
        text = scalar(node, notes, path, allowed)
        if text is None:
            return BROKEN
        folded = re.sub(r"[\s_-]+", " ", text).lower()
        table = {re.sub(r"[\s_-]+", " ", w).lower(): w for w in self.words} | dict(self.also)
        if folded not in table:
            return notes.wrong(
                notes.where(node, path),
                "this word is not known here",
                got=text,
                allowed=allowed,
                hint=nearest(folded, self.words),
            )
        return table[folded]

    def schema(self) -> Schema:
        """Enumeration."""
        return {"enum": [*self.words, *(other for other in self.also if other not in self.words)]}


_YES: Final = {"yes": True, "true": True, "no": False, "false": False}


@dataclass(frozen=True, slots=True)
class YesNo:
    """yes or no."""

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to bool."""
        text = scalar(node, notes, path, "yes or no")
        if text is None:
            return BROKEN
        if text.lower() not in _YES:
            return notes.wrong(
                notes.where(node, path), "yes or no is wanted here", got=text, allowed="yes, no"
            )
        return _YES[text.lower()]

    def schema(self) -> Schema:
        """Boolean, or the words."""
        return {"anyOf": [{"type": "boolean"}, {"enum": ["yes", "no"]}]}


@dataclass(frozen=True, slots=True)
class Number:
    """A plain number.

    Parameters
    ----------
    of : str
        Name in the table of quantities, which says what it can be and whether it is whole.
    """

    of: str

    @property
    def quantities(self) -> tuple[str, ...]:
        """What it reads."""
        return (self.of,)

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to float (int where it is whole)."""
        row = quantity(self.of)
        text = scalar(node, notes, path, self._allowed(notes.system))
        if text is None:
            return BROKEN
        try:
            value = units.parse_number(text)
        except QuantityError:
            value = math.nan
        if math.isnan(value) or (row.whole and value != int(value)):
            return notes.wrong(
                notes.where(node, path),
                "this number can't be used",
                got=node.shown(),
                allowed=self._allowed(notes.system),
                hint=comma_hint(text) or ("write a plain number" if math.isnan(value) else ""),
            )
        got = notes.weigh(self.of, value, node, path)
        return int(got) if row.whole and got is not BROKEN else got

    def _allowed(self, system: str) -> str:
        row = quantity(self.of)
        return f"{row.words}: {'a whole number' if row.whole else 'a number'}, {row.possible(system)}"

    def schema(self) -> Schema:
        """Number with its limits."""
        row = quantity(self.of)
        out: Schema = {"type": "integer" if row.whole else "number"}
        out["exclusiveMinimum" if row.above else "minimum"] = 0 if row.zero else _json(row.least, row.whole)
        out["maximum"] = _json(row.greatest, row.whole)
        return out


def _json(value: float, whole: bool) -> float:
    return int(value) if whole else value


@dataclass(frozen=True, slots=True)
class Share:
    """A share: ``20 %`` or 0.2.

    Parameters
    ----------
    of : str
        Name in the table of quantities.
    """

    of: str

    @property
    def quantities(self) -> tuple[str, ...]:
        """What it reads."""
        return (self.of,)

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to float between 0 and 1."""
        row = quantity(self.of)
        allowed = f"{row.possible(notes.system)}, such as 20 % or 0.2"
        text = scalar(node, notes, path, allowed)
        if text is None:
            return BROKEN
        percent = text.endswith("%")
        try:
            value = units.parse_number(text.removesuffix("%").strip()) / (100 if percent else 1)
        except QuantityError:
            value = math.nan
        if verdict(self.of, value) is Verdict.IMPOSSIBLE:
            hint = f"write {text} %" if not percent and 1 < value <= 100 else comma_hint(text)
            return notes.wrong(
                notes.where(node, path),
                "this share can't be used",
                got=node.shown(),
                allowed=allowed,
                hint=hint,
            )
        return notes.weigh(self.of, value, node, path)

    def schema(self) -> Schema:
        """Number from 0 to 1 or text with a percent sign."""
        row = quantity(self.of)
        return {
            "anyOf": [
                {"type": "number", "minimum": row.least, "maximum": row.greatest},
                {"type": "string", "pattern": "%\\s*$"},
            ]
        }
