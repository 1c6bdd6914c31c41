"""Places of a log in words that people read, and entries of before on the drawing of today."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from hullwright.app.house import House, Source, load
from hullwright.app.spots import along
from hullwright.errors import HullwrightError
from hullwright.joints.lookup import find, one
from hullwright.joints.renamed import kind
from hullwright.joints.short import say
from hullwright.joints.words import speaker
from hullwright.proof.entries import Entry, Spot
from hullwright.units import Show


@dataclass(frozen=True, slots=True)
class Spoken:
    """Says places of one house.

    Parameters
    ----------
    house : House or None
        None where its file can't be read: then ids are said.
    """

    house: House | None

    def joint(self, name: str) -> str:
        """Say a joint by its id, of today or of before; what is not on the drawing keeps its id."""
        found = None if self.house is None else self.house.lookup.joint(name)
        return name if found is None or self.house is None else say(found, Show(self.house.building.system))

    def spot(self, spot: Spot) -> str:
        """Say where an entry is about: its joint and the place on it, else its face."""
        if not spot.joint and (spot.run or spot.mark):
            return self.run(spot.run) if spot.run else spot.mark
        if not spot.joint:
            return self.face(spot.face)
        found = None if self.house is None else self.house.lookup.joint(spot.joint)
        if found is None or self.house is None:
            return spot.joint
        at = None if spot.place is None else along(np.asarray(found.points), spot.place)
        return say(found, Show(self.house.building.system), at)

    def run(self, name: str) -> str:
        """Say a run by its id, of today or of before; what is not on the drawing keeps its id."""
        found = None if self.house is None else self.house.lookup.run(name)
        return name if found is None else found.name

    def face(self, name: str) -> str:
        """Give today's id of a face."""
        return name if self.house is None else self.house.lookup.face(name) or name

    def wall(self, name: str) -> str:
        """Say a face, such as ``east wall``; what is not on the drawing keeps its id."""
        found = None if self.house is None else self.house.lookup.faces.get(name)
        return name if found is None or self.house is None else speaker(self.house.hull).faces([found])

    def any(self, name: str) -> str:
        """Say whatever is named: a joint, an opening or penetration by its mark, a run or a face."""
        if self.house is None:
            return name
        if self.house.lookup.joint(name) is not None:
            return self.joint(name)
        marked = [joint.name for joint in self.house.lookup.marked(name)]
        if marked:
            return marked[0].rpartition(", ")[0] if len(marked) > 1 else marked[0]
        return self.run(name) if self.house.lookup.run(name) is not None else self.wall(name)


def spoken(source: Source) -> Spoken:
    """Make the words for a house.

    Parameters
    ----------
    source : path, Building or House
        Its file may be wrong: then ids are said.
    """
    try:
        house = load(source)
        _ = house.joints
    except HullwrightError:
        return Spoken(None)
    return Spoken(house)


def joint_names(source: Source, text: str) -> frozenset[str]:
    """Give every name in a log of the joint that a person means.

    Parameters
    ----------
    source : path, Building or House
    text : str
        Its id of today or of before, its mark or words, or how one of these begins. What is on no drawing of today stands for itself.

    Raises
    ------
    InputError
        Where several joints may be meant.
    """
    house = spoken(source).house if text else None
    if house is None or not (found := find(text, house.joints.joints)):
        return frozenset({text} - {""})
    return frozenset({(meant := found[0] if len(found) == 1 else one(text, found)).id, meant.was})


def face_names(source: Source, text: str) -> frozenset[str]:
    """Give every name in a log of the face that a person means; one that is on no drawing of today stands for itself."""
    house = spoken(source).house if text else None
    found = None if house is None else house.lookup.faces.get(text)
    return frozenset({text} - {""}) if found is None else frozenset({found.id, found.was})


def on_drawing(entries: Iterable[Entry], house: House) -> tuple[Entry, ...]:
    """Give entries with joints, kinds and faces as the drawing of today names them; the entries in the log stay as they were sent.

    Parameters
    ----------
    entries : iterable of Entry
        Of today or of before.
    house : House

    Returns
    -------
    tuple of Entry
        A joint or face that is not on the drawing keeps its name: the entry then needs a place.
    """
    return tuple(_on_drawing(entry, house) for entry in entries)


def _on_drawing(entry: Entry, house: House) -> Entry:
    spot = entry.spot
    joint = house.lookup.joint(spot.joint) if spot.joint else None
    named = replace(
        spot,
        joint=spot.joint if joint is None else joint.id,
        kind=kind(spot.kind),
        face=house.lookup.face(spot.face) or spot.face,
    )
    return entry if named == spot else replace(entry, spot=named)
