"""Segments seen in the plane of a face, gathered by the straight line they lie on.

Many segments of a face share a line (a row of window heads, the seams of a row). A line has a number; along it a segment is an
interval. So coverage and meetings are found by sorting, not by comparing each with each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.hull.model import Face
from hullwright.joints.scan import clusters, shifts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
TURN: Final = 1e-6  # rad: lines that differ by less are parallel
ASIDE: Final = 5e-4  # m: segments that lie this close aside share a line


@dataclass(frozen=True, slots=True)
class Planes:
    """Frames of all faces as columns: origin, axes, normal (n, 3) [m]."""

    origin: Floats
    across: Floats
    up: Floats
    normal: Floats

    def flat(self, face: Ints, points: Floats) -> Floats:
        """Points (n, 3) in the plane of their faces, (n, 3): across, up, off the plane [m]."""
        rel = points - self.origin[face]
        return np.stack(
            [np.einsum("ij,ij->i", rel, axes[face]) for axes in (self.across, self.up, self.normal)],
            axis=1,
        )


def ends_of(polylines: Sequence[Floats]) -> tuple[Floats, Floats]:
    """First and last point of each polyline (k, 3): two arrays (n, 3)."""
    points = np.concatenate(polylines)
    sizes = np.array([len(line) for line in polylines])
    last = np.cumsum(sizes) - 1
    return points[last - sizes + 1], points[last]


def planes(faces: Sequence[Face]) -> Planes:
    """Frames of faces."""
    return Planes(
        np.array([face.frame.origin for face in faces]),
        np.array([face.frame.across for face in faces]),
        np.array([face.frame.up for face in faces]),
        np.array([face.normal for face in faces]),
    )


@dataclass(frozen=True, slots=True)
class OnLines:
    """Segments on their lines.

    Parameters
    ----------
    way : ndarray (n,)
        Number of the direction of each segment, within its group.
    line : ndarray (n,)
        Number of its line.
    start, end : ndarray (n,)
        Place along the line, shifted by ``line * width`` so that lines do not mix [m].
    turned : ndarray of bool (n,)
        Runs against its line.
    directions : ndarray (W, 2)
        Unit vector of each way.
    way_group : ndarray (W,)
        Group of each way; ascending.
    line_key : ndarray (L,)
        ``way * width + offset`` of each line; ascending.
    width : float
        [m]
    """

    way: Ints
    line: Ints
    start: Floats
    end: Floats
    turned: NDArray[np.bool_]
    directions: Floats
    way_group: Ints
    line_key: Floats
    width: float


def _offset(directions: Floats, points: Floats) -> Floats:
    cross: Floats = directions[:, 0] * points[:, 1] - directions[:, 1] * points[:, 0]
    return cross


def on_lines(group: Ints, starts: Floats, ends: Floats) -> OnLines:
    """Gather segments by line.

    Parameters
    ----------
    group : ndarray (n,)
        Segments of different groups never share a line.
    starts, ends : ndarray (n, 2)
        In the plane of the face [m].

    Returns
    -------
    OnLines
    """
    step = ends - starts
    length = np.linalg.norm(step, axis=1)
    turned = (step[:, 0] < -1e-9 * length) | ((np.abs(step[:, 0]) <= 1e-9 * length) & (step[:, 1] < 0))
    step = np.where(turned[:, None], -step, step)
    angle = np.arctan2(step[:, 1], step[:, 0])
    way = clusters(angle + shifts(group, 10.0), TURN)
    first = np.unique(way, return_index=True)[1]
    directions = step[first] / length[first][:, None]
    width = 4.0 * float(np.abs(np.concatenate([starts, ends])).max()) + 10.0
    offset = _offset(directions[way], starts)
    key = shifts(way, width) + offset
    line = clusters(key, ASIDE)
    along = [
        np.einsum("ij,ij->i", directions[way], points) + shifts(line, width) for points in (starts, ends)
    ]
    low, high = np.minimum(*along), np.maximum(*along)
    line_key = np.full(int(line.max()) + 1, np.inf)
    np.minimum.at(line_key, line, key)
    return OnLines(way, line, low, high, turned, directions, group[first], line_key, width)
