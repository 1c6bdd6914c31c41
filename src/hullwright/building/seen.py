"""Which stretches of a side can be seen: not covered by other masses."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from shapely import STRtree
from shapely.geometry import LineString, Polygon

from hullwright.building.bodies import Body
from hullwright.building.model import Mass, Point
from hullwright.building.sides import bearing

Stretch = tuple[float, float]
"""From and to along a line [m]."""

_OUT: Final = 0.01  # [m] so far in front of a face is looked for what covers it
_SLACK: Final = 1e-6  # [m]
_Plane = tuple[float, float, float]
"""Height ``p + q x + r y`` [m]."""


@dataclass(frozen=True, slots=True)
class Line:
    """A level line in plan, and the heights between which something shall stand on it.

    Parameters
    ----------
    start : (x, y)
        [m]
    along : (x, y)
        Unit vector.
    length, low, high : float
        [m]
    """

    start: Point
    along: Point
    length: float
    low: float
    high: float

    def at(self, distance: float) -> Point:
        """Give a point of it [m]."""
        return self.start[0] + distance * self.along[0], self.start[1] + distance * self.along[1]


class Sight:
    """What covers what.

    Parameters
    ----------
    bodies : iterable of Body
    """

    def __init__(self, bodies: Iterable[Body]) -> None:
        self._sound = [body for body in bodies if body.mass is not None]
        self._tree = STRtree([Polygon(body.outline) for body in self._sound])

    def on_wall(self, body: Body, side: int, low: float, high: float) -> list[Stretch]:
        """Give the stretches of a wall that can be seen between two heights.

        Parameters
        ----------
        body : Body
        side : int
        low, high : float
            In the file's own heights [m].

        Returns
        -------
        list of (from, to)
            From the left end of the side [m].
        """
        return self._seen(_side_line(body, side, _OUT, low, high), body)

    def on_slope(self, body: Body, side: int, low: float, high: float) -> list[Stretch]:
        """Give the stretches of the roof plane over a side that can be seen between two distances up the slope [m]."""
        mass = body.mass
        free = [(0.0, body.length(side))]
        if mass is None:
            return free
        pitch = math.radians(mass.roof.pitch)
        for up in (low, (low + high) / 2, high):
            height = mass.wall_top + up * math.sin(pitch) + _OUT
            line = _side_line(body, side, -up * math.cos(pitch), height, height)
            free = common(common(free, [_own_roof(line, mass)]), self._seen(line, body))
        return free

    def in_plan(self, body: Body, start: Point, end: Point, outside: float) -> list[Stretch]:
        """Give the stretches along a plan line that nothing covers at a height just outside a level face [m]."""
        length = math.dist(start, end)
        along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
        return self._seen(Line(start, along, length, outside, outside), body)

    def covering(self, body: Body, side: int, low: float, high: float) -> list[str]:
        """Give the names of the masses that cover part of a wall between two heights [m]."""
        line = _side_line(body, side, _OUT, low, high)
        return [other.name for other in self._near(line, body) if covered(line, other)]

    def _near(self, line: Line, body: Body) -> list[Body]:
        near = self._tree.query(LineString([line.start, line.at(line.length)]))
        return [other for other in (self._sound[int(i)] for i in sorted(near)) if other.name != body.name]

    def _seen(self, line: Line, body: Body) -> list[Stretch]:
        """Give what no other mass covers; where cold masses cover all the rest, what no warm one covers."""
        others = self._near(line, body)
        warm = _cut([(0.0, line.length)], [s for o in others if o.inside for s in covered(line, o)])
        return _cut(warm, [s for o in others if not o.inside for s in covered(line, o)]) or warm


def _side_line(body: Body, side: int, out: float, low: float, high: float) -> Line:
    (x, y), end = body.outline[side], body.outline[(side + 1) % len(body.outline)]
    length = body.length(side)
    a, b = (end[0] - x) / length, (end[1] - y) / length
    return Line((x + out * b, y - out * a), (a, b), length, low, high)


def covered(line: Line, other: Body) -> list[Stretch]:
    """Give the stretches along a line that a mass covers, between the heights of the line [m]."""
    mass = other.mass
    if mass is None or mass.bottom.level > line.high - _SLACK:
        return []
    whole = LineString([line.start, line.at(line.length)]).intersection(Polygon(mass.outline))
    low, high = _over(line, _planes(mass))
    out = []
    for piece in getattr(whole, "geoms", [whole]):
        if piece.is_empty or piece.length <= _SLACK:
            continue
        ends = sorted(
            (x - line.start[0]) * line.along[0] + (y - line.start[1]) * line.along[1]
            for x, y in (piece.coords[0], piece.coords[-1])
        )
        start, end = max(ends[0], low), min(ends[1], high)
        if end - start > _SLACK:
            out.append((start, end))
    return out


def _own_roof(line: Line, mass: Mass) -> Stretch:
    """Give the stretch of a line over a roof plane that lies under no other plane of the same roof: hips narrow it [m]."""
    below = Line(line.start, line.along, line.length, line.low - 2 * _OUT, line.high)
    low, high = _over(below, _planes(mass))
    return max(low, 0.0), min(high, line.length)


def _planes(mass: Mass) -> list[_Plane]:
    """Give the planes whose lowest is the top of a mass."""
    roof = mass.roof
    if roof.form == "flat" or (mass.inside and mass.top == "ceiling"):
        parapet = roof.parapet_height if roof.form == "flat" and mass.top == "roof deck" else 0.0
        return [(mass.wall_top + parapet, 0.0, 0.0)]
    rise = math.tan(math.radians(roof.pitch))
    return [_plane(mass, facing, rise) for facing in _downhill(mass)]


def _downhill(mass: Mass) -> Iterable[float]:
    if mass.roof.form == "shed":
        return [mass.roof.ridge]
    if mass.roof.form == "gable":
        return [mass.roof.ridge + 90.0, mass.roof.ridge - 90.0]
    points = mass.outline
    return [bearing(p, points[(i + 1) % len(points)]) for i, p in enumerate(points)]


def _plane(mass: Mass, facing: float, rise: float) -> _Plane:
    a, b = math.sin(math.radians(facing)), math.cos(math.radians(facing))
    reach = max(a * x + b * y for x, y in mass.outline)
    return mass.wall_top + rise * reach, -rise * a, -rise * b


def _over(line: Line, planes: Sequence[_Plane]) -> Stretch:
    """Give the stretch where all planes are higher than the low side of a line (unbounded where they are level along it)."""
    low, high = -math.inf, math.inf
    for p, q, r in planes:
        here = p + q * line.start[0] + r * line.start[1] - line.low - _SLACK
        slope = q * line.along[0] + r * line.along[1]
        if abs(slope) < 1e-9:
            if here <= 0:
                return math.inf, -math.inf
        elif slope > 0:
            low = max(low, -here / slope)
        else:
            high = min(high, -here / slope)
    return low, high


def _cut(free: Sequence[Stretch], taken: Sequence[Stretch]) -> list[Stretch]:
    """Take stretches out of others."""
    out = list(free)
    for start, end in taken:
        out = [
            piece
            for low, high in out
            for piece in ((low, min(high, start)), (max(low, end), high))
            if piece[1] - piece[0] > _SLACK
        ]
    return out


def common(one: Sequence[Stretch], other: Sequence[Stretch]) -> list[Stretch]:
    """Give what two lists of stretches share [m].

    Examples
    --------
    >>> common([(0, 4), (6, 9)], [(3, 7)])
    [(3, 4), (6, 7)]
    """
    pairs = ((max(a, c), min(b, d)) for a, b in one for c, d in other)
    return sorted((low, high) for low, high in pairs if high - low > _SLACK)
