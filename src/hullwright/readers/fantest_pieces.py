"""The pieces of a fan-test file: quantities with units, shares, numbers, words, lists; every problem is kept with its place."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Iterable
from typing import Final, TypeVar

from hullwright.errors import Problem, QuantityError, Where
from hullwright.readers.fantest_sizes import QUANTITY, SURE, Frame, Size
from hullwright.readers.fantest_tree import Node
from hullwright.typed import comma_hint
from hullwright.units import FOOT, POUND, read

_DENSITY: Final = {"kg/m3": 1.0, "lb/ft3": POUND / FOOT**3}
_WATER: Final = re.compile(r"\bin(?:ch(?:es)?)?\.? ?(?:of )?(?:h2o|water|w\.? ?[gc]\.?)", re.IGNORECASE)

Table = dict[str, Node]
_NOTHING: Final = Node("", Where())
T = TypeVar("T")


class Pieces:
    """Reads one piece at a time and collects what is wrong.

    Parameters
    ----------
    file : str
        Name for errors.

    Examples
    --------
    >>> pieces = Pieces("t.yaml")
    >>> pieces.share(Node("5 %", Where("t.yaml", 1))), pieces.share(Node("much", Where("t.yaml", 2)))
    (0.05, None)
    >>> len(pieces.problems)
    1
    """

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self.bare: dict[str, str] = {}
        self.sizes: dict[int, Size] = {}
        self.remarks: list[str] = []
        self.frames: list[Frame] = []

    def problem(
        self, message: str, where: Where | None, got: str, allowed: str, key: str | None = None
    ) -> None:
        """Keep one problem with its place."""
        place = where or Where(self.file)
        place = Where(place.file, place.line, place.column, key or place.key)
        self.problems.append(Problem(message, place, got, allowed))

    def table(self, node: Node | None, known: Iterable[str], name: str) -> Table:
        """Keys and values of a table; keys that are not known are problems, empty values are left out."""
        if node is None or node.empty:
            return {}
        if not isinstance(node.value, dict):
            self.problem("a table of keys is wanted here", node.where, node.shown(), ", ".join(known), name)
            return {}
        keys = list(known)
        self._frame(node.value, name)
        for key, value in node.value.items():
            if key not in keys and key != SURE:
                near = difflib.get_close_matches(key, keys, n=1, cutoff=0.5)
                place = Where(
                    value.where.file, value.where.line, value.where.column, f"{name}.{key}" if name else key
                )
                hint = f"did you mean {near[0]}?" if near else ""
                self.problems.append(Problem("unknown key", place, key, ", ".join(keys), hint))
        return {key: value for key, value in node.value.items() if key in keys and not value.empty}

    def _frame(self, table: Table, name: str) -> None:
        """Note of each number of a table what it is, and what the table is sure of."""
        frame = Frame(all=name == "stations" and not table.get("exclude", _NOTHING).empty)
        self.frames.append(frame)
        for key, value in table.items():
            path = f"{name}.{key}" if name else key
            of = QUANTITY.get(path)
            if of is not None:
                inner = value.value if isinstance(value.value, list) else [value]
                self.sizes |= {id(one): Size(key, path, of, frame) for one in inner}
                if isinstance(
                    value.value, dict
                ):  # a mean has a table of its own: its answer may stand out here too
                    self.sizes |= {id(one): Size(key, path, of, frame) for one in value.value.values()}
        if SURE in table:
            self._sure(table, name, frame)

    def _sure(self, table: Table, name: str, frame: Frame) -> None:
        numbers = [key for key in table if f"{name}.{key}".lstrip(".") in QUANTITY]
        stated = table[SURE]
        words = stated.value if isinstance(stated.value, list) else [stated]
        for word in words:
            for key in (one.strip() for one in re.split(r"[;,]", self.text(word)) if one.strip()):
                if key in numbers:
                    frame.named[key] = word.where
                else:
                    allowed = ", ".join(numbers) or "no number is stated here"
                    self.problem(
                        f"no number `{key}` to be sure of stands here",
                        word.where,
                        key,
                        allowed,
                        f"{name}.sure".lstrip("."),
                    )

    def idle(self) -> tuple[str, ...]:
        """Say which answers nobody asked for."""
        return tuple(
            f"{frame.named[key]}: `{SURE}: [{key}]` answers nothing: its value is usual. Take it out"
            for frame in self.frames
            for key in sorted(set(frame.named) - frame.used)
        )

    def weigh(self, node: Node, value: float, bare: str | None = None) -> float | None:
        """Give a value that can be and is usual or sure; else keep the problem."""
        size = self.sizes.get(id(node))
        problem = None if size is None else size.weigh(value, self.text(node), bare, node.where)
        if problem is None:
            return value
        self.problems.append(problem)
        return None

    def items(self, part: Table, key: str, above: Node | None) -> list[Node]:
        """Members of a list; with `above` the list must be there."""
        node = part.get(key)
        if node is None:
            if above is not None:
                self.problem(f"{key} is missing", above.where, "", f"a list of {key}", key)
            return []
        if not isinstance(node.value, list):
            self.problem(
                f"a list of {key} is wanted here", node.where, node.shown(), "- one after the other", key
            )
            return []
        return node.value

    def needed(self, part: Table, key: str, above: Node, what: str) -> Node | None:
        """One value that must be there."""
        node = part.get(key)
        if node is None:
            self.problem(f"{key} is missing", above.where, "", what, key)
        return node

    def text(self, node: Node | None) -> str:
        """A scalar as text; empty where there is none."""
        if node is None or node.empty:
            return ""
        if not isinstance(node.value, str):
            self.problem("a text is wanted here", node.where, node.shown(), "one line of text")
            return ""
        return node.value.strip()

    def words(self, node: Node | None) -> tuple[str, ...]:
        """A list of words, or words parted by semicolons."""
        if node is None or node.empty:
            return ()
        if isinstance(node.value, list):
            return tuple(self.text(item) for item in node.value)
        return tuple(word.strip() for word in self.text(node).split(";") if word.strip())

    def quantity(self, node: Node | None, kind: str) -> float | None:
        """A quantity in SI; None where there is none or it can't be read."""
        if node is None:
            return None
        text = tidy(self.text(node))
        if not text:
            return None
        try:
            value = read(text.lstrip("+"), kind, bare=self.bare.get(kind))
        except QuantityError as error:
            bare = re.fullmatch(r"[-−+]?[\d.]+(?:[eE][-+]?\d+)?", text)
            hint = (
                f"write the unit, or units: {{{kind}: …}} for the whole file"
                if bare and kind not in self.bare
                else ""
            )
            found = error.problems[0]
            hint = comma_hint(text) or hint
            self.problems.append(
                Problem(
                    f"this {kind} can't be read",
                    node.where,
                    self.text(node),
                    found.allowed,
                    hint or found.hint,
                )
            )
            return None
        if not math.isfinite(value):
            self.problem(f"this {kind} is not a number", node.where, text, "a finite number")
            return None
        return self.weigh(node, value, self.bare.get(kind))

    def positive(self, node: Node | None, kind: str, *, zero: bool = False) -> float | None:
        """A quantity above zero (or not below it, with `zero`)."""
        value = self.quantity(node, kind)
        if node is not None and value is not None and (value < 0 or (value == 0 and not zero)):
            self.problem(f"this {kind} is not above zero", node.where, self.text(node), "more than 0")
            return None
        return value

    def number(self, node: Node | None) -> float | None:
        """A plain number."""
        if node is None:
            return None
        try:
            value = float(self.text(node))
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            hint = comma_hint(self.text(node))
            allowed = "a plain number with a decimal point"
            self.problems.append(
                Problem("this is not a number", node.where, self.text(node)[:60], allowed, hint)
            )
            return None
        return self.weigh(node, value)

    def share(self, node: Node | None, *, most: float = 0.999) -> float | None:
        """A share: ``5 %`` or ``0.05``."""
        if node is None:
            return None
        text = self.text(node).replace("±", "").strip()
        match = re.fullmatch(r"(\d{1,300}(?:\.\d*)?|\.\d+) ?(%?)", text)
        value = float(match.group(1)) / (100.0 if match.group(2) else 1.0) if match else math.nan
        if not 0 <= value <= most:
            allowed = f"such as 5 % or 0.05; at most {most:.4g}"
            self.problems.append(
                Problem("this share can't be used", node.where, text[:60], allowed, comma_hint(text))
            )
            return None
        return self.weigh(node, value)

    def density(self, node: Node | None) -> float | None:
        """A density of air [kg/m3]."""
        if node is None:
            return None
        match = re.fullmatch(r"(\d*\.?\d+) ?(kg/m3|kg/m³|lb/ft3|lb/ft³)", self.text(node))
        value = float(match.group(1)) * _DENSITY[match.group(2).replace("³", "3")] if match else 0.0
        if not 0.5 <= value <= 2.0:
            self.problem(
                "this density can't be used",
                node.where,
                self.text(node),
                "such as 1.2041 kg/m3, 0.0752 lb/ft3",
            )
            return None
        return self.weigh(node, value)

    def choice(self, node: Node | None, known: dict[str, T]) -> T | None:
        """One of some known words."""
        if node is None:
            return None
        text = self.text(node).lower()
        if text not in known:
            near = difflib.get_close_matches(text, known, n=1, cutoff=0.5)
            hint = f"did you mean {near[0]}?" if near else ""
            self.problems.append(
                Problem("this word is not known here", node.where, text, ", ".join(known), hint)
            )
            return None
        return known[text]


def tidy(text: str) -> str:
    """Write inches of water the way the unit tables know them.

    Parameters
    ----------
    text : str

    Returns
    -------
    str

    Examples
    --------
    >>> tidy("0.2 in. w.g.")
    '0.2 inwg'
    """
    return _WATER.sub("inwg", text.strip())
