"""Where entries are about, in words: also what stood on an earlier drawing alone, or went by another id."""

from __future__ import annotations

from collections.abc import Iterable

from hullwright.app.house import Source
from hullwright.app.issue import issued
from hullwright.app.log import Log
from hullwright.app.spoken import spoken
from hullwright.proof.entries import Entry


def said_places(log: Log, source: Source, entries: Iterable[Entry]) -> dict[str, str]:
    """Say of each entry where it is about.

    Parameters
    ----------
    log : Log
    source : path, Building or House
        The house as its file stands; what is not on it is said as the last issued drawing that has it does.
    entries : iterable of Entry

    Returns
    -------
    dict of str to str
        Words by the id of the entry; what is of no place is left out.
    """
    words, own = spoken(source), list(entries)
    said = [words.spot(entry.spot) for entry in own]
    if any(
        place in {entry.spot.joint, entry.spot.run} - {""} for entry, place in zip(own, said, strict=True)
    ):
        names = {
            name: joint.name
            for one in issued(log)
            for joint in one.drawing.joints
            for name in (joint.was, joint.id)
            if name and joint.name
        }
        said = [names.get(place, place) for place in said]
    return {entry.id: place for entry, place in zip(own, said, strict=True) if place}
