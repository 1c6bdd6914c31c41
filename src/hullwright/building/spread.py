"""Even places for things that are stated by count only."""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry import LineString, Polygon

from hullwright.building.bodies import Body
from hullwright.building.model import Opening, Point


def on_side(
    side: int, height: float, *, half: float, count: int, body: Body, openings: Sequence[Opening]
) -> list[Point] | None:
    """Spread places over the part of a side that is free of openings at a height.

    Parameters
    ----------
    side : int
        Side of the mass.
    height : float
        Above the storey's floor, or up the slope [m].
    half : float
        Half the largest section: kept clear of ends and openings [m].
    count : int
        How many.
    openings : sequence of Opening
        Those on this side and storey.

    Returns
    -------
    list of (x, y) or None
        Places [m], None where nothing is free.
    """
    free = [(half, body.length(side) - half)]
    for opening in openings:
        if opening.sill - half < height < opening.sill + opening.height + half:
            free = _without(free, opening.offset - half, opening.offset + opening.width + half)
    free = [(low, high) for low, high in free if high > low]
    total = sum(high - low for low, high in free)
    if total <= 0:
        return None
    return [(_along(free, total * (i + 0.5) / count), height) for i in range(count)]


def _without(free: list[tuple[float, float]], start: float, end: float) -> list[tuple[float, float]]:
    out: list[tuple[float, float]] = []
    for low, high in free:
        out += [(low, min(high, start)), (max(low, end), high)]
    return [(low, high) for low, high in out if high > low]


def _along(free: list[tuple[float, float]], distance: float) -> float:
    for low, high in free:
        if distance <= high - low:
            return low + distance
        distance -= high - low
    return free[-1][1]


def in_plan(body: Body, count: int) -> list[Point]:
    """Spread plan places evenly along the longest east-west line through the middle of a mass [m]."""
    plan = Polygon(body.outline)
    west, south, east, north = plan.bounds
    middle = (south + north) / 2
    cut = plan.intersection(LineString([(west - 1, middle), (east + 1, middle)]))
    pieces = [piece.bounds for piece in getattr(cut, "geoms", [cut])]
    low, _, high, _ = max(pieces, key=lambda box: (box[2] - box[0], -box[0]))
    return [(low + (high - low) * (i + 0.5) / count, middle) for i in range(count)]
