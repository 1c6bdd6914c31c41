"""Floor lines: where the walls of a story stand on what is below.

Across a wall that runs on below; along the foot of one that is set back (on the lower roof) or hangs out (over the soffit).
Where the roof of a lower body covers the foot, the line follows the joint between that roof and the wall. Where a body beside
has a floor of its own at the level, both are one framing and the line runs round both.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from hullwright.hull.model import Edge, Face, FaceKind, Floats, FloorLine
from hullwright.hull.stories import StoryFloor

WALLS: Final = frozenset({FaceKind.WALL, FaceKind.GARAGE_WALL, FaceKind.PARTY_WALL, FaceKind.SHAFT_WALL})
HAIR: Final = 1e-4
LEVEL: Final = 1e-3
"""Heights that differ by less are one [m]: rounding of drawn figures."""

_FLUSH: Final = 1.0  # deg
_STEEP: Final = 0.9999  # rise per length from which an edge is upright
_COVERS: Final = frozenset(
    {
        FaceKind.ROOF,
        FaceKind.FLAT_ROOF,
        FaceKind.CEILING,
        FaceKind.PARAPET_TOP,
        FaceKind.PARAPET_INSIDE,
    }
)
_ON_CONCRETE: Final = frozenset({FaceKind.GROUND, FaceKind.SLAB_EDGE, FaceKind.BASEMENT_WALL})
Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch of a floor line in the coordinates of its face: from, to, height at both ends."""

    left: float
    right: float
    low: float
    high: float
    mass: str
    storey: int
    edge: int


@dataclass(frozen=True, slots=True)
class Framing:
    """How the house is framed.

    Parameters
    ----------
    floors : tuple of StoryFloor
        Sorted by body.
    own : frozenset of str
        Bodies framed by themselves.
    rim : float
        Depth of the floor framing [m]: floors no farther apart are one.
    """

    floors: tuple[StoryFloor, ...]
    own: frozenset[str]
    rim: float


def floor_lines(faces: Sequence[Face], edges: Sequence[Edge], framing: Framing) -> Iterable[FloorLine]:
    """Give every floor line.

    Parameters
    ----------
    faces, edges : sequence
        Of the hull.
    framing : Framing
        Where bodies share a stretch of wall and a floor, the line is given once, to the one that comes first by name.

    Yields
    ------
    FloorLine
        By face, from left to right.
    """
    below = _feet(faces, edges)
    sides = _Sides(framing.floors)
    for number, face in enumerate(faces):
        if face.kind not in WALLS:
            continue
        taken: list[_Piece] = []
        spans = _Levels(face)
        for floor, side in sides.on(face):
            for piece in (*_across(spans, floor, side), *_along(floor, side, below[number], framing)):
                taken += _free_of(piece, taken, framing.rim)
        for piece in _joined(taken):
            start, end = face.frame.lift(
                np.array([[piece.left, piece.low], [piece.right, piece.high]]) - [0.0, _foot(face)]
            )
            yield FloorLine(number, start, end, piece.mass, piece.storey, piece.edge)


def _foot(face: Face) -> float:
    return float(face.frame.origin[2])


@dataclass(frozen=True, slots=True)
class _Foot:
    """An edge that a wall stands on: from, to and heights in the wall's coordinates, and what is on the other side."""

    number: int
    left: float
    right: float
    low: float
    high: float
    other: Face
    flush: bool


def _feet(faces: Sequence[Face], edges: Sequence[Edge]) -> dict[int, list[_Foot]]:
    """Edges along the lower side of each wall: there the face lies to the left of its way, above it."""
    out: dict[int, list[_Foot]] = defaultdict(list)
    for number, edge in enumerate(edges):
        for own, other, start, end in (
            (edge.left, edge.right, edge.start, edge.end),
            (edge.right, edge.left, edge.end, edge.start),
        ):
            face = faces[own]
            if face.kind not in WALLS or abs(float(end[2] - start[2])) > _STEEP * edge.length:
                continue
            (left, low), (right, high) = face.frame.drop(np.array([start, end])).tolist()
            if right > left:
                up, flush = _foot(face), abs(edge.dihedral) < _FLUSH
                out[own].append(_Foot(number, left, right, low + up, high + up, faces[other], flush))
    return out


class _Levels:
    """Level lines across a face, each height worked out once."""

    def __init__(self, face: Face) -> None:
        self.loops = [face.frame.drop(loop) for loop in face.loops]
        self.foot = _foot(face)
        self.known: dict[float, list[Span]] = {}

    def at(self, height: float) -> list[Span]:
        """Stretches that have the face above and below."""
        if height not in self.known:
            y = height - self.foot
            both = [
                (max(above[0], below[0]), min(above[1], below[1]))
                for above in _level_spans(self.loops, y, LEVEL)
                for below in _level_spans(self.loops, y, -LEVEL)
            ]
            self.known[height] = [span for span in both if span[1] - span[0] > HAIR]
        return self.known[height]


def _across(levels: _Levels, floor: StoryFloor, side: Span) -> Iterable[_Piece]:
    """Stretches of a level line that have the face above and below."""
    for span in levels.at(floor.height):
        left, right = max(span[0], side[0]), min(span[1], side[1])
        if right - left > HAIR:
            yield _Piece(left, right, floor.height, floor.height, floor.mass.id, floor.storey, -1)


