"""The hull unrolled: faces laid edge to edge like a paper model, seen from outside, none over another.

Walls make a strip joined at the corners, roofs hang on their eaves, bottoms on the walls. A face that would lie over
another starts a sheet of its own. The layout depends on the hull alone: the same hull gives the same sheets.
"""

from __future__ import annotations

import heapq
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from hullwright.hull.model import Edge, Face, FaceKind, Floats, Hull

GAP: Final = 1.0
"""Room between sheets [m]."""

_ROOFS: Final = frozenset({FaceKind.ROOF, FaceKind.FLAT_ROOF, FaceKind.CEILING})


@dataclass(frozen=True, slots=True)
class Piece:
    """One face laid flat.

    Parameters
    ----------
    face : int
        Face number.
    transform : ndarray (3, 2)
        ``[x, y, 1] @ transform`` takes face coordinates to the sheet [m]: a turn and a shift, never a flip.
    hinges : tuple of int
        Numbers of the hull's edges along which it lies against a neighbour.
    """

    face: int
    transform: Floats
    hinges: tuple[int, ...]

    def lay(self, xy: Floats) -> Floats:
        """Take face coordinates (k, 2) to the sheet [m]."""
        laid: Floats = xy @ self.transform[:2] + self.transform[2]
        return laid


@dataclass(frozen=True, slots=True)
class Sheet:
    """Faces that hang together, the one that it started with first. All sheets share one drawing plane."""

    pieces: tuple[Piece, ...]


def unroll(hull: Hull) -> tuple[Sheet, ...]:
    """Lay all faces flat.

    Parameters
    ----------
    hull : Hull

    Returns
    -------
    tuple of Sheet
        Every face once, none over another; lower left corner of all at (0, 0).
    """
    layout = _Layout(hull)
    sheets = []
    while layout.left:
        sheets.append(layout.sheet())
    return tuple(_packed(sheets, layout))


class _Layout:
    def __init__(self, hull: Hull) -> None:
        self.faces, self.edges = hull.faces, hull.edges
        self.left = set(range(len(hull.faces)))
        self.flat = [[face.frame.drop(loop) for loop in face.loops] for face in hull.faces]
        self.at: dict[int, list[int]] = defaultdict(list)
        for number, edge in enumerate(hull.edges):
            self.at[edge.left].append(number)
            self.at[edge.right].append(number)

    def sheet(self) -> Sheet:
        """Start with the most telling face that is left and hang on it whatever fits."""
        first = min(self.left, key=lambda i: _start_rank(self.faces[i]))
        pieces: dict[int, Piece] = {}
        laid: dict[int, Any] = {}
        waiting: list[tuple[tuple[float, ...], int, int]] = []
        self._take(Piece(first, np.array([[1.0, 0.0], [0.0, 1.0], [0.0, 0.0]]), ()), pieces, laid, waiting)
        while waiting:
            _, number, placed = heapq.heappop(waiting)
            edge = self.edges[number]
            new = edge.right if edge.left == placed else edge.left
            if new not in self.left:
                continue
            piece = Piece(new, self._hung(number, pieces[placed], new), (number,))
            if not self._covers(piece, laid):
                self._take(piece, pieces, laid, waiting)
        return Sheet(tuple(self._with_hinges(pieces)))

    def _take(
        self,
        piece: Piece,
        pieces: dict[int, Piece],
        laid: dict[int, Any],
        waiting: list[tuple[tuple[float, ...], int, int]],
    ) -> None:
        pieces[piece.face] = piece
        laid[piece.face] = self._polygon(piece)
        self.left.discard(piece.face)
        for number in self.at[piece.face]:
            edge = self.edges[number]
            new = edge.right if edge.left == piece.face else edge.left
            if new in self.left:
                rank = _hinge_rank(edge, self.faces[piece.face], self.faces[new])
                heapq.heappush(waiting, (rank, number, piece.face))

    def _hung(self, number: int, placed: Piece, new: int) -> Floats:
        """Transform that lays the edge of the new face on the same edge of the placed one."""
        edge = self.edges[number]
        ends = np.array([edge.start, edge.end])
        target = placed.lay(self.faces[placed.face].frame.drop(ends))
        source = self.faces[new].frame.drop(ends)
        a, b = source[1] - source[0], target[1] - target[0]
        square = float(a @ a)
        c, s = float(a @ b) / square, float(a[0] * b[1] - a[1] * b[0]) / square
        turn = np.array([[c, s], [-s, c]]) / np.hypot(c, s)
        return np.vstack([turn, target[0] - source[0] @ turn])

    def _polygon(self, piece: Piece) -> Any:
        from shapely.geometry import Polygon  # noqa: PLC0415 - heavy import, only where needed

        loops = [piece.lay(loop) for loop in self.flat[piece.face]]
        return Polygon(loops[0], loops[1:])

    def _covers(self, piece: Piece, laid: dict[int, Any]) -> bool:
        shape = self._polygon(piece)
        return any(
            shape.intersects(other) and shape.intersection(other).area > 1e-6 for other in laid.values()
        )

    def _with_hinges(self, pieces: dict[int, Piece]) -> Iterable[Piece]:
        """Add every edge that came to lie against its neighbour, hung on it or not."""
        for piece in pieces.values():
            hinges = []
            for number in self.at[piece.face]:
                edge = self.edges[number]
                other = pieces.get(edge.right if edge.left == piece.face else edge.left)
                ends = np.array([edge.start, edge.end])
                if other is not None and np.allclose(
                    piece.lay(self.faces[piece.face].frame.drop(ends)),
                    other.lay(self.faces[other.face].frame.drop(ends)),
                    atol=1e-6,
                ):
                    hinges.append(number)
            yield replace(piece, hinges=tuple(hinges))


