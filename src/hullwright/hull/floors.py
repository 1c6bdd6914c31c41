"""Floor lines: where a storey's floor meets the walls."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

import numpy as np

from hullwright.building.model import Building, Mass
from hullwright.hull.model import Face, FaceKind, Floats, FloorLine

WALLS = frozenset({FaceKind.WALL, FaceKind.GARAGE_WALL, FaceKind.PARTY_WALL, FaceKind.SHAFT_WALL})
HAIR = 1e-4
Span = tuple[float, float]


def floor_lines(faces: Sequence[Face], building: Building) -> Iterable[FloorLine]:
    """Give the level line of each storey above the first on the walls of its mass, clipped to the faces.

    Where walls of two masses lie in one plane and share a floor height, the line is given once, to the mass that
    comes first by name.
    """
    taken: dict[tuple[int, float], list[Span]] = defaultdict(list)
    masses = sorted((m for m in building.masses if m.inside), key=lambda m: m.id)
    for number, face in enumerate(faces):
        if face.kind not in WALLS:
            continue
        for mass in masses:
            if mass.id not in face.masses:
                continue
            for storey in range(1, len(mass.storeys)):
                height = mass.floor(storey)
                free = _less(_reach(face, mass, height), taken[number, round(height, 3)])
                for left, right in free:
                    taken[number, round(height, 3)].append((left, right))
                    ends = face.frame.lift(
                        np.array(
                            [[left, height - face.frame.origin[2]], [right, height - face.frame.origin[2]]]
                        )
                    )
                    yield FloorLine(number, ends[0], ends[1], mass.id, storey)


def _reach(face: Face, mass: Mass, height: float) -> list[Span]:
    """Stretches of the level line that lie on the face and on a side of the mass, in face coordinates."""
    y = height - float(face.frame.origin[2])
    out = []
    for one in _level_spans([face.frame.drop(loop) for loop in face.loops], y):
        for side in _sides_on(face, mass):
            left, right = max(one[0], side[0]), min(one[1], side[1])
            if right - left > HAIR:
                out.append((left, right))
    return _joined(out)


def _level_spans(loops: Sequence[Floats], y: float) -> list[Span]:
    crossings = []
    for loop in loops:
        for (x1, y1), (x2, y2) in zip(loop.tolist(), np.roll(loop, -1, axis=0).tolist(), strict=True):
            if (y1 <= y + HAIR / 10) != (y2 <= y + HAIR / 10):
                crossings.append(x1 + (y - y1) / (y2 - y1) * (x2 - x1))
    crossings.sort()
    return [(a, b) for a, b in zip(crossings[::2], crossings[1::2], strict=True) if b - a > HAIR]


def _sides_on(face: Face, mass: Mass) -> list[Span]:
    out = []
    n = len(mass.outline)
    for i, p in enumerate(mass.outline):
        q = mass.outline[(i + 1) % n]
        ends = np.array([[*p, 0.0], [*q, 0.0]])
        if np.abs(ends @ face.normal - face.offset).max() < 10 * HAIR:
            a, b = (ends - face.frame.origin) @ face.frame.across
            if b > a:
                out.append((float(a), float(b)))
    return out


def _joined(spans: Sequence[Span]) -> list[Span]:
    out: list[Span] = []
    for left, right in sorted(spans):
        if out and left <= out[-1][1] + HAIR:
            out[-1] = (out[-1][0], max(out[-1][1], right))
        else:
            out.append((left, right))
    return out


def _less(spans: Sequence[Span], taken: Sequence[Span]) -> list[Span]:
    out = list(spans)
    for a, b in taken:
        out = [
            piece
            for left, right in out
            for piece in ((left, min(right, a)), (max(left, b), right))
            if piece[1] - piece[0] > HAIR
        ]
    return out
