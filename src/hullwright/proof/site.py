"""What the proof knows of the house, and where on it an entry is found to be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from hullwright.proof.entries import Entry
from hullwright.proof.held import Sheets
from hullwright.proof.lots import Need
from hullwright.proof.rules import PHOTOS

Point = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class SiteJoint:
    """What the proof must know of a joint.

    Parameters
    ----------
    id, kind : str
    faces : tuple of str
        Faces on both sides.
    length : float
        [m]; 0 for a piece.
    method : str
        Planned method; '' where there is no plan.
    place : tuple of float
        A point of the joint [m].
    primer : bool
        Whether the plan asks for primer.
    points : tuple of Point
        Polyline [m]; one point for a piece; empty where nobody asks for places.
    product : str
        Planned product.
    stage : str
        When it comes into existence.
    mark : str
        Of the opening or penetration it hangs on.
    run : str
    section : tuple of float
        Width and depth of what passes the layer [m]; depth 0 where round.
    was : tuple of str
        Ids that it had before.
    """

    id: str
    kind: str
    faces: tuple[str, ...]
    length: float
    method: str
    place: Point = (0.0, 0.0, 0.0)
    primer: bool = False
    points: tuple[Point, ...] = ()
    product: str = ""
    stage: str = "sheathing"
    mark: str = ""
    run: str = ""
    section: tuple[float, float] = (0.0, 0.0)
    was: tuple[str, ...] = ()

    @property
    def piece(self) -> bool:
        """Whether it is a piece, proved one by one; else a band, proved by its length."""
        return self.length == 0

    @property
    def form(self) -> str:
        """Form by the table of rules: ``band`` or ``piece``."""
        return "piece" if self.piece else "band"


@dataclass(frozen=True, slots=True)
class Stretch:
    """Part of a joint of the current drawing.

    Parameters
    ----------
    joint : str
    start, end : float
        Along the joint [m]; 0, 0 for a piece.
    """

    joint: str
    start: float
    end: float

    def to_json(self) -> dict[str, Any]:
        """Give joint and ends."""
        return {"joint": self.joint, "from_m": round(self.start, 4), "to_m": round(self.end, 4)}


@dataclass(frozen=True, slots=True)
class Located:
    """An entry, and what it is about on the current drawing.

    Parameters
    ----------
    entry : Entry
    stretches : tuple of Stretch
        What it is about; empty where it is about a face, the house, or nothing that can be found.
    place : tuple of float or None
        Place on the wall [m].
    faces : tuple of str
        Faces that it is about as a whole.
    left_out : tuple of (str, str)
        Joints that it named and does not take, with the reason.
    lacking : str
        '' or why it proves nothing: *needs a place*, *held for review*.
    """

    entry: Entry
    stretches: tuple[Stretch, ...] = ()
    place: Point | None = None
    faces: tuple[str, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    lacking: str = ""

    @property
    def joints(self) -> tuple[str, ...]:
        """Joints that it is about, each once."""
        return tuple(dict.fromkeys(stretch.joint for stretch in self.stretches))

    def to_json(self) -> dict[str, Any]:
        """Give what was left out, or why it proves nothing."""
        return {
            "entry": self.entry.id,
            "kind": self.entry.kind,
            "joints": list(self.joints),
            "left_out": [{"joint": joint, "why": why} for joint, why in self.left_out],
            "lacking": self.lacking,
        }


@dataclass(frozen=True, slots=True)
class Later:
    """A hole that a later trade is planned to make.

    Parameters
    ----------
    id, face, text : str
    joint : str
        Joint that it will be; '' where the plan has none yet.
    """

    id: str
    face: str
    text: str
    joint: str = ""


@dataclass(frozen=True, slots=True)
class House:
    """What the proof must know of the house.

    Parameters
    ----------
    joints : tuple of SiteJoint
    later : tuple of Later
        Planned holes of later trades, all.
    photos_here : frozenset of str, optional
        Hashes of photos that arrived; None where that is not asked.
    unnailed : frozenset of str
        Faces on which nothing is nailed.
    photos : mapping of str to int
        Plan of photos: how many a face, opening, group of penetrations, row of tails.
    needs : mapping of str to Need
        Least film by product id, or by method where no product is named.
    sheets : Sheets or None
        Products and methods that are known; what names another is held for review.
    """

    joints: tuple[SiteJoint, ...]
    later: tuple[Later, ...] = ()
    photos_here: frozenset[str] | None = field(default=None)
    unnailed: frozenset[str] = frozenset()
    photos: Mapping[str, int] = field(default_factory=lambda: MappingProxyType(dict(PHOTOS)))
    needs: Mapping[str, Need] = field(default_factory=lambda: MappingProxyType({}))
    sheets: Sheets | None = None

    def on_face(self, face: str) -> tuple[SiteJoint, ...]:
        """Give the joints that lie on a face or at its edge."""
        return tuple(joint for joint in self.joints if face in joint.faces)
