"""Does the hull close: what must hold whatever the house."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from hullwright.errors import BuildingFileError, HullOpenError, Problem
from hullwright.hull.model import Face, Hull
from hullwright.hull.surface import WELD


def stop_if(problems: Sequence[Problem]) -> None:
    """Raise all problems of openings and penetrations at once."""
    if problems:
        raise BuildingFileError("openings or penetrations do not lie on the hull as stated", problems)


def invariants(hull: Hull) -> None:
    """Check that the hull closes: raise HullOpenError with the figures where it does not.

    Each edge is used once each way (what is not is an open end), the area vectors sum to nothing, the volume is
    positive, the Euler number is that of a closed surface, faces and mesh have the same area, and the edges of each
    face are as long as its loops.
    """
    faults = [*_area_faults(hull), *_edge_faults(hull)]
    if faults:
        raise HullOpenError("the hull does not close", [Problem(fault) for fault in faults])


def _area_faults(hull: Hull) -> list[str]:
    faults = []
    slack = WELD * max(face.perimeter for face in hull.faces)  # corners within a hair of each other are one
    rest = np.linalg.norm(sum(face.area * face.normal for face in hull.faces))
    if rest > slack:
        faults.append(f"the area vectors of the faces leave {rest:.3g} m2")
    if hull.volume <= 0:
        faults.append(f"the volume is {hull.volume:.3g} m3")
    a, b, c = (hull.mesh_points[hull.mesh_triangles[:, k]] for k in range(3))
    areas = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
    by_face = np.bincount(hull.mesh_face, areas, len(hull.faces))
    for face, meshed in zip(hull.faces, by_face, strict=True):
        if abs(face.area - meshed) > slack or face.area <= 0:
            faults.append(f"{face.id} has {face.area:.6f} m2, its triangles {meshed:.6f} m2")
    return faults


def _edge_faults(hull: Hull) -> list[str]:
    faults = [f"{hull.faces[e.face].id} is open along an edge" for e in hull.open_ends]
    around = np.zeros(len(hull.faces))
    for edge in hull.edges:
        around[[edge.left, edge.right]] += edge.length
    for face, length in zip(hull.faces, around, strict=True):
        if abs(length - face.perimeter) > 1e-6 * max(length, 1.0):
            faults.append(f"{face.id} has a perimeter of {face.perimeter:.6f} m, its edges {length:.6f} m")
    number = euler(hull)
    if number % 2 or number > 2:
        faults.append(f"the Euler number is {number}")
    return faults


def euler(hull: Hull) -> int:
    """Vertices less edges plus faces less holes: 2 for a body without passages, 2 less for each passage.

    A hole in a face counts as one edge less: ``V - E + F - H`` (Euler-Poincaré formula); a hole that touches the rest
    of the face's border in a point is none in this sense.
    """
    holes = sum(_borders(face) - 1 for face in hull.faces)
    return len(hull.vertices) - len(hull.edges) + len(hull.faces) - holes


def _borders(face: Face) -> int:
    """Connected pieces of a face's border."""
    pieces: list[set[tuple[float, ...]]] = []
    for loop in face.loops:
        corners = {tuple(point) for point in loop.tolist()}
        meeting = [piece for piece in pieces if piece & corners]
        pieces = [piece for piece in pieces if not piece & corners] + [corners.union(*meeting)]
    return len(pieces)
