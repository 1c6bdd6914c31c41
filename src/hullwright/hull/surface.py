"""From solids to labelled triangles whose vertices lie on the exact planes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from hullwright.hull.planes import Table

if TYPE_CHECKING:
    from manifold3d import Manifold
else:
    Manifold = Any

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]

WELD: Final = 1e-4
"""Vertices closer than this are one [m]; nothing on a house is that small."""


@dataclass(frozen=True, slots=True)
class Surface:
    """Triangles of the hull.

    Parameters
    ----------
    points : ndarray (P, 3)
        [m]
    triangles : ndarray (T, 3)
    labels : ndarray (T,)
        Label numbers.
    cold : ndarray (T,)
        Whether a mass outside the hull stands against it.
    """

    points: Floats
    triangles: Ints
    labels: Ints
    cold: Bools


def surface(hull: Manifold, cold: Manifold | None, table: Table) -> Surface:
    """Take the triangles of `hull`, split along the outline of contact with `cold`, and snap them to their planes."""
    pieces = [(hull, False)] if cold is None else _split(hull, cold)
    planes = np.array([label.plane for label in table.labels])
    warm = np.array([not label.cold for label in table.labels])
    points, triangles, labels, flags, start = [], [], [], [], 0
    for body, flag in pieces:
        xyz, tri, number = _mesh(body)
        points.append(xyz)
        triangles.append(tri + start)
        labels.append(number)
        flags.append(np.full(len(tri), flag))
        start += len(xyz)
    all_points, all_triangles = np.concatenate(points), np.concatenate(triangles)
    all_labels, all_flags = np.concatenate(labels), np.concatenate(flags)
    snapped, cluster = _settled(all_points, all_triangles, planes[all_labels], table)
    tri = cluster[all_triangles]
    keep = warm[all_labels] & (thickness(snapped[tri]) > WELD / 10)
    return Surface(snapped, tri[keep], all_labels[keep], all_flags[keep])


def _split(hull: Manifold, cold: Manifold) -> list[tuple[Manifold, bool]]:
    touching, free = hull.split(cold)
    return [(body, flag) for body, flag in ((touching, True), (free, False)) if not body.is_empty()]


def _mesh(body: Manifold) -> tuple[Floats, Ints, Ints]:
    mesh = body.to_mesh64()
    points = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    triangles = np.asarray(mesh.tri_verts, dtype=np.int64)
    source, target = np.asarray(mesh.merge_from_vert), np.asarray(mesh.merge_to_vert)
    if len(source):
        renumber = np.arange(len(points))
        renumber[source.astype(np.int64)] = target.astype(np.int64)
        triangles = renumber[triangles]
    return points, triangles, np.asarray(mesh.face_id, dtype=np.int64)


def weld(points: Floats, reach: float) -> Ints:
    """Number the points (k, 3) so that those within `reach` [m] of each other share the number of the first of them."""
    number = list(range(len(points)))
    cells: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    spots = points.tolist()
    size = 8 * reach
    for i, (x, y, z) in enumerate(spots):
        home = -1
        for cell in _cells((x, y, z), size, reach):
            for j in cells.get(cell, ()):
                a, b, c = spots[j]
                if abs(a - x) < reach and abs(b - y) < reach and abs(c - z) < reach:
                    home = number[j]
                    break
            if home >= 0:
                break
        if home >= 0:
            number[i] = home
        cells[int(x // size), int(y // size), int(z // size)].append(i)
    return np.array(number, dtype=np.int64)


def _cells(at: tuple[float, float, float], size: float, reach: float) -> list[tuple[int, int, int]]:
    ranges = [range(int((c - reach) // size), int((c + reach) // size) + 1) for c in at]
    return [(i, j, k) for i in ranges[0] for j in ranges[1] for k in ranges[2]]


def _settled(points: Floats, triangles: Ints, plane: Ints, table: Table) -> tuple[Floats, Ints]:
    """Weld and snap vertices; once more where snapping brought some together (planes that meet at a low angle)."""
    cluster = weld(points, WELD)
    points = _snap(points, cluster, triangles, plane, table)
    used = np.unique(cluster)
    again = used[weld(points[used], WELD)]
    if (again == used).all():
        return points, cluster
    renumber = np.arange(len(points))
    renumber[used] = again
    cluster = renumber[cluster]
    return _snap(points, cluster, triangles, plane, table), cluster


def _snap(points: Floats, cluster: Ints, triangles: Ints, plane: Ints, table: Table) -> Floats:
    """Move each vertex the least way that puts it on every plane that meets in it."""
    normals, offsets = np.array(table.normals), np.array(table.offsets)
    pairs = np.unique(np.stack([cluster[triangles].ravel(), np.repeat(plane, 3)], 1), axis=0)
    vertices, first, count = np.unique(pairs[:, 0], return_index=True, return_counts=True)
    out = points.copy()
    for k in np.unique(count):
        pick = count == k
        rows = pairs[first[pick][:, None] + np.arange(k), 1]
        at = points[vertices[pick]]
        n = normals[rows]
        miss = offsets[rows] - np.einsum("vkc,vc->vk", n, at)
        out[vertices[pick]] = at + np.einsum("vck,vk->vc", np.linalg.pinv(n, rcond=1e-3), miss)
    return out


def thickness(corners: Floats) -> Floats:
    """Least height of triangles (t, 3, 3) [m]."""
    sides = np.roll(corners, -1, axis=1) - corners
    longest = np.sqrt((sides**2).sum(axis=2)).max(axis=1)
    double = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1)
    heights: Floats = double / np.maximum(longest, 1e-300)
    return heights


def volume(points: Floats, triangles: Ints) -> float:
    """Enclosed volume by the divergence theorem [m3].

    Examples
    --------
    >>> corner = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1]])
    >>> round(volume(corner, np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])), 6)
    0.166667
    """
    a, b, c = (points[triangles[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def labels_seen(surface: Surface, wanted: Sequence[int]) -> Bools:
    """Triangles whose label is one of `wanted`."""
    seen: Bools = np.isin(surface.labels, np.array(wanted, dtype=np.int64))
    return seen
