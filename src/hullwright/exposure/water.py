"""Water that passes each joint while the hull is bare, without a weather file.

Roofs: stated monthly rain x bare days ÷ 30 x run-off length up the slope; walls: the same x catch x height of wall above. Water
gathers in valleys and along walls that stand on a roof's side. Rain in mm is L/m2, so the result is L per metre of width.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building
from hullwright.catalog.loading import starting_figures
from hullwright.evidence import ESTIMATE, Figure
from hullwright.hull.model import FaceKind, Hull
from hullwright.joints.model import JointKind, JointSet

Floats = NDArray[np.float64]
DAYS_A_MONTH: Final = 30.0

FIGURES: Final = ("water.catch", "water.valley", "water.beside_wall", "water.intensity")
"""Keys of the catalogue's figures that are used here."""

_GATHERS: Final = {
    JointKind.VALLEY: "water.valley",
    JointKind.ROOF_TO_WALL_SIDE: "water.beside_wall",
}
_SHELTERED: Final = frozenset(
    {
        FaceKind.GARAGE_WALL,
        FaceKind.PARTY_WALL,
        FaceKind.SHAFT_WALL,
        FaceKind.CEILING,
        FaceKind.FLOOR_OVER_AIR,
        FaceKind.GROUND,
    }
)
_FOUNDATION: Final = frozenset({FaceKind.SLAB_EDGE, FaceKind.BASEMENT_WALL, FaceKind.GROUND})
_ROOFS: Final = frozenset({FaceKind.ROOF, FaceKind.FLAT_ROOF, FaceKind.PARAPET_TOP})


@dataclass(frozen=True, slots=True)
class Exposure:
    """Water on the bare hull.

    Parameters
    ----------
    joints : ndarray (J,)
        Water that passes each joint over the bare days [L/m].
    runs : ndarray (R,)
        The same for each run, mean over its length or pieces [L/m].
    wetted_edge : Figure
        Panel edge times hours wet [m h]: both edges of every seam that rain reaches.
    """

    joints: Floats
    runs: Floats
    wetted_edge: Figure


def fallen(building: Building) -> float:
    """Rain over the bare days [L/m2].

    Parameters
    ----------
    building : Building

    Returns
    -------
    float
    """
    return building.site.monthly_rain.value * building.site.bare_days / DAYS_A_MONTH


def passing(building: Building, hull: Hull, joints: JointSet) -> Exposure:
    """Water that passes each joint while the hull is bare.

    Parameters
    ----------
    building : Building
        Monthly rain [mm], bare days; its figures win over those of the catalogue.
    hull : Hull
    joints : JointSet

    Returns
    -------
    Exposure
        An estimate throughout: the factors are our own.
    """
    starting = starting_figures()
    figures = {name: building.figures.get(name, starting[name]).value for name in FIGURES}
    kinds = {face.id: face.kind for face in hull.faces}
    faces = [[kinds[name] for name in joint.faces] for joint in joints.joints]
    open_air = np.array([_open_air(around) for around in faces])
    gathers = np.array([figures[_GATHERS[j.kind]] if j.kind in _GATHERS else 1.0 for j in joints.joints])
    level = np.array([around[0] is FaceKind.PARAPET_TOP for around in faces])
    roofs = np.array([joint.roof_water for joint in joints.joints])
    catch = np.where(roofs | level, 1.0, figures["water.catch"])
    above = np.array([joint.upslope for joint in joints.joints])
    water: Floats = fallen(building) * np.where(open_air, above * gathers * catch, 0.0)
    return Exposure(water, _by_run(joints, water), _wetted(building, joints, kinds, figures))


def _open_air(around: Sequence[FaceKind]) -> bool:
    """Whether rain reaches a joint; slab edge and ground get what the wall above them gets."""
    above = [kind for kind in around if kind not in _FOUNDATION] or around
    return any(kind not in _SHELTERED for kind in above)


def _by_run(joints: JointSet, water: Floats) -> Floats:
    weight = np.array([joint.count if joint.kind.piece else joint.length for joint in joints.joints])
    return np.array(
        [
            np.average(water[list(run.joints)], weights=weight[list(run.joints)]) if run.joints else 0.0
            for run in joints.runs
        ]
    )


def _wetted(
    building: Building, joints: JointSet, kinds: Mapping[str, FaceKind], figures: Mapping[str, float]
) -> Figure:
    """Both panel edges of each seam, times the hours rain falls on it; on walls the share that the catch says."""
    hours = fallen(building) / figures["water.intensity"]
    length = 0.0
    for joint in joints.joints:
        kind = kinds[joint.faces[0]]
        if joint.kind in {JointKind.SEAM_LEVEL, JointKind.SEAM_UPRIGHT} and kind not in _SHELTERED:
            length += 2 * joint.length * (1.0 if kind in _ROOFS else figures["water.catch"])
    return Figure(length * hours, "m h", ESTIMATE)
