"""What was logged about one joint so far."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from hullwright.app.heads import head
from hullwright.app.house import Source
from hullwright.app.log import Log
from hullwright.app.refusals import UnknownError
from hullwright.app.site import any_joint, catalog_of, opened, site_house
from hullwright.app.spoken import on_drawing
from hullwright.app.told import told
from hullwright.errors import Problem, Where
from hullwright.proof.ledger import Fate
from hullwright.proof.sofar import Over, Told
from hullwright.proof.sofar import so_far as told_so_far
from hullwright.units import Show

_FATES: Final = {
    Fate.CORRECTED: "↻ corrected by",
    Fate.WITHDRAWN: "✕ withdrawn by",
    Fate.PASSED_OVER: "✕ not chosen by",
}
_OVER: Final = {Over.JOINT: "", Over.FACE: "whole face", Over.LOT: "first strip of the lot"}


@dataclass(frozen=True, slots=True)
class SoFar:
    """Entries about a joint.

    Parameters
    ----------
    joint : str
    told : tuple of Told
        The latest first.
    words : tuple of str
        Each in trade words, in the units of the building file.
    """

    joint: str
    told: tuple[Told, ...]
    words: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """Give the joint and its entries."""
        entries = [
            one.to_json() | {"words": words, "aside": _aside(one), "back": _back(one)}
            for one, words in zip(self.told, self.words, strict=True)
        ]
        return head("joint entries") | {"joint": self.joint, "entries": entries, "cautions": []}


def _aside(one: Told) -> str:
    off = "that clock was off" if one.account.entry.clock_off else ""
    return ", ".join(words for words in (_OVER[one.over], off) if words)


def _back(one: Told) -> str:
    by, fate = one.account.by, one.account.fate
    if by is None or fate is Fate.STANDS:
        return ""
    reason = by.what.get("reason", "")
    return f"{_FATES[fate]} {by.stamp.author}{f': {reason}' if reason else ''}"


def so_far(log: Log, building: Source, joint: str) -> SoFar:
    """Give what was logged about a joint so far.

    Parameters
    ----------
    log : Log
    building : path, Building or House
    joint : str
        Its full id.

    Returns
    -------
    SoFar

    Raises
    ------
    UnknownError
        Where the house has no such joint.
    """
    house = opened(building)
    found = any_joint(house, joint)
    if found is None:
        problem = Problem("unknown joint", Where(key="joint"), joint[:200], "an id of this house's joints")
        raise UnknownError("there is no such joint", [problem])
    entries = told_so_far(found, on_drawing(log.entries(), house), site_house(house))
    show = Show(house.building.system)
    methods = {name: one.name for name, one in catalog_of(house).methods.items()}
    return SoFar(found.id, entries, tuple(told(one.account.entry, show, methods) for one in entries))
