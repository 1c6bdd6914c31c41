"""Was a drawing built before the next one came? Only then did what it took away leave the wall.

What moves on paper and moves back before anybody cut it changes nothing on the wall. What was cut at its new place did.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from hullwright.material.distributions import Floats
from hullwright.proof.drawing import Drawing, DrawnJoint, DrawnPart
from hullwright.proof.matching import SAME_PLACE, Matched

Box = tuple[Floats, Floats]
Span = tuple[float, float]
PATCH: Final = "patch"


@dataclass(frozen=True, slots=True)
class Built:
    """What entries show was made by one drawing.

    Parameters
    ----------
    marks : frozenset of str
        Openings, penetrations and attachments that had been cut or set.
    joints : frozenset of str
        Joints that somebody worked on.
    """

    marks: frozenset[str] = frozenset()
    joints: frozenset[str] = frozenset()


class Between:
    """A drawing between two others, and where it was built.

    Parameters
    ----------
    drawing : Drawing
    built : Built
    matched : Matched
        An earlier drawing laid on it.
    there : frozenset of str
        Its joints that the earlier drawing had too.
    """

    def __init__(self, drawing: Drawing, built: Built, matched: Matched, there: frozenset[str]) -> None:
        same = {now for _, now in matched.unmoved}
        self.shift = np.asarray(matched.shift)
        worked = [joint for joint in drawing.joints if joint.id in built.joints and joint.id not in there]
        parts = [part for part in drawing.parts if part.mark in built.marks and part.mark not in same]
        self.boxes: list[Box] = [_of_part(part) for part in parts]
        self.boxes += [_of_piece(joint) for joint in worked if joint.kind == PATCH]
        loose = {face for joint in worked if joint.kind != PATCH and not joint.mark for face in joint.faces}
        self.relaid = frozenset(pair.old for pair in matched.pairs if pair.new in loose)

    def kept(self, joint: DrawnJoint, start: float, end: float) -> list[Span]:
        """Give what of a stretch of a joint of the earlier drawing is still on the wall, though this drawing has none there.

        Parameters
        ----------
        joint : DrawnJoint
        start, end : float
            [m]

        Returns
        -------
        list of (float, float)
            Without what was cut or closed; nothing where joints of the same wall were laid otherwise and worked on.
        """
        if not joint.mark and self.relaid & set(joint.faces):
            return []
        points = np.asarray(joint.points, dtype=np.float64) + self.shift
        if joint.piece:
            hit = any(
                bool((low <= points[0]).all() and (points[0] <= high).all()) for low, high in self.boxes
            )
            return [] if hit else [(start, end)]
        left, reached = [(start, end)], 0.0
        for a, b in pairwise(points):
            length = float(np.linalg.norm(b - a))
            for box in self.boxes:
                span = _inside(a, b, box)
                if span is not None:
                    first, last = (reached + t * length for t in span)
                    left = [part for one in left for part in _cut(one, first, last)]
            reached += length
        return left


def _inside(a: Floats, b: Floats, box: Box) -> Span | None:
    """Between which shares of its length a line from `a` to `b` is in a box; None where it never is."""
    low, high = 0.0, 1.0
    for start, step, floor, top in zip(a, b - a, *box, strict=True):
        if abs(step) < 1e-12:
            if not floor <= start <= top:
                return None
            continue
        ends = sorted(((floor - start) / step, (top - start) / step))
        low, high = max(low, float(ends[0])), min(high, float(ends[1]))
    return (low, high) if low < high else None


def _cut(span: Span, first: float, last: float) -> list[Span]:
    parts = ((span[0], min(span[1], first)), (max(span[0], last), span[1]))
    return [part for part in parts if part[1] > part[0]]


def _of_part(part: DrawnPart) -> Box:
    points = np.asarray(part.outline, dtype=np.float64)
    reach = (part.width / 2 if len(part.outline) < 2 else 0.0) + SAME_PLACE.value
    return points.min(axis=0) - reach, points.max(axis=0) + reach


def _of_piece(joint: DrawnJoint) -> Box:
    points = np.asarray(joint.points, dtype=np.float64)
    reach = max(joint.width, joint.depth) / 2 + SAME_PLACE.value
    return points.min(axis=0) - reach, points.max(axis=0) + reach
