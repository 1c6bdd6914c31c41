"""Which joint does an entry belong to after the house was edited.

An entry whose joint is gone stands under *needs a place*. The nearest joint of the same kind is proposed from the stored
place; a person decides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from hullwright.evidence import ESTIMATE, Figure
from hullwright.material.distributions import Floats
from hullwright.proof.entries import Entry
from hullwright.proof.ledger import standing

NEAR: Final = Figure(1.0, "m", ESTIMATE)  # a proposal further away is not made


@dataclass(frozen=True, slots=True)
class JointLine:
    """A joint of the house as it is now.

    Parameters
    ----------
    id, kind, face : str
    points : ndarray (k, 3)
        [m]; one point for a piece.
    """

    id: str
    kind: str
    face: str
    points: Floats


@dataclass(frozen=True, slots=True)
class Proposal:
    """An entry without a joint, and the joint it may belong to.

    Parameters
    ----------
    entry : Entry
    joint : str or None
        None where no joint of its kind is near.
    distance : float or None
        [m]
    """

    entry: Entry
    joint: str | None
    distance: float | None

    def to_json(self) -> dict[str, Any]:
        """Give the entry's id and the proposal."""
        return {
            "entry": self.entry.id,
            "kind": self.entry.kind,
            "was": self.entry.spot.joint,
            "joint": self.joint,
            "distance_m": self.distance,
        }


def needs_place(entries: Sequence[Entry], joints: Sequence[JointLine]) -> tuple[Proposal, ...]:
    """Give the entries whose joint is gone, with a proposal each.

    Parameters
    ----------
    entries : sequence of Entry
        All entries of the house.
    joints : sequence of JointLine
        The house as it is now.

    Returns
    -------
    tuple of Proposal

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from hullwright.proof.entries import Spot, Stamp
    >>> entry = Entry("e", "photo", Stamp("lead", "p", datetime(2024, 5, 3, tzinfo=UTC), 1),
    ...               Spot("old", "opening head", "F", (1.0, 0.0, 2.1)), {"sha256": "0" * 64})
    >>> head = JointLine("new", "opening head", "F", np.array([[0.9, 0.0, 2.0], [2.0, 0.0, 2.0]]))
    >>> proposal = needs_place([entry], [head])[0]
    >>> proposal.joint, round(proposal.distance, 3)
    ('new', 0.1)
    """
    here = {joint.id for joint in joints}
    now = standing(entries).entries
    return tuple(
        _propose(entry, joints) for entry in now if entry.spot.joint and entry.spot.joint not in here
    )


def distance_to(place: Sequence[float], points: Floats) -> float:
    """Give the distance of a place from a polyline [m].

    Examples
    --------
    >>> distance_to((1, 1, 0), np.array([[0.0, 0, 0], [2.0, 0, 0]]))
    1.0
    """
    at = np.asarray(place, dtype=np.float64)
    if len(points) == 1:
        return float(np.linalg.norm(points[0] - at))
    start, along = points[:-1], np.diff(points, axis=0)
    length = np.maximum((along**2).sum(axis=1), 1e-18)
    t = np.clip(((at - start) * along).sum(axis=1) / length, 0.0, 1.0)
    return float(np.linalg.norm(start + t[:, None] * along - at, axis=1).min())


def _propose(entry: Entry, joints: Sequence[JointLine]) -> Proposal:
    place = entry.spot.place
    if place is None:
        return Proposal(entry, None, None)
    like = [joint for joint in joints if joint.kind == entry.spot.kind]
    best = min(((distance_to(place, joint.points), joint.id) for joint in like), default=None)
    if best is None or best[0] > NEAR.value:
        return Proposal(entry, None, None)
    return Proposal(entry, best[1], best[0])
