"""Walls that stand on another mass's roof though their own mass reaches for it: most often a wing drawn too short."""

from __future__ import annotations

import numpy as np

from hullwright.building.model import Building
from hullwright.hull.model import Edge, Face, FaceKind, Hull
from hullwright.units import Show

_ROOFS = frozenset({FaceKind.ROOF, FaceKind.FLAT_ROOF})
_HIGHER = 1e-6


def standing_walls(hull: Hull, building: Building) -> tuple[str, ...]:
    """Say which gable walls stand wholly on the roof of another mass.

    Parameters
    ----------
    hull : Hull
    building : Building

    Returns
    -------
    tuple of str
        One sentence a wall; a dormer's front, which belongs there, is not told (its mass stands ``on mass``).
    """
    show = Show(building.system)
    told: list[str] = []
    for number, face in enumerate(hull.faces):
        if face.kind is not FaceKind.WALL or not _of_a_gable(face, building):
            continue
        lower = [
            (edge, hull.faces[_other(edge, number)])
            for edge in hull.edges
            if number in (edge.left, edge.right) and _below(edge, face)
        ]
        under = {other.mass for _, other in lower if other.kind in _ROOFS and other.mass != face.mass}
        if lower and under and all(other.kind in _ROOFS and other.mass != face.mass for _, other in lower):
            roof = " and ".join(sorted(under))
            told.append(
                f"{face.id}: a wall of {(show.area if face.area >= 1 else show.fine_area)(face.area)} stands over the roof of {roof}. Where the roof of {face.mass} should run into it, "
                f"let {face.mass} reach deeper into {roof}"
            )
    return tuple(told)


def _of_a_gable(face: Face, building: Building) -> bool:
    mass = building.mass(face.mass)
    return mass.roof.form == "gable" and mass.bottom.kind != "on mass" and mass.top == "roof deck"


def _other(edge: Edge, number: int) -> int:
    return edge.right if edge.left == number else edge.left


def _below(edge: Edge, face: Face) -> bool:
    """Whether an edge is on the lower side of an upright face: its middle lies under the face's middle."""
    middle = np.concatenate(face.loops)[:, 2]
    return float((edge.start[2] + edge.end[2]) / 2) < float(middle.min() + middle.max()) / 2 - _HIGHER
