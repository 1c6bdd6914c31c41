"""Slivers: strips and steps too small to be meant, and ridges that all but meet, which leave a tiny third valley or a strip."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Final

import numpy as np

from hullwright.evidence import ESTIMATE, Figure
from hullwright.hull.model import Edge, Face, FaceKind, Hull
from hullwright.units import INCH, Show

STRIP: Final = Figure(2 * INCH, "m", ESTIMATE)
"""A face that is narrower on the mean, or an edge of a roof that is shorter, is said."""

ALL_BUT: Final = Figure(4 * INCH, "m", ESTIMATE)
"""Ridges whose heights differ by less all but meet."""

VALLEY: Final = Figure(12 * INCH, "m", ESTIMATE)
"""A valley that is shorter is said."""

_SAME: Final = 2e-3  # m: heights that differ by less are one
_FLUSH: Final = 1.0  # deg
_FACES: Final = frozenset(
    {
        FaceKind.WALL,
        FaceKind.GARAGE_WALL,
        FaceKind.ROOF,
        FaceKind.FLAT_ROOF,
        FaceKind.FLOOR_OVER_AIR,
        FaceKind.CEILING,
    }
)


def slivers(hull: Hull, system: str) -> tuple[str, ...]:
    """Say what is too small to be meant: where, how large, what to do.

    Parameters
    ----------
    hull : Hull
    system : str
        ``us`` or ``metric``.

    Returns
    -------
    tuple of str
        One sentence a place, each body pair and face once.
    """
    show = Show(system)
    ridges = dict(_ridges(hull, show))
    strips = list(_strips(hull, show))
    thin = {number for number, _ in strips}
    return (*ridges.values(), *(text for _, text in strips), *_steps(hull, show, thin, set(ridges)))


def _tops(hull: Hull) -> dict[str, float]:
    """Highest point of the sloped roof of each body [m]."""
    tops: dict[str, float] = {}
    for face in hull.faces:
        if face.kind is FaceKind.ROOF:
            tops[face.mass] = max(tops.get(face.mass, -np.inf), float(face.loops[0][:, 2].max()))
    return tops


def _ridges(hull: Hull, show: Show) -> Iterable[tuple[frozenset[str], str]]:
    """Pairs of bodies whose roofs meet in a valley that ends at ridges of almost one height."""
    tops = _tops(hull)
    valleys: dict[frozenset[str], list[Edge]] = defaultdict(list)
    for edge in hull.edges:
        left, right = hull.faces[edge.left], hull.faces[edge.right]
        if left.kind is right.kind is FaceKind.ROOF and edge.dihedral < -_FLUSH and left.mass != right.mass:
            valleys[frozenset((left.mass, right.mass))].append(edge)
    for pair, edges in sorted(valleys.items(), key=lambda item: sorted(item[0])):
        low, high = sorted(pair, key=lambda name: (tops[name], name))
        apart = tops[high] - tops[low]
        if not _SAME < apart < ALL_BUT.value:
            continue
        ends = [point for edge in edges for point in (edge.start, edge.end)]
        near = [point for point in ends if abs(float(point[2]) - tops[low]) < _SAME]
        if near:
            x, y, _ = near[0].tolist()
            small = min(edges, key=lambda edge: edge.length)
            third = (
                f": a third valley, {show.size(small.length)} long, is left on the far side"
                if len(edges) > 2
                else ": what is left between them is too narrow to frame and to seal well"
            )
            where = f"only {show.size(apart)} over that of {low}, at {show.at(x, y)} in plan"
            hint = f"Give both ridges one height (width or pitch), or set them {show.size(ALL_BUT.value)} or more apart"
            yield pair, f"{high} and {low}: the ridge of {high} lies {where}{third}. {hint}"


def _strips(hull: Hull, show: Show) -> Iterable[tuple[int, str]]:
    """Faces that are narrow on the mean: twice the area over the perimeter."""
    for number, face in enumerate(hull.faces):
        wide = 2 * face.area / face.perimeter
        if face.kind in _FACES and wide < STRIP.value:
            size = f"about {show.size(wide)} wide and {show.size(_long(face))} long"
            hint = "Make the bodies flush there, or move them farther apart"
            yield number, f"{face.id}: a {face.kind.value} only {size}, at {_spot(face, show)}. {hint}"


def _long(face: Face) -> float:
    return float(np.ptp(face.frame.drop(face.loops[0]), axis=0).max())


def _spot(face: Face, show: Show) -> str:
    return show.at(*face.loops[0].mean(axis=0).tolist())


def _steps(hull: Hull, show: Show, thin: set[int], told: set[frozenset[str]]) -> Iterable[str]:
    """Edges of roofs that are too short to be meant, but for those of what is said already: one of each two faces."""
    seen: set[frozenset[str]] = set()
    for edge in sorted(hull.edges, key=lambda edge: edge.length):
        faces = [hull.faces[edge.left], hull.faces[edge.right]]
        pair = frozenset(name for face in faces for name in face.masses)
        valley = all(face.kind is FaceKind.ROOF for face in faces) and edge.dihedral < -_FLUSH
        roof = any(face.kind is FaceKind.ROOF for face in faces) and all(
            face.kind in _FACES for face in faces
        )
        least = VALLEY.value if valley else STRIP.value
        if not roof or edge.length >= least or {edge.left, edge.right} & thin:
            continue
        if any(pair <= known or known <= pair for known in told | seen):
            continue
        seen.add(pair)
        where = show.at(*((edge.start + edge.end) / 2).tolist())
        what = "a valley" if valley else "an edge"
        yield (
            f"{' and '.join(face.id for face in faces)} meet in {what} of only {show.size(edge.length)}, at {where}. "
            f"Check the heights, widths and pitches of {' and '.join(sorted(pair))}"
        )
