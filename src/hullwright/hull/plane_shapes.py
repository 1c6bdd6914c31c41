"""Shapes in a plane: does one lie in a polygon, do two overlap. Plain tuples: they are few and small."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from hullwright.building.model import Point

HAIR = 5e-4
"""Less than this over an edge is rounding [m]."""

Loop = Sequence[Point]
Box = tuple[float, float, float, float]
"""Least x, least y, greatest x, greatest y [m]."""


@dataclass(frozen=True, slots=True)
class Disc:
    """A circle: middle and radius [m]."""

    at: Point
    radius: float


@dataclass(frozen=True, slots=True)
class Patch:
    """A convex polygon, counter-clockwise [m]."""

    points: tuple[Point, ...]


Shape2 = Disc | Patch


def box(shape: Shape2) -> Box:
    """Give least x, least y, greatest x, greatest y.

    Examples
    --------
    >>> box(Disc((1.0, 2.0), 0.5))
    (0.5, 1.5, 1.5, 2.5)
    """
    if isinstance(shape, Disc):
        (x, y), r = shape.at, shape.radius
        return x - r, y - r, x + r, y + r
    xs, ys = [p[0] for p in shape.points], [p[1] for p in shape.points]
    return min(xs), min(ys), max(xs), max(ys)


def boxes_meet(one: Box, two: Box) -> bool:
    """Whether two boxes overlap by more than :data:`HAIR`.

    Examples
    --------
    >>> boxes_meet((0.0, 0.0, 1.0, 1.0), (0.5, 0.5, 2.0, 2.0)), boxes_meet((0.0, 0.0, 1.0, 1.0), (1.0, 0.0, 2.0, 1.0))
    (True, False)
    """
    a, b, c, d = one
    e, f, g, h = two
    return a < g - HAIR and e < c - HAIR and b < h - HAIR and f < d - HAIR


def inside(at: Point, loops: Sequence[Loop]) -> bool:
    """Whether a point lies in a polygon with holes (even-odd rule)."""
    x, y = at
    odd = False
    for loop in loops:
        x1, y1 = loop[-1]
        for x2, y2 in loop:
            if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
                odd = not odd
            x1, y1 = x2, y2
    return odd


def within(shape: Shape2, loops: Sequence[Loop]) -> bool:
    """Whether a shape lies wholly in a polygon with holes, give or take :data:`HAIR`."""
    if isinstance(shape, Disc):
        reach = shape.radius - HAIR
        return inside(shape.at, loops) and all(_apart(shape.at, p, q) >= reach for p, q in _edges(loops))
    tight = _shrunk(shape.points)
    return all(inside(p, loops) for p in tight) and not any(_cuts(p, q, tight) for p, q in _edges(loops))


def touches(shape: Shape2, loops: Sequence[Loop]) -> bool:
    """Whether any of a shape lies in a polygon with holes."""
    if isinstance(shape, Disc):
        return inside(shape.at, loops) or any(
            _apart(shape.at, p, q) < shape.radius - HAIR for p, q in _edges(loops)
        )
    tight = _shrunk(shape.points)
    return any(inside(p, loops) for p in tight) or any(_cuts(p, q, tight) for p, q in _edges(loops))


def overlap(one: Shape2, two: Shape2) -> bool:
    """Whether two shapes overlap by more than :data:`HAIR`.

    Examples
    --------
    >>> square = Patch(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)))
    >>> overlap(square, Disc((1.2, 0.5), 0.3)), overlap(square, Disc((1.2, 0.5), 0.1))
    (True, False)
    """
    if not boxes_meet(box(one), box(two)):
        return False
    if isinstance(one, Disc):
        if isinstance(two, Disc):
            return math.dist(one.at, two.at) < one.radius + two.radius - HAIR
        return touches(one, [two.points])
    if isinstance(two, Disc):
        return touches(two, [one.points])
    return touches(one, [two.points]) or touches(two, [one.points])


def _edges(loops: Sequence[Loop]) -> list[tuple[Point, Point]]:
    return [(loop[i - 1], loop[i]) for loop in loops for i in range(len(loop))]


def _apart(at: Point, p: Point, q: Point) -> float:
    dx, dy = q[0] - p[0], q[1] - p[1]
    t = ((at[0] - p[0]) * dx + (at[1] - p[1]) * dy) / (dx * dx + dy * dy)
    t = min(1.0, max(0.0, t))
    return math.hypot(at[0] - p[0] - t * dx, at[1] - p[1] - t * dy)


def _shrunk(points: Sequence[Point]) -> list[Point]:
    x, y = sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)
    out = []
    for px, py in points:
        reach = math.hypot(px - x, py - y)
        k = 1 - min(0.5, 1.5 * HAIR / reach)
        out.append((x + k * (px - x), y + k * (py - y)))
    return out


def _cuts(p: Point, q: Point, convex: Sequence[Point]) -> bool:
    """Whether a segment passes through a convex polygon (Cyrus-Beck clipping)."""
    low, high = 0.0, 1.0
    dx, dy = q[0] - p[0], q[1] - p[1]
    ax, ay = convex[-1]
    for bx, by in convex:
        nx, ny = by - ay, ax - bx  # outward
        depth = nx * (ax - p[0]) + ny * (ay - p[1])
        speed = nx * dx + ny * dy
        if speed == 0:
            if depth < 0:
                return False
        elif speed > 0:
            high = min(high, depth / speed)
        else:
            low = max(low, depth / speed)
        if low >= high:
            return False
        ax, ay = bx, by
    return True
