"""Solids of the masses and their union.

Every mass is grown by a few micrometres, each by its own amount, so that nothing touches or coincides by chance; the
union of the grown solids is sound whatever the rounding, and afterwards every vertex is put back onto the exact planes
that meet in it (:mod:`hullwright.hull.surface`).
"""

from __future__ import annotations

from collections.abc import Container, Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Point
from hullwright.hull.shape import Parapet, RoofPlane, Shape

if TYPE_CHECKING:
    from manifold3d import Manifold
else:
    Manifold = Any

GROWTH: Final = 1e-6
"""Least growth of a mass inside the hull [m]; masses outside grow by a fifth of it."""


def growths(shapes: Sequence[Shape], special: Container[str]) -> dict[str, float]:
    """Give each mass its own growth [m]: inside ones 1 to 1.5 times, cold ones 0.2 to 0.3 times :data:`GROWTH`.

    Of two masses flush in one plane and overlapping, the one that grows more is seen: `special` ones (with a party, garage
    or shaft wall stated) first, then by name.
    """
    order = sorted(shapes, key=lambda s: (s.mass.id not in special, s.mass.id), reverse=True)
    step = 0.5 / max(len(order), 1)
    return {s.mass.id: GROWTH * (1 + step * i) * (1.0 if s.mass.inside else 0.2) for i, s in enumerate(order)}


def solid(shape: Shape, growth: float) -> Manifold:
    """Make the solid of a mass, every plane moved out by `growth` [m]."""
    from manifold3d import Manifold as Body  # noqa: PLC0415 - heavy import, only where needed
    from manifold3d import OpType  # noqa: PLC0415

    levels = np.array(shape.levels)
    levels[0] -= growth
    levels[-1] += growth
    body = _prism(shape.outline(growth), levels, shape.walls, shape.bottom, shape.top)
    if shape.roof:
        size = 4 * float(np.abs(np.array([*shape.outline(), (levels[0], levels[-1])])).max()) + 10
        cuts = [_half_space(plane, growth, size, shape.top) for plane in shape.roof]
        body = Body.batch_boolean([body, *cuts], OpType.Intersect)
    if shape.parapet is not None:
        body -= _hollow(shape, shape.parapet, growth, float(levels[-1]) + 1.0)
    return body


def _hollow(shape: Shape, parapet: Parapet, growth: float, top: float) -> Manifold:
    levels = np.array([parapet.floor + growth, top])
    return _prism(shape.hollow(parapet, growth), levels, (parapet.sides,), parapet.bottom, shape.top)


def _prism(
    outline: Sequence[Point],
    levels: NDArray[np.float64],
    walls: Sequence[Sequence[int]],
    bottom: int,
    top: int,
) -> Manifold:
    n, k = len(outline), len(levels)
    plan = np.array(outline)
    points = np.empty((k, n, 3))
    points[:, :, :2] = plan
    points[:, :, 2] = levels[:, None]
    i = np.arange(n)
    j = (i + 1) % n
    triangles, labels = [], []
    for band in range(k - 1):
        a, b = band * n + i, band * n + j
        triangles += [np.stack([a, b, b + n], 1), np.stack([a, b + n, a + n], 1)]
        labels += [np.array(walls[band]), np.array(walls[band])]
    cap = _triangulate(plan)
    triangles += [cap[:, ::-1], cap + (k - 1) * n]
    labels += [np.full(len(cap), bottom), np.full(len(cap), top)]
    return _manifold(points.reshape(-1, 3), np.concatenate(triangles), np.concatenate(labels))


def _triangulate(plan: NDArray[np.float64]) -> NDArray[np.int64]:
    from manifold3d import triangulate  # noqa: PLC0415

    return np.asarray(triangulate([plan]), dtype=np.int64)


_BOX: Final = np.array(
    [
        [4, 5, 6], [4, 6, 7], [0, 2, 1], [0, 3, 2], [0, 1, 5], [0, 5, 4],
        [1, 2, 6], [1, 6, 5], [2, 3, 7], [2, 7, 6], [3, 0, 4], [3, 4, 7],
    ]
)  # fmt: skip


def _half_space(plane: RoofPlane, growth: float, size: float, other: int) -> Manifold:
    """Make a box as large as needed under a plane; its upper face carries the plane's label."""
    n = np.array(plane.normal)
    u = np.cross([0.0, 1.0, 0.0] if abs(n[0]) > abs(n[1]) else [1.0, 0.0, 0.0], n)
    u /= np.linalg.norm(u)
    v = np.cross(n, u)
    top = n * (plane.offset + growth)
    ring = [top + size * (s * u + t * v) for s, t in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    points = np.array([*(p - 2 * size * n for p in ring), *ring])
    labels = np.array([plane.label] * 2 + [other] * 10)
    return _manifold(points, _BOX, labels)


def _manifold(
    points: NDArray[np.float64], triangles: NDArray[np.int64], labels: NDArray[np.int64]
) -> Manifold:
    from manifold3d import Manifold as Body  # noqa: PLC0415
    from manifold3d import Mesh64  # noqa: PLC0415

    mesh = Mesh64(
        vert_properties=np.ascontiguousarray(points),
        tri_verts=np.ascontiguousarray(triangles, dtype=np.uint64),
        run_index=np.array([0, 3 * len(triangles)], dtype=np.uint64),
        run_original_id=np.array([Body.reserve_ids(1)], dtype=np.uint32),
        face_id=labels.astype(np.uint64),
    )
    return Body(mesh)


def unite(bodies: Sequence[Manifold]) -> Manifold:
    """Unite solids."""
    from manifold3d import Manifold as Body  # noqa: PLC0415
    from manifold3d import OpType  # noqa: PLC0415

    return bodies[0] if len(bodies) == 1 else Body.batch_boolean(list(bodies), OpType.Add)
