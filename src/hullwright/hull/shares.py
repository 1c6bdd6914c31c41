"""Which mass gives how much of a face: where flush masses overlap or abut, their faces merge into one."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from hullwright.building.model import Building, Mass
from hullwright.hull.model import Floats
from hullwright.hull.planes import Label, Table

_LEVEL: Final = 1e-6
_SHARED: Final = 1e-4  # m2: less is a hair of rounding


def shares_of(
    loops: Sequence[Floats], numbers: Sequence[int], table: Table, building: Building
) -> dict[int, float]:
    """Give the area of a face that each mass covers with a face of its own, overlaps counted for each.

    Parameters
    ----------
    loops : sequence of ndarray (k, 3)
        Outer loop and holes of the face [m].
    numbers : sequence of int
        Labels that are seen in it.
    table : Table
    building : Building

    Returns
    -------
    dict of int to float
        Area in plan or elevation [m2] by label, labels of masses in order of their names.
    """
    seen = table.labels[numbers[0]]
    alike = [
        number
        for number in _mates(seen, table)
        if number in numbers or table.labels[number].kind is seen.kind
    ]
    if len({table.labels[number].mass for number in alike}) == 1:
        return dict.fromkeys(numbers[:1], math.inf)
    normal = np.array(table.oriented(seen.plane, seen.facing)[0])
    across = np.array([-normal[1], normal[0]])
    upright = abs(normal[2]) < _LEVEL
    flat = [
        np.stack([loop[:, :2] @ across, loop[:, 2]], axis=1) if upright else loop[:, :2] for loop in loops
    ]
    face = Polygon(flat[0], flat[1:])
    shares: dict[int, float] = {}
    for number in alike:
        label = table.labels[number]
        mass = building.mass(label.mass)
        own = _elevation(mass, label, across) if upright else Polygon(mass.outline)
        size = face.intersection(own).area
        if size > _SHARED or number in numbers:
            shares[number] = size
    return dict(sorted(shares.items(), key=lambda item: (table.labels[item[0]].mass, item[0])))


def largest(shares: Mapping[int, float]) -> int:
    """Give the label with the largest area, the first of those within 1 %: a hair of rounding renames nothing."""
    most = max(shares.values())
    return next(number for number, size in shares.items() if size >= 0.99 * most)


def _mates(seen: Label, table: Table) -> list[int]:
    """Give the labels of masses on the same side of the hull that lie in the plane of one and face its way."""
    return [
        number
        for number, label in enumerate(table.labels)
        if (label.plane, label.facing, label.cold) == (seen.plane, seen.facing, seen.cold)
    ]


def _elevation(mass: Mass, label: Label, across: Floats) -> BaseGeometry:
    """Give the wall of a mass in elevation: along the wall and up."""
    side = mass.sides.index(label.side)
    corners = (mass.outline[side], mass.outline[(side + 1) % len(mass.outline)])
    ends = [x * float(across[0]) + y * float(across[1]) for x, y in corners]
    roofed = mass.roof.form in {"gable", "shed"} and mass.top == "roof deck"
    top = math.inf if roofed else mass.wall_top + mass.roof.parapet_height
    high = top if math.isfinite(top) else mass.wall_top + 100.0
    return box(min(ends), mass.bottom.level, max(ends), high)
