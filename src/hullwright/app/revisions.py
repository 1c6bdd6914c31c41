"""What each revision changed, and what is to be patched and proved again because of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from hullwright.app.issue import Paper, differs, issued
from hullwright.app.log import Log
from hullwright.proof.built import Built
from hullwright.proof.carry import Span, links, without
from hullwright.proof.drawing import Drawing, Issued
from hullwright.proof.entries import Entry
from hullwright.proof.ledger import standing
from hullwright.proof.made import built_by
from hullwright.proof.matching import SAME_PLACE
from hullwright.proof.patches import Patch, not_closed, with_patches
from hullwright.proof.revision import Revision, by_face, compare
from hullwright.proof.site import Stretch

QUIET = frozenset({"nailing", "straps", "weather"})
"""Kinds of entry on a face that a change of the drawing does not touch."""


@dataclass(frozen=True, slots=True)
class Step:
    """A revision, and what it changed.

    Parameters
    ----------
    issued : Issued
    revision : Revision or None
        None for the first.
    worked_on : frozenset of str
        Faces of this drawing and the one before on which more than nailing had been logged.
    """

    issued: Issued
    revision: Revision | None
    worked_on: frozenset[str]

    def to_json(self) -> dict[str, Any]:
        """Give who issued it and what changed."""
        changed = None if self.revision is None else self.revision.to_json()
        return self.issued.to_json() | {"changed": changed, "worked_on": sorted(self.worked_on)}


@dataclass(frozen=True, slots=True)
class Revisions:
    """Answer of ``revisions``.

    Parameters
    ----------
    log : Log
    steps : tuple of Step
    differs : Revision or None
        What the building file as it stands changes, where it differs from what was issued last.
    again : mapping of str to tuple of Stretch
        By face of the last drawing, where work was logged: stretches that the last revision left without proof.
    patches : tuple of Patch
        Holes that revisions left in the wall and nobody closed yet, on the last drawing.
    """

    log: Log
    steps: tuple[Step, ...]
    differs: Revision | None
    again: Mapping[str, tuple[Stretch, ...]]
    patches: tuple[Patch, ...]

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``revisions --json``."""
        return {
            "schema": {"name": "revisions", "version": 1},
            "store": str(self.log.path),
            "house": self.log.house,
            "revision": self.steps[-1].issued.number if self.steps else 0,
            "revisions": [step.to_json() for step in self.steps],
            "differs": None if self.differs is None else self.differs.to_json(),
            "prove_again": {
                face: [stretch.to_json() for stretch in stretches] for face, stretches in self.again.items()
            },
            "patch_here": [patch.to_json() for patch in self.patches],
            "cautions": [],
        }


def revisions(log: Log, what: Paper | None) -> Revisions:
    """List the issued drawings of a house and what each changed.

    Parameters
    ----------
    log : Log
    what : Paper or None
        The building file as it stands; None where it can't be read now.

    Returns
    -------
    Revisions
    """
    row = issued(log)
    entries = standing(log.entries()).entries
    steps: list[Step] = []
    for i, one in enumerate(row):
        before = row[i - 1] if i else None
        revision = None if before is None else compare(before.drawing, one.drawing)
        steps.append(Step(one, revision, _worked_on(entries, row[max(i - 1, 0) : i + 1])))
    patched = with_patches(row, entries)[0]
    again: dict[str, tuple[Stretch, ...]] = {}
    last = steps[-1] if steps else None
    if last is not None and last.revision is not None:
        lost = _not_there_before(patched, last.revision.new, built_by(entries, patched))
        found = by_face(last.issued.drawing, lost)
        again = {face: tuple(found[face]) for face in sorted(found) if face in last.worked_on}
    changed = None if what is None else differs(row, what)
    return Revisions(log, tuple(steps), changed, again, not_closed(row, entries))


def _not_there_before(
    row: Sequence[Issued], new: Sequence[Stretch], built: Sequence[Built]
) -> tuple[Stretch, ...]:
    """Leave out what went away on paper only and came back: an earlier drawing has it, and nobody took it off the wall."""
    drawing = row[-1].drawing
    there: dict[str, list[Span]] = {}
    for i in range(len(row) - 2):
        for found in links([one.drawing for one in row[i:]], built[i:]).of.values():
            for link in found:
                there.setdefault(link.joint, []).append(
                    (min(link.first, link.last), max(link.first, link.last))
                )
    out: list[Stretch] = []
    for stretch in new:
        spans = there.get(stretch.joint, [])
        if drawing.by_id[stretch.joint].piece:
            out += [] if spans else [stretch]
        else:
            left = without((stretch.start, stretch.end), spans, least=2 * SAME_PLACE.value)
            out += [Stretch(stretch.joint, start, end) for start, end in left]
    return tuple(out)


def _worked_on(entries: Sequence[Entry], drawings: Sequence[Issued]) -> frozenset[str]:
    """Faces of these drawings on which more than nailing was logged."""
    named = [entry for entry in entries if entry.kind not in QUIET]
    return frozenset(face for one in drawings for entry in named for face in _faces(entry, one.drawing))


def _faces(entry: Entry, drawing: Drawing) -> tuple[str, ...]:
    joint = drawing.by_id.get(entry.spot.joint)
    if joint is not None:
        return joint.faces
    return (entry.spot.face,) if entry.spot.face in drawing.face_ids else ()
