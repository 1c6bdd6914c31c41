"""Plan polygons: soundness, one way round, names of the sides."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Sequence
from typing import Final

from shapely.geometry import Polygon
from shapely.validation import explain_validity

from hullwright.building.model import Point
from hullwright.units import Show

_NAMES: Final = ("north", "north east", "east", "south east", "south", "south west", "west", "north west")
_SHORTEST: Final = 1e-3  # [m] sides shorter than this are slips of the pen


def outline_fault(corners: Sequence[Point], show: Show) -> str:
    """Say what is wrong with a plan polygon, '' where it is sound.

    Parameters
    ----------
    corners : sequence of (x, y)
        Corners in either direction, first not repeated [m].
    show : Show
        Prints places.

    Examples
    --------
    >>> outline_fault([(0, 0), (4, 0), (4, 3)], Show("metric"))
    ''
    >>> outline_fault([(0, 0), (4, 3), (4, 0), (0, 3)], Show("metric"))
    'its sides cross at (2.000, 1.500) m'
    """
    for i, corner in enumerate(corners):
        if math.dist(corner, corners[i - 1]) < _SHORTEST:
            return f"corner {i + 1} stands where corner {i or len(corners)} is"
    polygon = Polygon(corners)
    if polygon.convex_hull.area < 1e-4:
        return "it has no area"
    if not polygon.is_valid:
        spot = re.search(r"\[([-\d.e+]+) ([-\d.e+]+)\]", explain_validity(polygon))
        place = f" at {show.at(float(spot[1]), float(spot[2]))}" if spot else ""
        return f"its sides cross{place}"
    return ""


def normalised(corners: Sequence[Point]) -> tuple[tuple[Point, ...], tuple[int, ...]]:
    """Turn a sound outline counter-clockwise, starting at its most southern, then most western corner.

    Returns
    -------
    corners : tuple of (x, y)
        [m]
    numbers : tuple of int
        Number from 1 of each side as the user listed it.

    Examples
    --------
    >>> normalised([(0, 3), (4, 3), (4, 0), (0, 0)])
    (((0, 0), (4, 0), (4, 3), (0, 3)), (3, 2, 1, 4))
    """
    count = len(corners)
    order = list(range(count))
    if not Polygon(corners).exterior.is_ccw:
        order.reverse()
    start = min(range(count), key=lambda k: (corners[order[k]][1], corners[order[k]][0]))
    order = order[start:] + order[:start]
    numbers: list[int] = []
    for i, here in enumerate(order):
        after = order[(i + 1) % count]
        numbers.append(here + 1 if (here + 1) % count == after else after + 1)
    return tuple(corners[i] for i in order), tuple(numbers)


def bearing(start: Point, end: Point) -> float:
    """Plan bearing of the outward normal of a counter-clockwise side [deg clockwise from plan north].

    Examples
    --------
    >>> bearing((0, 0), (4, 0))
    180.0
    """
    dx, dy = end[0] - start[0], end[1] - start[1]
    return math.degrees(math.atan2(dy, -dx)) % 360.0


def side_names(corners: Sequence[Point]) -> tuple[str, ...]:
    """Name the sides of a counter-clockwise outline by the nearest of eight bearings.

    Several that face the same way are numbered from left to right as seen from outside.

    Examples
    --------
    >>> side_names(((0, 0), (4, 0), (4, 3), (0, 3)))
    ('south', 'east', 'north', 'west')
    >>> side_names(((0, 0), (4, 0), (4, 2), (9, 2), (9, 5), (0, 5)))
    ('south 1', 'east 1', 'south 2', 'east 2', 'north', 'west')
    """
    count = len(corners)
    facing: defaultdict[int, list[tuple[float, int]]] = defaultdict(list)
    for i, start in enumerate(corners):
        end = corners[(i + 1) % count]
        sector = round(bearing(start, end) / 45.0) % 8
        right = math.radians(sector * 45.0 - 90.0)  # seen from outside, the right hand is at bearing - 90
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        facing[sector].append((middle[0] * math.sin(right) + middle[1] * math.cos(right), i))
    names = [""] * count
    for sector, members in facing.items():
        for rank, (_, i) in enumerate(sorted(members), start=1):
            names[i] = _NAMES[sector] if len(members) == 1 else f"{_NAMES[sector]} {rank}"
    return tuple(names)


def find_side(text: str, names: Sequence[str], numbers: Sequence[int]) -> int | None:
    """Find a side by name (``south``, ``south 2``, ``south-west``) or by number (``side 3``).

    Examples
    --------
    >>> find_side("Side 2", ("south", "east", "north", "west"), (1, 2, 3, 4))
    1
    >>> find_side("up", ("south", "east", "north", "west"), (1, 2, 3, 4)) is None
    True
    """
    word = re.sub(r"[\s_-]+", " ", text.strip().lower())
    word = re.sub(r"^(north|south)(east|west)", r"\1 \2", word)
    number = re.fullmatch(r"side (\d{1,5})", word)
    if number:
        return list(numbers).index(int(number[1])) if int(number[1]) in numbers else None
    if word in names:
        return list(names).index(word)
    if word.endswith(" 1") and word[:-2] in names:
        return list(names).index(word[:-2])
    return None
