"""Fan-test files as a tree of values that know their place: YAML here, tables in :mod:`.fantest_tables`.

Scalars stay text until the builder says what is wanted there. Anchors, aliases, tags, several documents, deep nesting
and large files are refused, so that a small file can't unfold into a large one.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import yaml

from hullwright.errors import FanTestError, Problem, Where

MOST_BYTES: Final = 5_000_000
MOST_DEPTH: Final = 12
_NOT_TEXT: Final = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


@dataclass(frozen=True, slots=True)
class Node:
    """A value with its place.

    Parameters
    ----------
    value : dict of str to Node, list of Node, or str
        Table, list or scalar.
    where : Where
        Place in the file.
    """

    value: dict[str, Node] | list[Node] | str
    where: Where

    @property
    def empty(self) -> bool:
        """Whether nothing stands here."""
        return isinstance(self.value, str) and self.value.strip() in {"", "~", "null"}

    def shown(self) -> str:
        """What stands here, short."""
        if isinstance(self.value, str):
            return "nothing" if self.empty else self.value[:60]
        return f"{'a table' if isinstance(self.value, dict) else 'a list'} of {len(self.value)}"


def refuse(file: str, problem: Problem) -> FanTestError:
    """Make the error that a file can't be used.

    Parameters
    ----------
    file : str
    problem : Problem

    Returns
    -------
    FanTestError
    """
    return FanTestError(f"{file} can't be used as a fan test", [problem])


def decode(raw: bytes, file: str, *, most: int = MOST_BYTES) -> str:
    """Turn the bytes of a text file into text.

    Parameters
    ----------
    raw : bytes
    file : str
        Name for errors.
    most : int
        Largest size [bytes].

    Returns
    -------
    str

    Raises
    ------
    FanTestError
        Empty, too large, binary, or in an encoding that can't be told.

    Examples
    --------
    >>> decode(b"house: a", "t.yaml")
    'house: a'
    """
    if len(raw) > most:
        got = f"{len(raw) / 1e6:.1f} MB"
        raise refuse(file, Problem("the file is too large", Where(file), got, f"at most {most / 1e6:g} MB"))
    if not raw.strip():
        hint = "hullwright fantest --new writes one to start from"
        raise refuse(file, Problem("the file is empty", Where(file), allowed="a fan test", hint=hint))
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise refuse(
            file,
            Problem(
                "the file is saved as UTF-16",
                Where(file, 1),
                "UTF-16 text",
                "UTF-8 text",
                "save it again as UTF-8",
            ),
        )
    try:
        text = raw.removeprefix(b"\xef\xbb\xbf").decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        got = f"byte 0x{raw[error.start]:02x}"
        raise refuse(
            file,
            Problem("the file is not UTF-8 text", Where(file, line), got, "UTF-8 text", "save it as UTF-8"),
        ) from error
    odd = _NOT_TEXT.search(text)
    if odd:
        where = Where(file, text.count("\n", 0, odd.start()) + 1)
        got = f"character 0x{ord(odd.group()):02x}"
        raise refuse(file, Problem("the file is not plain text", where, got, "plain UTF-8 text"))
    return text


def compose(text: str, file: str) -> Node:
    r"""Read YAML into a tree.

    Parameters
    ----------
    text : str
        The file.
    file : str
        Name for errors.

    Returns
    -------
    Node
        The table at the root.

    Raises
    ------
    FanTestError
        Not YAML, not a table, anchors or tags, too deep, keys twice.

    Examples
    --------
    >>> root = compose("house: a\nair: {inside: 20 C}\n", "t.yaml")
    >>> root.value["air"].value["inside"].where.line
    2
    """
    try:
        return _Composer(file).read(text)
    except yaml.YAMLError as error:
        mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
        where = Where(file, mark.line + 1, mark.column + 1) if mark else Where(file)
        problem = Problem(
            "this can't be read as YAML",
            where,
            str(getattr(error, "problem", "") or ""),
            "keys and values; two blanks deeper for what belongs together",
            "look at this line and the one above: colon, bracket, quote, indent",
        )
        raise refuse(file, problem) from error


class _Composer:
    def __init__(self, file: str) -> None:
        self.file = file

    def read(self, text: str) -> Node:
        loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
        events: Iterator[Any] = yaml.parse(text, Loader=loader)
        root: Node | None = None
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                if root is not None:
                    raise self._stop(event, "a second document starts here", "one document")
                root = self._node(next(events), events, 1)
        if root is None or root.empty:
            raise refuse(self.file, Problem("the file is empty", Where(self.file, 1), allowed="a fan test"))
        if not isinstance(root.value, dict):
            raise refuse(
                self.file,
                Problem("a fan test is a table of keys", root.where, root.shown(), "keys with values"),
            )
        return root

    def _node(self, event: Any, events: Iterator[Any], depth: int) -> Node:
        where = Where(self.file, event.start_mark.line + 1, event.start_mark.column + 1)
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise self._stop(event, "anchors and aliases (& and *) are not taken", "every value written out")
        if getattr(event, "tag", None):
            raise self._stop(event, "tags (!) are not taken", "plain values")
        if isinstance(event, yaml.ScalarEvent):
            return Node(event.value, where)
        if depth > MOST_DEPTH:
            raise self._stop(event, "lists or tables are nested too deep", f"at most {MOST_DEPTH} levels")
        members: list[Node] = []
        for inner in events:
            if isinstance(inner, (yaml.SequenceEndEvent, yaml.MappingEndEvent)):
                break
            members.append(self._node(inner, events, depth + 1))
        if isinstance(event, yaml.SequenceStartEvent):
            return Node(members, where)
        return Node(self._table(members), where)

    def _table(self, members: list[Node]) -> dict[str, Node]:
        table: dict[str, Node] = {}
        for key, value in zip(members[::2], members[1::2], strict=True):
            if not isinstance(key.value, str):
                raise refuse(self.file, Problem("a key must be a word", key.where, key.shown(), "a word"))
            if key.value in table:
                raise refuse(
                    self.file,
                    Problem("this key stands there twice", key.where, key.value, "each key once"),
                )
            table[key.value] = value
        return table

    def _stop(self, event: Any, message: str, allowed: str) -> FanTestError:
        mark = event.start_mark
        return refuse(
            self.file, Problem(message, Where(self.file, mark.line + 1, mark.column + 1), allowed=allowed)
        )
