"""Which standard was followed, what does it correct, which rules does it set: read from a data file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any

from hullwright.errors import FanTestError, Problem
from hullwright.evidence import Mark

MARKS = {
    "memory": Mark.MEMORY,
    "published": Mark.PUBLISHED,
    "estimate": Mark.ESTIMATE,
    "practice": Mark.PRACTICE,
}


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of a standard.

    Parameters
    ----------
    name : str
        Which rule.
    value : float
        Its figure, in the unit of the rule.
    kind : str
        ``void``, ``outside`` or ``check``.
    clause : str
        Where it stands.
    mark : Mark
        How far the figure can be trusted.
    more : mapping
        Further figures of the rule.
    """

    name: str
    value: float
    kind: str
    clause: str
    mark: Mark
    more: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Instruments:
    """Accuracy a standard asks of the instruments, 95 %; taken where the tester states none, and said so.

    Parameters
    ----------
    flow_share, pressure_share : float
        Of the reading.
    pressure_pa : float
        Least error of the pressure [Pa].
    clause : str
        Where it stands.
    mark : Mark
        How far it can be trusted.
    """

    flow_share: float
    pressure_share: float
    pressure_pa: float
    clause: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class Standard:
    """One standard.

    Parameters
    ----------
    id, title, edition, clause : str
        Name, title, edition, and the clause of the sums.
    viscosity : bool
        Whether the reference correction holds the viscosity term (E779 eq. 4) beside the density term.
    pressure_pa : float
        Pressure at which it reports [Pa].
    procedures : tuple of str
        Procedures it knows.
    rules : tuple of Rule
        Validity rules.
    instruments : Instruments
        Accuracy it asks for.
    """

    id: str
    title: str
    edition: str
    clause: str
    viscosity: bool
    pressure_pa: float
    procedures: tuple[str, ...]
    rules: tuple[Rule, ...]
    instruments: Instruments

    def to_json(self) -> dict[str, Any]:
        """Name, edition and correction."""
        return {
            "id": self.id,
            "title": self.title,
            "edition": self.edition,
            "reference_correction": "density and viscosity" if self.viscosity else "density",
            "primary_pressure_pa": self.pressure_pa,
        }


def data(name: str) -> dict[str, Any]:
    """Read one data file of this room.

    Parameters
    ----------
    name : str
        File name.

    Returns
    -------
    dict
        Its content.

    Examples
    --------
    >>> "iso9972" in data("standards.toml")
    True
    """
    return tomllib.loads((files("hullwright.fantest") / "data" / name).read_text(encoding="utf-8"))


@cache
def standards() -> Mapping[str, Standard]:
    """All standards by id.

    Returns
    -------
    mapping of str to Standard

    Examples
    --------
    >>> sorted(standards())[:3]
    ['cgsb149', 'e1827', 'e3158']
    """
    return MappingProxyType({key: _standard(key, table) for key, table in data("standards.toml").items()})


def _standard(key: str, table: dict[str, Any]) -> Standard:
    known = {"name", "value", "kind", "clause", "mark"}
    rules = tuple(
        Rule(
            name=row["name"],
            value=float(row["value"]),
            kind=row["kind"],
            clause=row["clause"],
            mark=MARKS[row["mark"]],
            more={name: float(value) for name, value in row.items() if name not in known},
        )
        for row in table["rules"]
    )
    return Standard(
        key,
        table["title"],
        table["edition"],
        table["clause"],
        table["reference"] == "density and viscosity",
        float(table["pressure_pa"]),
        tuple(table["procedures"]),
        rules,
        _instruments(table["instruments"]),
    )


def _instruments(table: dict[str, Any]) -> Instruments:
    return Instruments(
        float(table["flow_share"]),
        float(table["pressure_share"]),
        float(table["pressure_pa"]),
        table["clause"],
        MARKS[table["mark"]],
    )


def find(text: str) -> Standard:
    """Find a standard by the name a person writes.

    Parameters
    ----------
    text : str
        Such as ``ISO 9972`` or ``ASTM E779-19``; an edition after the name is allowed.

    Returns
    -------
    Standard

    Raises
    ------
    FanTestError
        Where no standard has that name.

    Examples
    --------
    >>> find("ISO 9972:2015").id, find("astm e779-10").id
    ('iso9972', 'e779')
    """
    plain = re.sub(r"\s+", " ", text.strip().lower())
    for key, table in data("standards.toml").items():
        for name in (key, *table["names"]):
            if plain == name or re.fullmatch(re.escape(name) + r"[-: ]*(\d{2,4}[a-z]?|m86)?", plain):
                return standards()[key]
    allowed = ", ".join(standard.title for standard in standards().values())
    problem = Problem("no such standard of a fan test is known here", got=text, allowed=allowed)
    raise FanTestError(f"unknown standard {text!r}", [problem])