def _along(floor: StoryFloor, side: Span, feet: Sequence[_Foot], framing: Framing) -> Iterable[_Piece]:
    """Stretches of edges that the wall of a story stands on."""
    for foot in feet:
        rise = (foot.high - foot.low) / (foot.right - foot.left)
        left, right = max(foot.left, side[0]), min(foot.right, side[1])
        if abs(foot.high - foot.low) < LEVEL:
            if not floor.height - LEVEL <= foot.low < floor.top - LEVEL:
                continue
        else:
            ends = sorted((height - foot.low) / rise + foot.left for height in (floor.height, floor.top))
            left, right = max(left, ends[0]), min(right, ends[1])
        if right - left <= HAIR:
            continue
        low, high = (foot.low + rise * (x - foot.left) for x in (left, right))
        if _stands(floor, foot, max(low, high), framing):
            yield _Piece(left, right, low, high, floor.mass.id, floor.storey, foot.number)


def _stands(floor: StoryFloor, foot: _Foot, height: float, framing: Framing) -> bool:
    """Whether an edge is where the story's wall stands on what carries it, or comes out of a roof beside it."""
    if foot.other.kind in _ON_CONCRETE:
        return False
    if height <= floor.height + LEVEL:
        return True
    beside = {name for name in foot.other.masses if name != floor.mass.id}
    if floor.in_roof or foot.flush or foot.other.kind not in _COVERS or not beside:
        return False
    if floor.mass.id in framing.own or beside & framing.own:
        return False
    return not any(
        other.mass.id in beside and other.height > floor.height - framing.rim for other in framing.floors
    )


def _level_spans(loops: Sequence[Floats], y: float, to: float) -> list[Span]:
    """Stretches of a level line with the face just above (`to` > 0) or just below it; corners within `to` lie on it."""
    crossings = []
    for loop in loops:
        for (x1, y1), (x2, y2) in zip(loop.tolist(), np.roll(loop, -1, axis=0).tolist(), strict=True):
            if (y1 <= y + to) != (y2 <= y + to):
                share = min(max((y - y1) / (y2 - y1), 0.0), 1.0)
                crossings.append(x1 + share * (x2 - x1))
    crossings.sort()
    return [(a, b) for a, b in zip(crossings[::2], crossings[1::2], strict=True) if b - a > HAIR]


class _Sides:
    """Sides of the bodies that have floors, as columns."""

    def __init__(self, floors: Sequence[StoryFloor]) -> None:
        self.floors: dict[str, list[StoryFloor]] = defaultdict(list)
        for floor in floors:
            self.floors[floor.mass.id].append(floor)
        outlines = [(name, found[0].mass.outline) for name, found in self.floors.items()]
        self.owner = [name for name, outline in outlines for _ in outline]
        corners = [np.array(outline) for _, outline in outlines]
        self.start = np.concatenate([*corners, np.empty((0, 2))])
        self.end = np.concatenate([*(np.roll(points, -1, axis=0) for points in corners), np.empty((0, 2))])

    def on(self, face: Face) -> Iterable[tuple[StoryFloor, Span]]:
        """Floors of bodies with a side in the plane of a face, each with that side in the face's coordinates."""
        off = np.abs(np.stack([self.start, self.end]) @ face.normal[:2] - face.offset).max(axis=0)
        for i in np.flatnonzero(off < 10 * HAIR).tolist():
            a, b = (
                float((p - face.frame.origin[:2]) @ face.frame.across[:2])
                for p in (self.start[i], self.end[i])
            )
            if b > a:
                for floor in self.floors[self.owner[i]]:
                    yield floor, (a, b)


def _free_of(piece: _Piece, taken: Sequence[_Piece], rim: float) -> list[_Piece]:
    """What of a piece no other floor line of about its height has."""
    spans = [(piece.left, piece.right)]
    for other in taken:
        if abs(piece.low + piece.high - other.low - other.high) <= 2 * rim:
            spans = [
                part
                for left, right in spans
                for part in ((left, min(right, other.left)), (max(left, other.right), right))
                if part[1] - part[0] > HAIR
            ]
    return [_cut(piece, *span) for span in spans]


def _cut(piece: _Piece, left: float, right: float) -> _Piece:
    rise = (piece.high - piece.low) / (piece.right - piece.left)
    low, high = (piece.low + rise * (x - piece.left) for x in (left, right))
    return _Piece(left, right, low, high, piece.mass, piece.storey, piece.edge)


def _joined(pieces: Sequence[_Piece]) -> list[_Piece]:
    """Pieces on one line that touch are one, of the body that comes first by name."""
    out: list[_Piece] = []
    for piece in sorted(pieces, key=lambda p: (p.edge, round(p.low, 3) if p.edge < 0 else 0.0, p.left)):
        last = out[-1] if out else None
        if (
            last is not None
            and last.edge == piece.edge
            and piece.left <= last.right + HAIR
            and abs(piece.low - last.high) < LEVEL
        ):
            first = min(last, piece, key=lambda p: (p.mass, p.storey))
            out[-1] = _Piece(
                last.left, piece.right, last.low, piece.high, first.mass, first.storey, last.edge
            )
        else:
            out.append(piece)
    return sorted(out, key=lambda p: (p.left, p.low))
