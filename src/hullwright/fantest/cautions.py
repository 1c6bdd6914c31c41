"""What can hurt someone in a fan test: shown before every test and on its report."""

from __future__ import annotations

from functools import cache

from hullwright.evidence import Caution, Evidence
from hullwright.fantest.standards import MARKS, data


@cache
def cautions() -> tuple[Caution, ...]:
    """All cautions with source and mark.

    Returns
    -------
    tuple of Caution

    Examples
    --------
    >>> len(cautions()) >= 8
    True
    """
    return tuple(
        Caution(row["text"], Evidence(MARKS[row["mark"]], row["source"]))
        for row in data("cautions.toml")["caution"]
    )
