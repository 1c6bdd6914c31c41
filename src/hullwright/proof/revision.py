"""What does a new drawing change: what came, went, moved, changed size, or got another name only.

Things are told by their place, kind and size. A name, be it of a body, a wall or a mark, changes nothing on the wall.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

import numpy as np

from hullwright.proof.carry import Links, Span, links, without
from hullwright.proof.drawing import Drawing, DrawnFace, DrawnJoint, DrawnPart
from hullwright.proof.matching import SAME_PLACE, Matched, match, middle
from hullwright.proof.site import Stretch


class Change(StrEnum):
    """What can become of a thing."""

    CAME = "came"
    WENT = "went"
    MOVED = "moved"
    SIZED = "changed size"
    RENAMED = "renamed"


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is not as it was.

    Parameters
    ----------
    changes : tuple of Change
        In the order of :class:`Change`.
    sort : str
        ``wall or roof``, ``opening``, ``penetration`` or ``attachment``.
    kind : str
        Its kind as on the drawing.
    was, now : str
        Mark or face id on the old and on the new drawing; '' where it is not there.
    face : str
        Face it is on in the new drawing, else in the old.
    moved : float
        How far its middle moved [m].
    size_was, size_now : tuple of float or None
        Width and height [m]; None where it is not there, and for faces.
    """

    changes: tuple[Change, ...]
    sort: str
    kind: str
    was: str
    now: str
    face: str
    moved: float = 0.0
    size_was: tuple[float, float] | None = None
    size_now: tuple[float, float] | None = None

    @property
    def only_renamed(self) -> bool:
        """Whether nothing changed on the wall."""
        return self.changes == (Change.RENAMED,)

    def to_json(self) -> dict[str, Any]:
        """Give the difference."""
        return {
            "changes": [change.value for change in self.changes],
            "sort": self.sort,
            "kind": self.kind,
            "was": self.was,
            "now": self.now,
            "face": self.face,
            "moved_m": round(self.moved, 4),
            "size_was_m": None if self.size_was is None else list(self.size_was),
            "size_now_m": None if self.size_now is None else list(self.size_now),
        }


@dataclass(frozen=True, slots=True)
class Revision:
    """What lies between two drawings.

    Parameters
    ----------
    differences : tuple of Difference
    new : tuple of Stretch
        Of joints of the new drawing: where no joint of the kind was.
    gone : tuple of Stretch
        Of joints of the old drawing: where none is any more.
    renamed : mapping of str to str
        New id by the old, of joints that are where they were under another id.
    replanned : tuple of str
        Joints of the new drawing that are where they were, and planned otherwise.
    """

    differences: tuple[Difference, ...]
    new: tuple[Stretch, ...]
    gone: tuple[Stretch, ...]
    renamed: Mapping[str, str]
    replanned: tuple[str, ...]

    @property
    def nothing(self) -> bool:
        """Whether the two are the same drawing."""
        return not (self.differences or self.new or self.gone or self.renamed or self.replanned)

    @property
    def only_renamed(self) -> bool:
        """Whether nothing changed on the wall."""
        names = all(difference.only_renamed for difference in self.differences)
        return names and not self.new and not self.gone and not self.replanned

    def to_json(self) -> dict[str, Any]:
        """Give all that changed."""
        return {
            "differences": [difference.to_json() for difference in self.differences],
            "new": [stretch.to_json() for stretch in self.new],
            "gone": [stretch.to_json() for stretch in self.gone],
            "renamed": len(self.renamed),
            "replanned": list(self.replanned),
        }


def compare(old: Drawing, new: Drawing) -> Revision:
    """Say what a new drawing changes.

    Parameters
    ----------
    old, new : Drawing

    Returns
    -------
    Revision

    Examples
    --------
    >>> wall = DrawnFace("main/south", "main", "wall", (((0, 0, 0), (9, 0, 0), (9, 0, 3), (0, 0, 3)),))
    >>> def window(x):
    ...     corners = tuple((float(a), 0.0, b) for a, b in ((x, 1.0), (x + 1, 1.0), (x + 1, 2.0), (x, 2.0)))
    ...     return DrawnPart("W1", "opening", "window", "main/south", corners, 1.0, 1.0)
    >>> old, new = (Drawing("h", "", (wall,), (window(x),), ()) for x in (2.0, 2.3))
    >>> [(d.now, [change.value for change in d.changes], round(d.moved, 3)) for d in compare(old, new).differences]
    [('W1', ['moved'], 0.3)]
    """
    if old.shape == new.shape:
        return Revision((), (), (), {}, ())
    matched = match(old, new)
    forth, back = links([old, new]), links([new, old])
    return Revision(
        (*_faces(old, new, matched), *_parts(old, new, matched)),
        _lone(new.joints, back),
        _lone(old.joints, forth),
        _renamed(old.joints, forth, new),
        _replanned(old.joints, forth, new),
    )


def _lone(joints: Sequence[DrawnJoint], led: Links) -> tuple[Stretch, ...]:
    """Stretches that lead nowhere."""
    out: list[Stretch] = []
    for joint in joints:
        found = led.of.get(joint.id, ())
        if joint.piece or joint.length <= SAME_PLACE.value:
            out += [] if found else [Stretch(joint.id, 0.0, 0.0 if joint.piece else joint.length)]
            continue
        spans: list[Span] = [(link.start, link.end) for link in found]
        out += [Stretch(joint.id, start, end) for start, end in without((0.0, joint.length), spans)]
    return tuple(out)


