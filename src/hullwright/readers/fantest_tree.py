"""Fan-test files as a tree of values that know their place: YAML here, tables in :mod:`.fantest_tables`.

Scalars stay text until the builder says what is wanted there. Anchors, aliases, tags, several documents, deep nesting
and large files are refused, so that a small file can't unfold into a large one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from hullwright import marked
from hullwright.errors import FanTestError, Problem, Where
from hullwright.marked import MOST_BYTES

_SORT: Final = marked.Sort(
    "fan test",
    FanTestError,
    "`hullwright fantest --new` writes one to start from",
    "`house: a`",
    most_depth=12,
)


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
    if not raw.strip():
        raise refuse(file, Problem("the file is empty", Where(file), allowed="a fan test", hint=_SORT.start))
    text = marked.decode(raw, file, _SORT, most=most)
    marked.check_text(text, file, _SORT, most=most)
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
    return _node(marked.compose(text, file, _SORT), file)


def _node(found: marked.Node, file: str) -> Node:
    where = Where(file, found.line, found.column)
    if found.kind == "scalar":
        return Node(found.text, where)
    if found.kind == "list":
        return Node([_node(item, file) for item in found.items], where)
    return Node({key.text: _node(value, file) for key, value in found.entries}, where)