def _start_rank(face: Face) -> tuple[object, ...]:
    """South walls first, then other walls, then the rest; the larger the sooner."""
    wall = face.kind is FaceKind.WALL
    south = wall and abs(face.azimuth - 180.0) <= 45.0
    return not south, not wall, -round(face.area, 6), face.id


def _hinge_rank(edge: Edge, placed: Face, new: Face) -> tuple[float, ...]:
    """What is hung first: the rest of the same plane, walls round the corner to the right, roofs on eaves, others."""
    rise = abs(float(edge.end[2] - edge.start[2])) / edge.length
    if edge.dihedral == 0:
        kind = 0.0
    elif placed.tilt == new.tilt == 90.0 and rise > 0.999:
        kind = 1.0
    elif rise < 0.001 and new.kind in _ROOFS and abs(placed.tilt - 90.0) < 1e-6 and edge.dihedral > 0:
        kind = 2.0
    elif rise < 0.001 and edge.dihedral > 0:
        kind = 3.0
    else:
        kind = 4.0
    middle = (edge.start + edge.end) / 2
    right = float((middle - placed.frame.origin) @ placed.frame.across)
    return kind, -round(right, 6) if kind == 1.0 else 0.0, -round(edge.length, 6)


def _packed(sheets: Sequence[Sheet], layout: _Layout) -> Iterable[Sheet]:
    """Put the first sheet on top and the others in rows below it."""
    boxes = [_box(sheet, layout) for sheet in sheets]
    width = max(float(box[1][0] - box[0][0]) for box in boxes)
    spots: list[tuple[float, float]] = []
    x, y, row = 0.0, 0.0, 0.0
    for low, high in boxes:
        w, h = (float(v) for v in high - low)
        if spots and (x + w > width or len(spots) == 1):
            x, y, row = 0.0, y - row - GAP, 0.0
        spots.append((x - float(low[0]), y - h - float(low[1])))
        x, row = x + w + GAP, max(row, h)
    bottom = y - row
    for sheet, (dx, dy) in zip(sheets, spots, strict=True):
        shift = np.array([[0.0, 0.0], [0.0, 0.0], [dx, dy - bottom]])
        yield Sheet(tuple(replace(p, transform=p.transform + shift) for p in sheet.pieces))


def _box(sheet: Sheet, layout: _Layout) -> tuple[Floats, Floats]:
    points = np.concatenate([p.lay(layout.flat[p.face][0]) for p in sheet.pieces])
    return points.min(axis=0), points.max(axis=0)
