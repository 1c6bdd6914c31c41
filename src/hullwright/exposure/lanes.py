"""Faces cut into lanes down the slope: where water that falls or arrives on a face runs.

A lane is a band of a face that runs straight down it, between two places where anything begins or ends (a corner of the face, an
end of a joint, an edge of a pipe). A *stretch* is a part of a lane that lies on the face: water enters it at its head or falls on
it, and leaves it at its foot, over one side of the face. All faces are cut at once (see :mod:`hullwright.joints.scan`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.hull.model import FaceKind, Hull
from hullwright.joints.lanes import LEVEL_FACE, Axes, frames
from hullwright.joints.scan import crossings, ranges, shifts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

DRY: Final = frozenset(
    {
        FaceKind.GARAGE_WALL,
        FaceKind.PARTY_WALL,
        FaceKind.SHAFT_WALL,
        FaceKind.CEILING,
        FaceKind.FLOOR_OVER_AIR,
        FaceKind.GROUND,
    }
)
"""Faces that neither rain nor run-off reaches."""
CLOSE: Final = 2e-3
"""Points this close to the head or foot of a stretch lie at it [m]."""
_FINE: Final = 7  # digits of a metre that still tell two lanes apart


@dataclass(frozen=True, slots=True)
class Sides:
    """The straight sides of the faces that have lanes, in face coordinates.

    Parameters
    ----------
    edge : ndarray (E,)
        Number of the hull edge.
    face, other : ndarray (E,)
        Face number, and that of the face beyond.
    line : ndarray (E, 4)
        ``u0, v0, u1, v1``, the face on its left [m].
    """

    edge: Ints
    face: Ints
    other: Ints
    line: Floats

    @property
    def over(self) -> Floats:
        """How far each side runs across the slope, to the right at the foot of its face and to the left at its head (E,) [m]."""
        across: Floats = self.line[:, 2] - self.line[:, 0]
        return across

    @property
    def upright(self) -> NDArray[np.bool_]:
        """Sides that run up the slope."""
        return up_the_slope(self.over, self.line[:, 3] - self.line[:, 1])


def up_the_slope(across: Floats, up: Floats) -> NDArray[np.bool_]:
    """Whether lines run up the slope rather than across it, to 2 mm a metre."""
    found: NDArray[np.bool_] = np.abs(across) <= CLOSE * np.hypot(across, up)
    return found


@dataclass(frozen=True, slots=True)
class Lanes:
    """Lanes of all faces that water runs down, and their stretches.

    Parameters
    ----------
    faces : ndarray (n,)
        Their face numbers, ascending.
    axes : Axes
        Face coordinates, one row a face that has lanes.
    shift : float
        Width of the band of the u axis that each face has for itself [m].
    middle, width : ndarray (K,)
        Middle of each lane on the shifted u axis, ascending, and its width [m].
    face : ndarray (K,)
        Face number of each lane.
    lane : ndarray (S,)
        Lane of each stretch, ascending.
    low, high : ndarray (S,)
        v of its foot and head in the middle of the lane, ascending within a lane [m].
    foot, head : ndarray (S,)
        Side at its foot and head.
    sides : Sides
    """

    faces: Ints
    axes: Axes
    shift: float
    middle: Floats
    width: Floats
    face: Ints
    lane: Ints
    low: Floats
    high: Floats
    foot: Ints
    head: Ints
    sides: Sides

    def places(self, faces: Ints) -> Ints:
        """Place of faces among those that have lanes; -1: it has none."""
        at = np.searchsorted(self.faces, faces)
        at_most = np.minimum(at, len(self.faces) - 1)
        return np.where(self.faces[at_most] == faces, at_most, -1) if len(self.faces) else at - at - 1

    def flat(self, face: Ints, points: Floats) -> Floats:
        """Points (n, 3) in the coordinates of their faces (n, 2) [m]."""
        return _flat(self.axes, self.places(face), points)

    def lift(self, face: Ints, flat: Floats) -> Floats:
        """Points (n, 2) of faces in space (n, 3) [m]."""
        at = self.places(face)
        lifted: Floats = (
            self.axes.origin[at] + flat[:, :1] * self.axes.across[at] + flat[:, 1:] * self.axes.up[at]
        )
        return lifted

    def between(self, face: Ints, low: Floats, high: Floats) -> tuple[Ints, Ints]:
        """Lanes whose middle lies between `low` and `high` on their face's u axis [m]: which range, and the lane."""
        start = shifts(self.places(face), self.shift)
        first = np.searchsorted(self.middle, low + start)
        last = np.searchsorted(self.middle, high + start)
        return ranges(first, np.maximum(last - first, 0))

    def touching(self, face: Ints, low: Floats, high: Floats) -> tuple[Ints, Ints]:
        """Lanes that reach between `low` and `high` on their face's u axis [m]: which range, and the lane."""
        start = shifts(self.places(face), self.shift)
        first = np.searchsorted(self.middle + self.width / 2, low + start, side="right")
        last = np.searchsorted(self.middle - self.width / 2, high + start, side="left")
        return ranges(first, np.maximum(last - first, 0))

    def stretches(self, lanes: Ints) -> tuple[Ints, Ints]:
        """All stretches of lanes: which of the lanes asked for, and the stretch."""
        first = np.searchsorted(self.lane, lanes)
        return ranges(first, np.searchsorted(self.lane, lanes, side="right") - first)

    def local(self, lanes: Ints) -> Floats:
        """Middle of lanes on the u axis of their face [m]."""
        local: Floats = self.middle[lanes] - shifts(self.places(self.face[lanes]), self.shift)
        return local


