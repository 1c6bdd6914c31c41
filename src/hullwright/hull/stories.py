"""Floors that stand on a story: which there are by what is stated, and where their walls stand free.

A floor is framed where a story stands on another: every story of a body but its lowest, and the lowest of a body that stands
on others (``on mass``) or hangs out over them (``outside air``), where its base lies at the wall top or a floor of what is
under it, give or take the depth of the floor framing (twice that where it stands free of the roof below). Bodies side by side
at one level are one framing: a bay beside such a floor has it too.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from shapely import MultiPolygon, Polygon, clip_by_rect
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry

from hullwright.building.model import Building, Mass
from hullwright.evidence import ESTIMATE, Figure
from hullwright.hull.model import Floats, StoryLine
from hullwright.units import INCH

if TYPE_CHECKING:
    from manifold3d import Manifold
else:
    Manifold = Any

RIM_DEPTH: Final = Figure(12 * INCH, "m", ESTIMATE)
"""Depth of the floor framing: levels that differ by no more are one floor."""

_SHARED: Final = 0.01  # m2 in plan: less is a hair of rounding
_ASIDE: Final = 1e-3  # m above a floor where it is asked what is there
_OUT: Final = 6e-4  # m outside a wall: more than what drawn figures are rounded by, and under any roof that starts at the floor there
_TOUCH: Final = 5e-3  # m between bodies that touch


@dataclass(frozen=True, slots=True)
class StoryFloor:
    """A framed floor.

    Parameters
    ----------
    mass : Mass
    storey : int
        The story whose floor it is.
    height, top : float
        Of the floor, and of the next one (inf over the last) [m].
    in_roof : bool
        The body runs into the roof of what it stands on: a dormer.
    """

    mass: Mass
    storey: int
    height: float
    top: float
    in_roof: bool = False


def rim_depth(building: Building) -> float:
    """Depth of the floor framing, stated or taken [m]."""
    return building.figures.get("rim_depth", RIM_DEPTH).value


def story_floors(building: Building, solids: Mapping[str, Manifold]) -> tuple[StoryFloor, ...]:
    """Give every framed floor inside the hull, sorted by body and story.

    Parameters
    ----------
    building : Building
    solids : mapping
        The solid of each body by name.

    Returns
    -------
    tuple of StoryFloor
    """
    rim = rim_depth(building)
    plans = {mass.id: Polygon(mass.outline) for mass in building.masses}
    found = {mass.id: _upper(mass) for mass in building.masses if mass.inside}
    waiting = [
        mass for mass in building.masses if mass.inside and mass.bottom.kind in {"on mass", "outside air"}
    ]
    for mass in list(waiting):
        under = [other for other in building.masses if _carries(other, mass, plans, rim)]
        near = under or [other for other in building.masses if _carries(other, mass, plans, 2 * rim)]
        roofs = [other for other in near if abs(other.wall_top - mass.base) <= 2 * rim]
        in_roof = any(_runs_into(mass, other, solids) for other in roofs)
        if under or (roofs and not in_roof):
            waiting.remove(mass)
            found[mass.id].insert(0, _lowest(mass, in_roof=in_roof))
    while beside := [mass for mass in waiting if _beside(mass, found, building, plans)]:
        for mass in beside:
            waiting.remove(mass)
            found[mass.id].insert(0, _lowest(mass))
    return tuple(floor for name in sorted(found) for floor in found[name])


def _upper(mass: Mass) -> list[StoryFloor]:
    last = len(mass.storeys) - 1
    return [
        StoryFloor(mass, k, mass.floor(k), mass.floor(k + 1) if k < last else np.inf)
        for k in range(1, last + 1)
    ]


def _lowest(mass: Mass, *, in_roof: bool = False) -> StoryFloor:
    return StoryFloor(mass, 0, mass.base, mass.floor(1) if len(mass.storeys) > 1 else np.inf, in_roof)


def _carries(other: Mass, mass: Mass, plans: Mapping[str, Polygon], rim: float) -> bool:
    """Whether a body lies under another and has a wall top or a floor at its base."""
    if other.id == mass.id or other.base > mass.base - rim:
        return False
    levels = [other.floor(k) for k in range(1, len(other.storeys) + 1)]
    return (
        any(abs(level - mass.base) <= rim for level in levels)
        and plans[other.id].intersection(plans[mass.id]).area > _SHARED
    )


def _runs_into(mass: Mass, other: Mass, solids: Mapping[str, Manifold]) -> bool:
    """Whether a body's walls end in the roof of the one under it."""
    if not other.inside or other.top == "ceiling" or other.roof.form == "flat":
        return False
    roof = section(solids[other.id], mass.wall_top - _ASIDE)
    return bool(roof.intersection(Polygon(mass.outline)).area > _SHARED)


