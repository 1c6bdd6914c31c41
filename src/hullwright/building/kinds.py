"""Scalars of the building file: texts, words, yes and no, numbers, shares."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from hullwright import units
from hullwright.building.nodes import Node
from hullwright.building.spec import BROKEN, Notes, Schema, nearest
from hullwright.errors import QuantityError


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
    """A number within limits; `above` excludes its own value."""

    what: str
    low: float = -math.inf
    high: float = math.inf
    above: bool = False
    whole: bool = False

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to float (int where `whole`)."""
        text = scalar(node, notes, path, self._allowed())
        if text is None:
            return BROKEN
        try:
            value = units.parse_number(text)
        except QuantityError:
            value = math.nan
        low = value > self.low if self.above else value >= self.low
        if not low or not value <= self.high or (self.whole and value != int(value)):
            return notes.wrong(
                notes.where(node, path),
                "this number can't be used",
                got=text,
                allowed=self._allowed(),
                hint="write a plain number" if math.isnan(value) else "",
            )
        return int(value) if self.whole else value

    def _allowed(self) -> str:
        kind = "a whole number" if self.whole else "a number"
        span = limits(self.low, self.high, self.above, _plain)
        return f"{self.what}: {kind}{span}"

    def schema(self) -> Schema:
        """Number with its limits."""
        out: Schema = {"type": "integer" if self.whole else "number"}
        if math.isfinite(self.low):
            out["exclusiveMinimum" if self.above else "minimum"] = self.low
        if math.isfinite(self.high):
            out["maximum"] = self.high
        return out


def _plain(value: float) -> str:
    return f"{value:g}"


def limits(low: float, high: float, above: bool, show: Callable[[float], str]) -> str:
    """Limits as text, with a comma before; empty where there are none."""
    lower = f"{'more than' if above else 'at least'} {show(low)}" if math.isfinite(low) else ""
    upper = f"at most {show(high)}" if math.isfinite(high) else ""
    return f", {' and '.join(part for part in (lower, upper) if part)}" if lower or upper else ""


@dataclass(frozen=True, slots=True)
class Share:
    """A share: ``20 %`` or 0.2."""

    low: float = 0.0
    high: float = 1.0
    above: bool = False

    def read(self, node: Node, notes: Notes, path: str) -> Any:
        """Read to float between 0 and 1."""
        top = f"{self.high * 100:g} %"
        allowed = (
            f"{'more than' if self.above else 'from'} {self.low * 100:g} % to {top}, such as 20 % or 0.2"
        )
        text = scalar(node, notes, path, allowed)
        if text is None:
            return BROKEN
        percent = text.endswith("%")
        try:
            value = units.parse_number(text.removesuffix("%").strip()) / (100 if percent else 1)
        except QuantityError:
            value = math.nan
        if not (value > self.low if self.above else value >= self.low) or not value <= self.high:
            hint = f"write {text} %" if not percent and 1 < value <= 100 else ""
            return notes.wrong(
                notes.where(node, path), "this share can't be used", got=text, allowed=allowed, hint=hint
            )
        return value

    def schema(self) -> Schema:
        """Number from 0 to 1 or text with a percent sign."""
        return {
            "anyOf": [
                {"type": "number", "minimum": self.low, "maximum": self.high},
                {"type": "string", "pattern": "%\\s*$"},
            ]
        }
