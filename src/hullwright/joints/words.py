"""What people read in place of ids: "east wall, horizontal seam 2", "south wall, window W3, head"."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from hullwright.hull.model import Face, FaceKind, Hull
from hullwright.joints.draft import Draft
from hullwright.joints.model import JointKind, Run

_NOUN: Final = {
    FaceKind.WALL: "wall",
    FaceKind.BASEMENT_WALL: "foundation wall",
    FaceKind.SLAB_EDGE: "slab edge",
    FaceKind.GARAGE_WALL: "garage wall",
    FaceKind.PARTY_WALL: "party wall",
    FaceKind.SHAFT_WALL: "shaft wall",
    FaceKind.ROOF: "roof",
    FaceKind.FLAT_ROOF: "roof",
    FaceKind.PARAPET_INSIDE: "parapet inside",
    FaceKind.PARAPET_TOP: "parapet top",
    FaceKind.CEILING: "ceiling",
    FaceKind.FLOOR_OVER_AIR: "floor over air",
}
PARTS: Final = {
    1: "sill",
    2: "right jamb",
    3: "head",
    4: "left jamb",
    11: "lower left corner",
    12: "lower right corner",
    13: "upper right corner",
    14: "upper left corner",
}
"""Parts of an opening by their number in ids, seen from outside."""
CURB: Final = {1: "lower curb", 2: "right curb", 3: "upper curb", 4: "left curb"}
_SPREAD: Final = frozenset({JointKind.OVERDRIVEN, JointKind.OVERDRIVEN_COVERED, JointKind.PARTITION_PLATE})


@dataclass(frozen=True, slots=True)
class Speaker:
    """Words for the faces, joints and runs of one house.

    Parameters
    ----------
    hull : Hull
    alone : bool
        One body only: its name need not be said.
    """

    hull: Hull
    alone: bool

    def faces(self, faces: Sequence[Face]) -> str:
        """Say faces, the name of a body once.

        Parameters
        ----------
        faces : sequence of Face
        """
        said: list[str] = []
        body = ""
        for face in faces:
            named = "" if self.alone or face.mass == body else f"{face.mass} "
            body = face.mass
            said.append(named + _face(face))
        return " + ".join(said)

    def joint(self, draft: Draft) -> str:
        """Say a joint.

        Parameters
        ----------
        draft : Draft
            With its numbers.
        """
        faces = [self.hull.faces[number] for number in draft.faces]
        where = self.faces(faces[:1]) if draft.title or len(faces) == 1 else self.faces(faces)
        what = draft.title or draft.kind.value
        numbered = draft.number and not draft.title and draft.kind not in _SPREAD
        return f"{where}, {what}" + (f" {draft.number}" if numbered else "")

    def run(self, run: Run, face: Face) -> str:
        """Say a run: its face, its kind, and what sets it apart from others of its kind there.

        Parameters
        ----------
        run : Run
        face : Face
        """
        more: list[str] = [run.stage] if run.stage not in {"sheathing", "openings"} else []
        if run.substrates[1] != run.substrates[0]:
            more.append(f"to {run.substrates[1]}")
        more += [] if run.backed else ["no backing"]
        more += [] if run.rigid else ["moving"]
        more += ["rated"] if run.rated and not face.rated else []
        more += ["at the edge"] if run.at_edge else []
        return ", ".join([self.faces([face]), run.kind.value, *more])


def speaker(hull: Hull) -> Speaker:
    """Give the words of a house.

    Parameters
    ----------
    hull : Hull
    """
    return Speaker(hull, len({face.mass for face in hull.faces}) == 1)


def titled(kind: str, mark: str, own: str) -> str:
    """Say a thing by its kind and mark, with the name that the user gave it.

    Parameters
    ----------
    kind, mark : str
    own : str
        Its name in the house; made-up ones (with a slash) are not said.

    Examples
    --------
    >>> titled("window", "W3", "main/south/1/window 2"), titled("duct", "P7", "dryer")
    ('window W3', 'duct P7 (dryer)')
    """
    if not mark:
        return f"{kind} {own}"
    return f"{kind} {mark}" + (f" ({own})" if "/" not in own and own != kind else "")


def _face(face: Face) -> str:
    noun = _NOUN.get(face.kind) or face.id.partition("/")[2] or face.id
    side, _, rank = face.side.rpartition(" ")
    if not rank.isdigit():
        side, rank = face.side, ""
    words = [side, noun, rank, "at garage" if face.cold and face.kind is not FaceKind.GARAGE_WALL else ""]
    words.append(f"face {face.number}" if face.number > 1 else "")
    return " ".join(word for word in words if word)