def _renamed(joints: Sequence[DrawnJoint], forth: Links, new: Drawing) -> dict[str, str]:
    """Joints that are whole where they were, and go by another id."""
    out: dict[str, str] = {}
    for joint in joints:
        heirs = {link.joint for link in forth.of.get(joint.id, ())}
        if len(heirs) == 1 and joint.id not in heirs:
            heir = next(iter(heirs))
            if abs(new.by_id[heir].length - joint.length) <= 2 * SAME_PLACE.value:
                out[joint.id] = heir
    return out


def _replanned(joints: Sequence[DrawnJoint], forth: Links, new: Drawing) -> tuple[str, ...]:
    found = {
        link.joint
        for joint in joints
        for link in forth.of.get(joint.id, ())
        if _planned(new.by_id[link.joint]) != _planned(joint) and any(_planned(joint))
    }
    return tuple(sorted(found))


def _planned(joint: DrawnJoint) -> tuple[str, str, bool]:
    return joint.method, joint.product, joint.primer


def _faces(old: Drawing, new: Drawing, matched: Matched) -> list[Difference]:
    befores, nows = ({face.id: face for face in drawing.faces} for drawing in (old, new))
    same = {(pair.old, pair.new) for pair in matched.pairs if pair.same}
    shared = {(pair.old, pair.new) for pair in matched.pairs}
    out: list[Difference] = []
    for before, now in sorted(matched.faces.items()):
        changes = [Change.RENAMED] if before != now else []
        moved = 0.0
        if (before, now) not in same:
            ends = [_middle(face) for face in (befores[before], nows[now])]
            moved = float(np.linalg.norm(ends[1] - ends[0] - np.asarray(matched.shift)))
            changes = [Change.SIZED if (before, now) in shared else Change.MOVED, *changes]
        if changes:
            out.append(_face(tuple(changes), nows[now], before, now, moved))
    heirs = set(matched.faces.values())
    out += [_face((Change.WENT,), face, face.id, "") for face in old.faces if face.id not in matched.faces]
    out += [_face((Change.CAME,), face, "", face.id) for face in new.faces if face.id not in heirs]
    return out


def _face(changes: tuple[Change, ...], face: DrawnFace, was: str, now: str, moved: float = 0.0) -> Difference:
    return Difference(changes, "wall or roof", face.kind, was, now, face.id, moved)


def _middle(face: DrawnFace) -> Any:
    return np.asarray(face.loops[0], dtype=np.float64).mean(axis=0)


def _parts(old: Drawing, new: Drawing, matched: Matched) -> list[Difference]:
    out: list[Difference] = []
    for i, j in matched.parts:
        before, now = old.parts[i], new.parts[j]
        changes, moved = _part_changes(before, now, matched)
        if changes:
            out.append(
                Difference(
                    changes,
                    now.sort,
                    now.kind,
                    before.mark,
                    now.mark,
                    now.face,
                    moved,
                    _size(before),
                    _size(now),
                )
            )
    gone = set(range(len(old.parts))) - {i for i, _ in matched.parts}
    came = set(range(len(new.parts))) - {j for _, j in matched.parts}
    out += [_lone_part(Change.WENT, old.parts[i]) for i in sorted(gone)]
    out += [_lone_part(Change.CAME, new.parts[j]) for j in sorted(came)]
    return out


def _part_changes(before: DrawnPart, now: DrawnPart, matched: Matched) -> tuple[tuple[Change, ...], float]:
    near = SAME_PLACE.value
    step = middle(now) - middle(before) - np.asarray(matched.shift)
    moved = float(np.linalg.norm(step))
    sized = abs(before.width - now.width) > near or abs(before.height - now.height) > near
    anchored = sized and _anchored(before, now, matched)
    changes = [Change.MOVED] if moved > near and not anchored else []
    changes += [Change.SIZED] if sized else []
    changes += [Change.RENAMED] if before.mark != now.mark else []
    return tuple(changes), moved if Change.MOVED in changes else 0.0


def _anchored(before: DrawnPart, now: DrawnPart, matched: Matched) -> bool:
    """Whether a corner stayed where it was: then it only changed size."""
    a = np.asarray(before.outline, dtype=np.float64) + np.asarray(matched.shift)
    b = np.asarray(now.outline, dtype=np.float64)
    if a.shape != b.shape:
        return False
    return float(np.linalg.norm(a - b, axis=1).min()) <= SAME_PLACE.value


def _lone_part(change: Change, part: DrawnPart) -> Difference:
    went = change is Change.WENT
    return Difference(
        (change,),
        part.sort,
        part.kind,
        part.mark if went else "",
        "" if went else part.mark,
        part.face,
        0.0,
        _size(part) if went else None,
        None if went else _size(part),
    )


def _size(part: DrawnPart) -> tuple[float, float]:
    return part.width, part.height


def by_face(drawing: Drawing, stretches: Sequence[Stretch]) -> dict[str, list[Stretch]]:
    """Sort stretches of a drawing's joints by face; a joint between two faces stands under both."""
    out: dict[str, list[Stretch]] = defaultdict(list)
    for stretch in stretches:
        for face in drawing.by_id[stretch.joint].faces:
            out[face].append(stretch)
    return dict(out)
