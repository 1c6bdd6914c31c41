"""After the house was edited: every entry whose joint is gone gets the joint that lies nearest, where there is one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hullwright.app.house import Source, load
from hullwright.app.log import Log, settle
from hullwright.app.on_drawing import on_drawing
from hullwright.proof.entries import Spot
from hullwright.proof.place import Proposal, needs_place


@dataclass(frozen=True, slots=True)
class Settled:
    """What became of the entries that needed a place.

    Parameters
    ----------
    log : Log
    settled, left : tuple of Proposal
        Entries that have a joint again; entries with no joint of their kind near.
    """

    log: Log
    settled: tuple[Proposal, ...]
    left: tuple[Proposal, ...]

    @property
    def exit_code(self) -> int:
        """0 where nothing is left."""
        return 1 if self.left else 0

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``log settle --proposed --json``."""
        return {
            "schema": {"name": "log settle", "version": 1},
            "store": str(self.log.path),
            "house": self.log.house,
            "settled": [item.to_json() for item in self.settled],
            "needs_place": [item.to_json() for item in self.left],
            "cautions": [],
        }


def settle_proposed(log: Log, building: Source, *, author: str) -> Settled:
    """Take every proposal of :func:`hullwright.proof.place.needs_place` that names a joint.

    Parameters
    ----------
    log : Log
    building : path or Building
    author : str
        The person who takes them.

    Returns
    -------
    Settled
    """
    on = on_drawing(log, load(building))
    kinds = on.drawing.by_id
    found = needs_place(on.record.now, on.lines)
    for item in found:
        if item.joint is not None:
            joint = kinds[item.joint]
            settle(log, item.entry.id, Spot(joint.id, joint.kind, joint.faces[0]), author=author)
    settled = tuple(item for item in found if item.joint is not None)
    return Settled(log, settled, tuple(item for item in found if item.joint is None))
