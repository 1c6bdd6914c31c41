"""Plan outlines: lines, corners, area, crossings. Lines are ``a x + b y = d`` with outward unit normal (a, b)."""

from __future__ import annotations

import math
from collections.abc import Sequence

from hullwright.building.model import Point

Line = tuple[float, float, float]


def line(p: Point, q: Point) -> Line:
    """Give the line of a side that runs from `p` to `q`, outside on its right.

    Examples
    --------
    >>> line((0.0, 0.0), (4.0, 0.0))
    (0.0, -1.0, 0.0)
    """
    dx, dy = q[0] - p[0], q[1] - p[1]
    length = math.hypot(dx, dy)
    a, b = dy / length + 0.0, -dx / length + 0.0
    return a, b, a * p[0] + b * p[1] + 0.0


def area(points: Sequence[Point]) -> float:
    """Signed area, positive where counter-clockwise [m2].

    Examples
    --------
    >>> area([(0, 0), (4, 0), (4, 3), (0, 3)])
    12.0
    """
    return 0.5 * sum(
        points[i - 1][0] * points[i][1] - points[i][0] * points[i - 1][1] for i in range(len(points))
    )


def corners(lines: Sequence[Line], growth: float, near: Sequence[Point]) -> list[Point]:
    """Meet each line with the one before it, all moved out by `growth` [m]; `near` settles sides in one line."""
    found = []
    for i, (a2, b2, d2) in enumerate(lines):
        a1, b1, d1 = lines[i - 1]
        det = a1 * b2 - a2 * b1
        if abs(det) < 1e-6:
            x, y = near[i]
            move = d2 + growth - a2 * x - b2 * y
            found.append((x + move * a2, y + move * b2))
        else:
            e1, e2 = d1 + growth, d2 + growth
            found.append(((e1 * b2 - e2 * b1) / det, (a1 * e2 - a2 * e1) / det))
    return found


def offset_point(p: Point, normal: Point, distance: float) -> Point:
    """Move a point along a direction [m]."""
    return p[0] + normal[0] * distance, p[1] + normal[1] * distance


def side_facing(lines: Sequence[Line], points: Sequence[Point], direction: Point) -> int:
    """Give the side that faces a direction best; among equals the one furthest out."""
    a, b = direction

    def rank(side: int) -> tuple[float, float]:
        p, q = points[side], points[(side + 1) % len(points)]
        facing = lines[side][0] * a + lines[side][1] * b
        return round(facing, 6), round(min(a * x + b * y for x, y in (p, q)), 6)

    return max(range(len(lines)), key=rank)


def convex(points: Sequence[Point]) -> bool:
    """Whether a counter-clockwise outline has no inside corner."""
    n = len(points)
    return all(_turn(points[i - 2], points[i - 1], points[i]) > -1e-9 for i in range(n))


def crossing(points: Sequence[Point]) -> Point | None:
    """Give a place where an outline crosses or touches itself, None where it is simple."""
    n = len(points)
    for i in range(n):
        p, q = points[i], points[(i + 1) % n]
        for j in range(i + 1, n):
            r, s = points[j], points[(j + 1) % n]
            if j == i + 1 or (i == 0 and j == n - 1):
                continue  # a side that runs back over its neighbour brings the next corner onto it
            hit = _meet(p, q, r, s)
            if hit is not None:
                return hit
    return None


def _turn(p: Point, q: Point, r: Point) -> float:
    return (q[0] - p[0]) * (r[1] - q[1]) - (q[1] - p[1]) * (r[0] - q[0])


def _meet(p: Point, q: Point, r: Point, s: Point) -> Point | None:
    """Give the point where two sides meet (crossing, touching), None where they stay apart."""
    for at, one, two in ((p, r, s), (q, r, s), (r, p, q), (s, p, q)):
        if _on(at, one, two):
            return at
    d1, d2 = _turn(p, q, r), _turn(p, q, s)
    d3, d4 = _turn(r, s, p), _turn(r, s, q)
    if d1 * d2 < 0 and d3 * d4 < 0:
        t = d3 / (d3 - d4)
        return p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])
    return None


def _on(at: Point, p: Point, q: Point, tolerance: float = 1e-4) -> bool:
    dx, dy = q[0] - p[0], q[1] - p[1]
    length = math.hypot(dx, dy)
    if length == 0:
        return math.dist(at, p) < tolerance
    along = ((at[0] - p[0]) * dx + (at[1] - p[1]) * dy) / length
    off = abs((at[0] - p[0]) * dy - (at[1] - p[1]) * dx) / length
    return off < tolerance and -tolerance < along < length + tolerance