def _beside(
    mass: Mass, found: Mapping[str, Sequence[StoryFloor]], building: Building, plans: Mapping[str, Polygon]
) -> bool:
    """Whether a body that hangs over outside air touches one with a framed floor at its level."""
    rim = rim_depth(building)
    return mass.framing != "own" and any(
        abs(floor.height - mass.base) <= rim
        and floor.mass.framing != "own"
        and plans[mass.id].distance(plans[floor.mass.id]) < _TOUCH
        for floors in found.values()
        for floor in floors
    )


def section(body: Manifold, height: float) -> BaseGeometry:
    """Cut a solid at a height: what of the plan is inside."""
    out: BaseGeometry = MultiPolygon()
    for loop in body.slice(height).to_polygons():
        if len(loop) > 2:
            out = out.symmetric_difference(Polygon(loop).buffer(0))
    return out


def story_lines(floors: Sequence[StoryFloor], whole: Manifold, rim: float) -> tuple[StoryLine, ...]:
    """Give the stretches of the walls of each story that stand free at its floor: a floor line must run there.

    Worked out from plans and solids alone, not from the faces that the hull was cut into.

    Parameters
    ----------
    floors : sequence of StoryFloor
    whole : Manifold
        All that is inside the hull.
    rim : float
        Depth of the floor framing [m]: of two floors of bodies that share a stretch of wall and lie no farther apart, the
        line is asked for once.

    Returns
    -------
    tuple of StoryLine
    """
    cuts: dict[float, BaseGeometry] = {}
    known = _Known(rim)
    lines: list[StoryLine] = []
    for floor in floors:
        height = round(floor.height + _ASIDE, 6)
        if height not in cuts:
            cuts[height] = section(whole, height)
        outline = floor.mass.outline
        for p, q in zip(outline, (*outline[1:], outline[0]), strict=True):
            start, end = np.array(p), np.array(q)
            way = (end - start) / np.linalg.norm(end - start)
            free = _free(start, end, cuts[height])
            for low, high in known.add((float(way[0]), float(way[1])), start, floor.height, free):
                a, b = (start + x * way for x in (low, high))
                ends = np.array([[*a, floor.height], [*b, floor.height]])
                lines.append(StoryLine(ends[0], ends[1], floor.mass.id, floor.storey))
    return tuple(lines)


class _Known:
    """Story lines found so far, by the plane they lie in."""

    def __init__(self, rim: float) -> None:
        self.rim = rim
        self.planes: dict[tuple[float, float, int], list[tuple[float, float, float]]] = defaultdict(list)

    def add(
        self, way: tuple[float, float], start: Floats, height: float, spans: Sequence[tuple[float, float]]
    ) -> list[tuple[float, float]]:
        """Take in stretches along `way` from `start` at a height, and give what of them is new."""
        x, y = start.tolist()
        at, off = x * way[0] + y * way[1], x * way[1] - y * way[0]
        near = round(off / _TOUCH)
        key = (round(way[0], 4) + 0.0, round(way[1], 4) + 0.0)
        fresh = [(at + low, at + high) for low, high in spans]
        for plane in (near - 1, near, near + 1):
            for low, high, level in self.planes.get((*key, plane), ()):
                if abs(level - height) <= self.rim:
                    fresh = [
                        part
                        for left, right in fresh
                        for part in ((left, min(right, low)), (max(left, high), right))
                        if part[1] - part[0] > _TOUCH
                    ]
        self.planes[*key, near] += [(low, high, height) for low, high in fresh]
        return [(low - at, high - at) for low, high in fresh]


def _free(start: Floats, end: Floats, inside: BaseGeometry) -> list[tuple[float, float]]:
    """Stretches of a side of a plan, counter-clockwise, that have nothing of the hull before them [m]."""
    along = (end - start) / np.linalg.norm(end - start)
    out = start + _OUT * np.array([along[1], -along[0]])
    low, high = np.minimum(start, end) - 1.0, np.maximum(start, end) + 1.0
    near: BaseGeometry = clip_by_rect(inside, *low.tolist(), *high.tolist())
    rest: BaseGeometry = LineString([out, out + end - start]).difference(near)
    parts = [rest] if rest.geom_type == "LineString" else list(getattr(rest, "geoms", ()))
    return [
        (float((np.array(part.coords[0]) - out) @ along), float((np.array(part.coords[-1]) - out) @ along))
        for part in parts
        if part.length > _TOUCH
    ]
