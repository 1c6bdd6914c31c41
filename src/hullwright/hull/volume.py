"""Inner volume and floor area: what the air changes are counted in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np

from hullwright.building.model import Building, BuildUp, Mass
from hullwright.errors import MassingError, Problem
from hullwright.evidence import STATED, Evidence, Figure, Mark
from hullwright.hull.build import body
from hullwright.hull.facets import signed_area
from hullwright.hull.model import Face, FaceKind, Floats, Hull
from hullwright.hull.stated import check_stated
from hullwright.units import Show

if TYPE_CHECKING:
    from manifold3d import CrossSection
else:
    CrossSection = Any

WORKED_OUT = Evidence(
    Mark.ESTIMATE, "worked out from the hull and the thickness of walls, roof, floor and ceiling"
)


def inner_volume(hull: Hull, building: Building) -> Figure:
    """Give the volume inside the build-up; a stated volume wins.

    Every face moves in by the thickness of its group (walls, roof, floor, ceiling) and every corner to where its
    faces then meet; the volume follows from the divergence theorem, V = Σ d A / 3 with d the distance of a face's
    plane from the origin. Parapets count as outside. Exact where three planes meet in each corner or those that meet
    have one thickness and slope; else the corner is put where it fits its planes best (least squares).

    Parameters
    ----------
    hull : Hull
    building : Building

    Returns
    -------
    Figure
        [m3], marked ``stated by user`` or ``estimate``.

    Raises
    ------
    MassingError
        The build-up leaves no room.
    """
    check_stated(hull, building)
    if building.build_up.inner_volume is not None:
        return Figure(building.build_up.inner_volume, "m3", STATED)
    if any(face.kind is FaceKind.PARAPET_TOP for face in hull.faces):
        hull = body(_without_parapets(building))
    corners = _moved(hull.faces, building.build_up)
    volume = 0.0
    for face in hull.faces:
        loops = [np.array([corners[_key(p)] for p in loop]) for loop in face.loops]
        size = sum(signed_area(loop, face.normal) for loop in loops)
        volume += (face.offset - _thickness(face, building.build_up)) * size / 3
    show = Show(building.system)
    if not 0 < volume < hull.volume * (1 + 1e-9):
        problem = Problem(
            "the build-up leaves no room inside",
            got=f"{show.fine_volume(volume)} of {show.fine_volume(hull.volume)}",
            allowed="thicknesses that leave a volume",
            hint="check the build-up's thicknesses, or state the inner volume",
        )
        raise MassingError("no inner volume", [problem])
    return Figure(volume, "m3", WORKED_OUT)


def _without_parapets(building: Building) -> Building:
    bare = [
        replace(m, roof=replace(m.roof, parapet_height=0.0, parapet_thickness=0.0)) for m in building.masses
    ]
    return replace(building, masses=tuple(bare), openings=(), penetrations=())


def _thickness(face: Face, layers: BuildUp) -> float:
    by_kind = {
        FaceKind.ROOF: layers.roof,
        FaceKind.FLAT_ROOF: layers.roof,
        FaceKind.CEILING: layers.ceiling,
        FaceKind.GROUND: layers.floor,
        FaceKind.FLOOR_OVER_AIR: layers.floor,
    }
    return by_kind.get(face.kind, layers.wall)


def _key(point: Floats) -> tuple[float, ...]:
    return tuple(point.tolist())


def _moved(faces: Sequence[Face], layers: BuildUp) -> dict[tuple[float, ...], Floats]:
    """Give the new place of each corner of the hull."""
    meeting: dict[tuple[float, ...], set[int]] = defaultdict(set)
    for number, face in enumerate(faces):
        for loop in face.loops:
            for point in loop:
                meeting[_key(point)].add(number)
    out = {}
    for corner, numbers in meeting.items():
        normals = np.array([faces[i].normal for i in sorted(numbers)])
        shift = np.array([-_thickness(faces[i], layers) for i in sorted(numbers)])
        out[corner] = np.array(corner) + np.linalg.pinv(normals, rcond=1e-3) @ shift
    return out


def floor_area(building: Building) -> Figure:
    """Give the floor area inside the walls, all storeys and basements; a stated area wins.

    Storeys of overlapping masses that share a height are counted once.

    Parameters
    ----------
    building : Building

    Returns
    -------
    Figure
        [m2], marked ``stated by user`` or ``estimate``.
    """
    if building.build_up.floor_area is not None:
        return Figure(building.build_up.floor_area, "m2", STATED)
    levels: list[tuple[float, float, CrossSection]] = []
    for mass in sorted((m for m in building.masses if m.inside), key=lambda m: m.id):
        for low, high in _storeys(mass):
            plan = _plan(mass)
            for i, (a, b, known) in enumerate(levels):
                if min(high, b) - max(low, a) > 0.5 * min(high - low, b - a):
                    levels[i] = (a, b, known + plan)
                    break
            else:
                levels.append((low, high, plan))
    return Figure(sum(_inset(plan, building.build_up.wall) for _, _, plan in levels), "m2", WORKED_OUT)


def height(hull: Hull, building: Building) -> float:
    """Height of the inside, from its lowest floor to the highest point of the hull [m].

    Parameters
    ----------
    hull : Hull
    building : Building

    Returns
    -------
    float
        The thickness of floor and roof is not taken off.
    """
    return float(hull.vertices[:, 2].max()) - min(mass.base for mass in building.masses if mass.inside)


def _storeys(mass: Mass) -> list[tuple[float, float]]:
    floors = [mass.floor(i) for i in range(len(mass.storeys) + 1)]
    spans = list(pairwise(floors))
    return [(mass.bottom.level, mass.base), *spans] if mass.bottom.kind == "basement" else spans


def _plan(mass: Mass) -> CrossSection:
    from manifold3d import CrossSection as Plan  # noqa: PLC0415 - heavy import, only where needed
    from manifold3d import FillRule  # noqa: PLC0415

    return Plan([np.array(mass.outline)], FillRule.NonZero)


def _inset(plan: CrossSection, thickness: float) -> float:
    from manifold3d import JoinType  # noqa: PLC0415

    return float(plan.offset(-thickness, JoinType.Miter, 100.0).area())
