"""Lines laid across polygons: where a straight line runs inside.

All faces of a house are scanned at once: every face gets a *lane* of its own (its coordinates are shifted by a multiple of a
width that no face reaches), so that one sorted array serves them all. Work grows with the number of crossings, not with lines
times edges.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NUDGE: Final = 1e-6  # m: a line runs inside only where there is panel on both sides of it
LEAST: Final = 2e-3  # m: shorter pieces are drawing noise, not joints


@dataclass(frozen=True, slots=True)
class Stretches:
    """Pieces of lines: number of the line, from, to [m]."""

    line: Ints
    start: Floats
    end: Floats

    def keep(self, mask: NDArray[np.bool_]) -> Stretches:
        """Those that the mask names."""
        return Stretches(self.line[mask], self.start[mask], self.end[mask])


def shifts(number: Ints, width: float) -> Floats:
    """Where the lane of each number starts [m].

    Examples
    --------
    >>> shifts(np.array([0, 2]), 10.0).tolist()
    [0.0, 20.0]
    """
    return number.astype(np.float64) * width


def ranges(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """Spread ranges: for each i the numbers ``first[i] … first[i] + count[i] - 1``.

    Returns
    -------
    owner, number : ndarray
        Which range, and the number.

    Examples
    --------
    >>> owner, number = ranges(np.array([5, 9]), np.array([2, 1]))
    >>> owner.tolist(), number.tolist()
    ([0, 0, 1], [5, 6, 9])
    """
    owner = np.repeat(np.arange(len(count)), count)
    ahead = np.cumsum(count) - count
    return owner, np.arange(len(owner)) - ahead[owner] + first[owner]


def clusters(values: Floats, gap: float) -> Ints:
    """Number of the cluster that each value falls in: sorted values less than `gap` apart belong together.

    Examples
    --------
    >>> clusters(np.array([0.0, 3.0, 1e-7, 3.0]), 1e-4).tolist()
    [0, 1, 0, 1]
    """
    order = np.argsort(values, kind="stable")
    steps = np.concatenate([[0], np.cumsum(np.diff(values[order]) > gap)]) if len(values) else np.empty(0)
    number = np.empty(len(values), dtype=np.int64)
    number[order] = steps
    return number


def same_places(points: Floats, gap: float = 1e-4) -> Ints:
    """Number points (k, 3) so that points at one place [m] have one number.

    Examples
    --------
    >>> same_places(np.array([[0, 0, 1], [5, 0, 1], [0, 0, 1.00000001]])).tolist()
    [0, 1, 0]
    """
    columns = np.stack([clusters(points[:, axis], gap) for axis in range(points.shape[1])], axis=1)
    number: Ints = np.unique(columns, axis=0, return_inverse=True)[1].reshape(-1)
    return number


def crossings(edges: Floats, at: Floats) -> tuple[Ints, Floats, Ints]:
    """Where upright lines at `at` cross polygon edges.

    Parameters
    ----------
    edges : ndarray (E, 4)
        ``u0, v0, u1, v1`` of each edge [m].
    at : ndarray (Q,)
        Sorted places of the lines on the u axis [m].

    Returns
    -------
    line, v, edge : ndarray
        Line number, height and edge of each crossing, sorted by line and height. A line through a vertex meets the edge that starts
        there to the right of it.
    """
    low = np.minimum(edges[:, 0], edges[:, 2])
    high = np.maximum(edges[:, 0], edges[:, 2])
    first = np.searchsorted(at, low, side="left")
    count = np.searchsorted(at, high, side="left") - first
    edge, line = ranges(first, count)
    u0, v0, u1, v1 = edges[edge].T
    v = v0 + (at[line] - u0) / (u1 - u0) * (v1 - v0)
    order = np.lexsort((v, line))
    return line[order], v[order], edge[order]


def inside(edges: Floats, at: Floats) -> Stretches:
    """Stretches of upright lines that run inside the polygons on both their sides.

    Parameters
    ----------
    edges : ndarray (E, 4)
        Edges of all polygons, holes too, in their lanes [m].
    at : ndarray (Q,)
        Sorted places of the lines [m].

    Returns
    -------
    Stretches
        Sorted by line and start; a line along a polygon's edge is outside there.

    Examples
    --------
    >>> square = np.array([[0, 0, 2, 0], [2, 0, 2, 1], [2, 1, 0, 1], [0, 1, 0, 0]], dtype=float)
    >>> inside(square, np.array([0.0, 0.5, 2.0])).line.tolist()
    [1]
    """
    lines, heights, signs = [], [], []
    for nudge in (-NUDGE, NUDGE):
        line, v, _ = crossings(edges, at + nudge)
        sign = np.ones(len(line), dtype=np.int64)
        sign[1::2] = -1
        lines.append(line)
        heights.append(v)
        signs.append(sign)
    line, v, sign = np.concatenate(lines), np.concatenate(heights), np.concatenate(signs)
    order = np.lexsort((sign, v, line))
    line, v, depth = line[order], v[order], np.cumsum(sign[order])
    both = np.flatnonzero(depth[:-1] == 2) if len(depth) else np.empty(0, dtype=np.int64)
    found = Stretches(line[both], v[both], v[both + 1])
    return found.keep(found.end - found.start > LEAST)


def above(edges: Floats, points: Floats) -> Floats:
    """How far it goes up from each point inside its polygon.

    Parameters
    ----------
    edges : ndarray (E, 4)
        Edges of all polygons, in their lanes [m].
    points : ndarray (Q, 2)
        [m]

    Returns
    -------
    ndarray (Q,)
        Length up to the first edge [m]; 0 for a point with nothing of its polygon above it.
    """
    order = np.argsort(points[:, 0], kind="stable")
    best = np.zeros(len(points))
    for nudge in (-1e-3, 1e-3):
        line, v, _ = crossings(edges, points[order, 0] + nudge)
        rise = v - points[order[line], 1]
        up = rise > 5e-3
        line, rise = line[up], rise[up]
        first, start, count = np.unique(line, return_index=True, return_counts=True)
        odd = count % 2 == 1
        best[order[first[odd]]] = np.maximum(best[order[first[odd]]], rise[start[odd]])
    return best
