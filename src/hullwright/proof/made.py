"""Which drawing was an entry made on, and what had been made by each drawing, as entries show."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import Final

from hullwright.proof.built import Built
from hullwright.proof.drawing import Drawing, Issued
from hullwright.proof.entries import Entry
from hullwright.proof.matching import match

CUTS: Final = frozenset(
    {
        "done", "prepared", "surface", "primed", "seen", "rolled", "probe", "smoke", "gauge reading", "film added", "cut", "width",
        "pull", "peel", "tug", "staples", "unit set", "trade through", "flaw", "mended", "photo", "hole", "hole sealed",
    }
)  # fmt: skip
"""Kinds of entry that show that what they are about had been made."""
_THERE_WITH_THE_WALL: Final = frozenset({"sheathing", "openings"})
"""Stages that an entry about a whole face speaks of; a later trade's hole is shown by its own entry only."""
PATCH_OF: Final = "/0."
"""Between the mark of what went away and the number of the revision that left its patch."""


def drawing_of(entry: Entry, row: Sequence[Issued]) -> int:
    """Give which of the issued drawings an entry was made on, counted from 0.

    Parameters
    ----------
    entry : Entry
    row : sequence of Issued
        All issued drawings, at least one.

    Returns
    -------
    int
        The one it names; where it names none, the one that was current by its device's clock, else the first.
    """
    for i, one in enumerate(row):
        if one.number == entry.spot.revision:
            return i
    offset = timedelta(seconds=entry.receipt.clock_offset or 0.0)
    made = entry.stamp.time - offset
    return max((i for i, one in enumerate(row) if one.time <= made), default=0)


def built_by(entries: Sequence[Entry], row: Sequence[Issued]) -> tuple[Built, ...]:
    """Give for each issued drawing what had been made by it.

    Parameters
    ----------
    entries : sequence of Entry
        Those that stand.
    row : sequence of Issued

    Returns
    -------
    tuple of Built
        What was cut stays cut while it is where it was; also where it went away on paper, came back, and nobody closed its hole.
    """
    marks: list[set[str]] = [set() for _ in row]
    joints: list[set[str]] = [set() for _ in row]
    for entry in entries:
        if entry.kind in CUTS:
            at = drawing_of(entry, row)
            marks[at].update(_marks(entry, row[at].drawing))
            joints[at].update(_joints(entry, row[at].drawing))
    for i in range(1, len(row)):
        for j in range(i - 1, -1, -1):
            closed = set().union(*joints[j + 1 : i])
            for was, now in match(row[j].drawing, row[i].drawing).unmoved:
                if was in marks[j] and not any(name.startswith(was + PATCH_OF) for name in closed):
                    marks[i].add(now)
    return tuple(Built(frozenset(m), frozenset(j)) for m, j in zip(marks, joints, strict=True))


def names_of(entry: Entry) -> set[str]:
    """Give the joints, runs and marks that an entry names, one by one or together."""
    of = entry.what.get("of")
    more = [name for name in of if isinstance(name, str)] if isinstance(of, (list, tuple)) else []
    return {entry.spot.joint, entry.spot.run, *more} - {""}


def _joints(entry: Entry, drawing: Drawing) -> Iterator[str]:
    """Joints that an entry names, one by one or by their run; a patch by its name alone, whether it is drawn or not."""
    names = names_of(entry)
    yield from (name for name in names if PATCH_OF in name)
    if names:
        yield from (joint.id for joint in drawing.joints if {joint.id, joint.was, joint.run} & names)
    elif entry.kind == "done" and entry.spot.face and not entry.spot.mark:
        yield from (joint.id for joint in drawing.joints if entry.spot.face in joint.faces)


def _marks(entry: Entry, drawing: Drawing) -> Iterator[str]:
    spot, names = entry.spot, names_of(entry)
    marks = {name.casefold() for name in (spot.mark, *names) if name}
    for joint in drawing.joints:
        if joint.mark and (joint.mark.casefold() in marks or {joint.id, joint.was, joint.run} & names):
            yield joint.mark
    if entry.kind == "done" and spot.face and not names and not spot.mark:
        yield from (
            part.mark
            for part in drawing.parts
            if part.face == spot.face and part.stage in _THERE_WITH_THE_WALL
        )
