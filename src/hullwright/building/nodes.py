"""Text of a building file to a tree of nodes that know their line and column: see :mod:`hullwright.marked`."""

from __future__ import annotations

from typing import Final

from hullwright import marked
from hullwright.errors import BuildingFileError
from hullwright.marked import MOST_BYTES, Node

__all__ = ["MOST_BYTES", "Node", "compose", "decode"]

_SORT: Final = marked.Sort(
    "building file",
    BuildingFileError,
    "`hullwright new` writes one to start from",
    "`units: ft`",
    most_depth=40,
)


def decode(raw: bytes, file: str) -> str:
    """Turn the bytes of a file into text, or say why they are not a building file.

    Parameters
    ----------
    raw : bytes
    file : str
        Name for errors.

    Raises
    ------
    BuildingFileError
        Too large, binary, or not UTF-8.
    """
    return marked.decode(raw, file, _SORT)


def compose(text: str, file: str) -> Node:
    r"""Read text into its tree.

    Parameters
    ----------
    text : str
        The building file.
    file : str
        Name for errors.

    Returns
    -------
    Node
        The mapping at the root.

    Raises
    ------
    BuildingFileError
        Empty, too large, too deep, not plain YAML, keys stated twice.

    Examples
    --------
    >>> root = compose("name: Small house\nmasses: []\n", "house.yaml")
    >>> [key.text for key, _ in root.entries], root.entries[1][0].line
    (['name', 'masses'], 2)
    """
    return marked.compose(text, file, _SORT)
