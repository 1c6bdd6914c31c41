"""Reads the table of rules: what an entry is about and does, and what proves each method on each form of joint."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import resources
from typing import Any, Final

from hullwright.errors import InputError, Problem
from hullwright.evidence import Evidence, Mark
from hullwright.units import read

_TABLE: Final[Mapping[str, Any]] = tomllib.loads(
    (resources.files("hullwright.proof") / "data" / "rules.toml").read_text(encoding="utf-8")
)


@dataclass(frozen=True, slots=True)
class About:
    """What entries of a kind are about, and what they do.

    Parameters
    ----------
    kind : str
    about : str
        ``run``, ``place``, ``lot``, ``face``, ``entry`` or ``house``.
    whole_face : str
        What it is about where only a face is named: ``nothing``, ``fitting bands`` or ``everything``.
    does : str
        In words.
    """

    kind: str
    about: str
    whole_face: str
    does: str


@dataclass(frozen=True, slots=True)
class Proof:
    """What a method needs on a form of joint.

    Parameters
    ----------
    method, form : str
    before : tuple of str
        Kinds of entry that make the joint *prepared*.
    needs : tuple of str
        Steps that must all be there for *proved*.
    evidence : Evidence
    """

    method: str
    form: str
    before: tuple[str, ...]
    needs: tuple[str, ...]
    evidence: Evidence


ABOUT: Final[Mapping[str, About]] = {
    kind: About(kind, row["about"], row["whole_face"], row["does"])
    for row in _TABLE["entry"]
    for kind in row["kinds"]
}
PROOFS: Final[Mapping[tuple[str, str], Proof]] = {
    (method, row["joints"]): Proof(
        method,
        row["joints"],
        tuple(row["before"]),
        tuple(row["needs"]),
        Evidence(Mark.PRACTICE, row.get("source", "")),
    )
    for row in _TABLE["proof"]
    for method in row["methods"]
}
METHODS: Final[tuple[str, ...]] = tuple(dict.fromkeys(method for method, _ in PROOFS))
STEPS: Final[Mapping[str, str]] = _TABLE["step"]
PHOTOS: Final[Mapping[str, int]] = _TABLE["photos"]
REACH: Final[Mapping[str, float]] = {name: read(text) for name, text in _TABLE["reach"].items()}
LOT: Final[Mapping[str, float]] = {
    name: read(value) if isinstance(value, str) else float(value) for name, value in _TABLE["lot"].items()
}
FIVE_A_DAY: Final[int] = _TABLE["tape"]["five_a_day"]
THERE: Final = frozenset[str](_TABLE["stage"]["there"])
ENDS: Final[Mapping[str, frozenset[str]]] = {
    kind: frozenset(stages) for kind, stages in _TABLE["stage"].items() if kind != "there"
}
"""Kind of entry to the stages that it ends."""
_FLAT: Final[Mapping[str, Any]] = _TABLE["flat"]
_LEAST_FLAT: Final = read(_FLAT["least"])


def proof_of(method: str, form: str = "band") -> Proof:
    """Give what proves a method.

    Parameters
    ----------
    method : str
        Its key in the catalogue.
    form : str
        ``band`` or ``piece``.

    Returns
    -------
    Proof

    Raises
    ------
    InputError
        Where the table has no such method.

    Examples
    --------
    >>> proof_of("boot").needs, proof_of("boot", "piece").needs
    (('seen',), ('seen', 'photo'))
    """
    if (method, form) not in PROOFS:
        problem = Problem("no proof is known for this method", got=method, allowed=", ".join(METHODS))
        raise InputError("this method can't be proved", [problem])
    return PROOFS[method, form]


def takes_gauge(kind: str, section: tuple[float, float]) -> bool:
    """Say whether a piece has a flat part that takes the gauge.

    Parameters
    ----------
    kind : str
        Kind of joint.
    section : tuple of float
        Width and depth of what passes the layer [m].

    Examples
    --------
    >>> takes_gauge("pipe", (0.05, 0)), takes_gauge("rafter tail", (0.038, 0.184)), takes_gauge("rafter tail", (0.038, 0.038))
    (True, True, False)
    """
    if kind in _FLAT["never"]:
        return False
    return kind not in _FLAT["by_section"] or max(section) >= _LEAST_FLAT


def listing() -> dict[str, list[dict[str, str]]]:
    """Give the table as rows for people: entries, what proves each method, stages, figures, each with its mark.

    Examples
    --------
    >>> listing()["proofs"][0]
    {'method': 'liquid', 'joints': 'band', 'prepared_by': 'prepared; surface', 'needs': 'film lot proved', 'evidence': 'common practice, no source'}
    >>> [row["value"] for row in listing()["figures"] if row["name"] == "reach.same_spot"]
    ['12 in']
    """
    practice = str(Evidence(Mark.PRACTICE))
    entries = [
        {
            "entry": one.kind,
            "about": one.about,
            "whole_face": one.whole_face,
            "does": one.does,
            "evidence": practice,
        }
        for one in ABOUT.values()
    ]
    proofs = [
        {
            "method": one.method,
            "joints": one.form,
            "prepared_by": "; ".join(one.before),
            "needs": "; ".join(STEPS[step] for step in one.needs),
            "evidence": str(one.evidence),
        }
        for one in PROOFS.values()
    ]
    stages = [
        {"stage": stage, "entry": kind, "before": "not yet due", "evidence": practice}
        for kind, stages in ENDS.items()
        for stage in sorted(stages)
    ]
    figures = [
        {
            "name": row["name"],
            "value": str(_value(row["name"])),
            "says": row["words"],
            "evidence": str(Evidence(Mark(row["mark"]))),
        }
        for row in _TABLE["figure"]
    ]
    return {"entries": entries, "proofs": proofs, "stages": stages, "figures": figures}


def _value(name: str) -> Any:
    table, key = name.split(".")
    return _TABLE[table][key]
