"""The coefficients of the infiltration models, read from their data file, with checks of what is asked of them."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from hullwright.errors import InputError, Problem, Where
from hullwright.evidence import Evidence, Mark

STOREYS = (1, 2, 3)
SHELTERS = (1, 2, 3, 4, 5)


@cache
def tables() -> dict[str, Any]:
    """Give all coefficients.

    Returns
    -------
    dict

    Examples
    --------
    >>> tables()["basic"]["stack"][1]
    0.00029
    """
    text = (files("hullwright.leaks.worth") / "data" / "infiltration.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def evidence(part: str) -> Evidence:
    """Give the evidence of one part of the tables.

    Parameters
    ----------
    part : str
        ``basic``, ``enhanced``, ``design`` or ``accuracy``.

    Returns
    -------
    Evidence

    Examples
    --------
    >>> evidence("basic").mark.value
    'published'
    """
    return Evidence(Mark.PUBLISHED, tables()[part]["source"])


def check_place(storeys: int, shelter: int) -> None:
    """Refuse a house the tables do not hold.

    Parameters
    ----------
    storeys : int
        1, 2 or 3.
    shelter : int
        Shelter class 1 (open) to 5 (closely built).

    Raises
    ------
    InputError

    Examples
    --------
    >>> check_place(2, 3)
    """
    problems: list[Problem] = []
    if storeys not in STOREYS:
        problems.append(
            Problem(
                "the infiltration tables go by whole storeys", Where(key="storeys"), str(storeys), "1, 2 or 3",
                "take the number of storeys that comes next to the height over 2.5 m",
            )
        )  # fmt: skip
    if shelter not in SHELTERS:
        allowed = (
            "1 no obstructions, 2 isolated rural house, 3 buildings across the street, 4 larger urban lots, 5 closer than "
            "one house height"
        )
        problems.append(Problem("unknown shelter class", Where(key="shelter"), str(shelter), allowed))
    if problems:
        raise InputError("the infiltration can't be computed", problems)
