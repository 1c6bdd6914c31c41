"""Water that passes each joint while the hull is bare, without a weather file.

Roofs: stated monthly rain x bare days ÷ 30 x run-off length up the slope; walls: the same x catch x height of wall above. Water
gathers in valleys and along walls that stand on a roof's side. Rain in mm is L/m2, so the result is L per metre of width.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building
from hullwright.evidence import ESTIMATE, Figure
from hullwright.hull.model import FaceKind, Hull
from hullwright.joints.model import JointKind, JointSet

Floats = NDArray[np.float64]
DAYS_A_MONTH: Final = 30.0

DEFAULTS: Final[Mapping[str, Figure]] = {
    "water.catch": Figure(0.2, "", ESTIMATE),  # share of the rain's depth that drives against a wall
    "water.valley": Figure(2.0, "", ESTIMATE),  # stream in a valley against the mean of its two roofs
    "water.beside_wall": Figure(1.5, "", ESTIMATE),  # stream along a wall on a roof's side
    "water.intensity": Figure(1.0, "mm/h", ESTIMATE),  # mean intensity while it rains
}

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
        Monthly rain [mm], bare days; its figures win over :data:`DEFAULTS`.
    hull : Hull
    joints : JointSet

    Returns
    -------
    Exposure
        An estimate throughout: the factors are our own.
    """
    figures = {name: building.figures.get(name, default).value for name, default in DEFAULTS.items()}
    kinds = {face.id: face.kind for face in hull.faces}
    open_air = np.array(
        [any(kinds[name] not in _SHELTERED for name in joint.faces) for joint in joints.joints]
    )
    gathers = np.array([figures[_GATHERS[j.kind]] if j.kind in _GATHERS else 1.0 for j in joints.joints])
    catch = np.array([1.0 if joint.roof_water else figures["water.catch"] for joint in joints.joints])
    above = np.array([joint.upslope for joint in joints.joints])
    water: Floats = fallen(building) * np.where(open_air, above * gathers * catch, 0.0)
    return Exposure(water, _by_run(joints, water), _wetted(building, joints, kinds, figures))


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
