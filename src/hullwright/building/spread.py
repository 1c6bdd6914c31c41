"""Even places for things that are stated by count only."""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry import LineString, Polygon

from hullwright.building.bodies import Body
from hullwright.building.model import Opening, Point
from hullwright.building.seen import Sight, Stretch


def on_side(
    stretches: Sequence[Stretch], height: float, *, half: float, count: int, openings: Sequence[Opening]
) -> list[Point] | None:
    """Spread places over the part of a side that can be seen and is free of openings at a height.

    Parameters
    ----------
    stretches : sequence of (from, to)
        Parts of the side that can be seen, from its left end [m].
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
    free = [(low + half, high - half) for low, high in stretches]
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


def in_plan(body: Body, outside: float, count: int, sight: Sight) -> list[Point] | None:
    """Spread plan places evenly along the longest free east-west piece through the middle of a mass.

    Parameters
    ----------
    body : Body
    outside : float
        A height just outside the level face [m]: what other masses cover there is left out.
    count : int
    sight : Sight

    Returns
    -------
    list of (x, y) or None
        [m], None where other masses cover all of it.
    """
    plan = Polygon(body.outline)
    west, south, east, north = plan.bounds
    middle = (south + north) / 2
    cut = plan.intersection(LineString([(west - 1, middle), (east + 1, middle)]))
    pieces = [piece.bounds for piece in getattr(cut, "geoms", [cut])]
    free = [
        (box[0] + low, box[0] + high)
        for box in pieces
        for low, high in sight.in_plan(body, (box[0], middle), (box[2], middle), outside)
    ]
    if not free:
        return None
    low, high = max(free, key=lambda piece: (round(piece[1] - piece[0], 6), -piece[0]))
    return [(low + (high - low) * (i + 0.5) / count, middle) for i in range(count)]