def _flat(axes: Axes, place: Ints, points: Floats) -> Floats:
    rel = points - axes.origin[place]
    return np.stack(
        [np.einsum("ij,ij->i", rel, axes.across[place]), np.einsum("ij,ij->i", rel, axes.up[place])], axis=1
    )


def sloped(hull: Hull) -> Ints:
    """Numbers of the faces that water runs down."""
    return np.array(
        [
            number
            for number, face in enumerate(hull.faces)
            if face.kind not in DRY and LEVEL_FACE <= face.tilt <= 180 - LEVEL_FACE
        ],
        dtype=np.int64,
    )


def sides_of(hull: Hull, faces: Ints, axes: Axes) -> Sides:
    """Sides of faces, from the edges of the hull."""
    wanted = set(faces.tolist())
    rows = [
        (number, own, other, *ends)
        for number, edge in enumerate(hull.edges)
        for own, other, *ends in (
            (edge.left, edge.right, edge.start, edge.end),
            (edge.right, edge.left, edge.end, edge.start),
        )
        if own in wanted
    ]
    number, own, other = (np.array([row[k] for row in rows], dtype=np.int64) for k in range(3))
    start, end = (np.array([row[k] for row in rows], dtype=np.float64).reshape(-1, 3) for k in (3, 4))
    place = np.searchsorted(faces, own)
    line = np.concatenate([_flat(axes, place, start), _flat(axes, place, end)], axis=1)
    return Sides(number, own, other, line)


def cut(faces: Ints, axes: Axes, sides: Sides, breaks: Sequence[tuple[Ints, Floats]]) -> Lanes:
    """Cut faces into lanes.

    Parameters
    ----------
    faces : ndarray (n,)
        Face numbers, ascending.
    axes : Axes
    sides : Sides
    breaks : sequence of (face numbers, u)
        Where lanes begin and end besides the corners of the faces [m].

    Returns
    -------
    Lanes
    """
    place = np.searchsorted(faces, sides.face)
    shift = 4.0 * float(np.abs(sides.line).max(initial=1.0)) + 10.0
    edges = sides.line + np.array([1.0, 0.0, 1.0, 0.0]) * shifts(place, shift)[:, None]
    owners = [place, place, *(np.searchsorted(faces, face) for face, _ in breaks)]
    spots = [sides.line[:, 0], sides.line[:, 2], *(u for _, u in breaks)]
    left, right = (np.full(len(faces), sign * np.inf) for sign in (1, -1))
    np.minimum.at(left, place, np.minimum(sides.line[:, 0], sides.line[:, 2]))
    np.maximum.at(right, place, np.maximum(sides.line[:, 0], sides.line[:, 2]))
    owner, spot = np.concatenate(owners), np.concatenate(spots)
    spot = np.clip(spot, left[owner], right[owner])
    at = np.unique(np.round(spot + shifts(owner, shift), _FINE))
    middle, width = (at[1:] + at[:-1]) / 2, np.diff(at)
    whose = np.floor((middle + shift / 4) / shift).astype(np.int64)
    same = whose == np.floor((at[1:] - 1e-9 + shift / 4) / shift).astype(np.int64)
    same &= np.floor((at[:-1] + 1e-9 + shift / 4) / shift).astype(np.int64) == whose
    middle, width, whose = middle[same], width[same], whose[same]
    line, v, side = crossings(edges, middle)
    line, v, side = _pairs(line, v, side)
    low, high = v[::2], v[1::2]
    keep = high > low
    return Lanes(
        faces, axes, shift, middle, width, faces[whose], line[::2][keep], low[keep], high[keep],
        side[::2][keep], side[1::2][keep], sides,
    )  # fmt: skip


def _pairs(line: Ints, v: Floats, side: Ints) -> tuple[Ints, Floats, Ints]:
    """Leave out lanes that cross their face's outline an odd number of times: the hull is open there."""
    _, start, count = np.unique(line, return_index=True, return_counts=True)
    _, number = ranges(start, np.where(count % 2 == 0, count, 0))
    return line[number], v[number], side[number]


def laid(hull: Hull) -> tuple[Ints, Axes, Sides]:
    """Faces that water runs down, their axes and their sides."""
    faces = sloped(hull)
    axes = frames([hull.faces[number] for number in faces.tolist()])
    return faces, axes, sides_of(hull, faces, axes)
