"""Water on the bare hull, without a weather file.

Rain over the days exposed is the stated monthly rain x days ÷ 30. Roofs catch it on their plan area; against walls drives a share of
it (catch). Foundations get what runs down from the wall above them; garage, party and shaft walls, ceilings and floors over air stay
dry. What runs where is told by the drainage paths. Rain in mm is L/m2.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building
from hullwright.catalog.loading import starting_figures
from hullwright.evidence import ESTIMATE, Figure
from hullwright.exposure.lanes import DRY
from hullwright.exposure.paths import Widths, trace
from hullwright.exposure.streams import Streams, apart, flow
from hullwright.hull.model import FaceKind, Hull
from hullwright.joints.model import Joint, JointKind, JointSet

Floats = NDArray[np.float64]
DAYS_A_MONTH: Final = 30.0

FIGURES: Final = ("water.catch", "water.flaw_width", "water.stream", "water.intensity")
"""Keys of the catalogue's figures that are used here."""

_FOUNDATION: Final = frozenset({FaceKind.SLAB_EDGE, FaceKind.BASEMENT_WALL})
_ROOFS: Final = frozenset({FaceKind.ROOF, FaceKind.FLAT_ROOF, FaceKind.PARAPET_TOP})


@dataclass(frozen=True, slots=True)
class Exposure:
    """Water on the bare hull, nothing lost on the way.

    Parameters
    ----------
    streams : Streams
        What runs along the drainage paths.
    joints, joints_open : ndarray (J,)
        Water that passes each joint over the days exposed, per metre of width; and what reaches a line left open, by its
        length [L/m].
    runs, runs_open : ndarray (R,)
        The same for each run, mean over its length or pieces [L/m].
    wetted_edge : Figure
        Panel edge times hours wet [m h]: both edges of every seam that rain reaches.
    """

    streams: Streams
    joints: Floats
    joints_open: Floats
    runs: Floats
    runs_open: Floats
    wetted_edge: Figure


def fallen(building: Building) -> float:
    """Rain over the days exposed, on level ground [L/m2].

    Parameters
    ----------
    building : Building

    Returns
    -------
    float
    """
    return building.site.monthly_rain.value * building.site.bare_days / DAYS_A_MONTH


def figures(building: Building) -> dict[str, float]:
    """Figures used here: the building's own, else the starting figures."""
    starting = starting_figures()
    return {name: building.figures.get(name, starting[name]).value for name in FIGURES}


def rain(building: Building, hull: Hull) -> Floats:
    """Rain on each face over the days exposed (F,) [L per m2 of the face].

    Parameters
    ----------
    building : Building
    hull : Hull

    Returns
    -------
    ndarray (F,)
        What a weather file will replace.
    """
    level, catch = fallen(building), figures(building)["water.catch"]
    shares = [
        0.0
        if face.kind in DRY | _FOUNDATION
        else max(float(face.normal[2]), 0.0)
        if face.kind in _ROOFS
        else catch
        for face in hull.faces
    ]
    return level * np.array(shares, dtype=np.float64)


def passing(building: Building, hull: Hull, joints: JointSet, *, on_faces: Floats | None = None) -> Exposure:
    """Water along the drainage paths while the hull is bare.

    Parameters
    ----------
    building : Building
        Monthly rain [mm], days exposed; its figures win over those of the catalogue.
    hull : Hull
    joints : JointSet
    on_faces : ndarray (F,) or None
        Rain on each face [L per m2 of the face]; None: from the stated rain.

    Returns
    -------
    Exposure
        An estimate throughout: the factors are our own.
    """
    known = figures(building)
    widths = Widths(known["water.flaw_width"], known["water.stream"])
    if hull.edges:
        on = rain(building, hull) if on_faces is None else on_faces
        streams = flow(trace(hull, joints, widths), on)
    else:
        streams = apart(joints, _beside(building, known, joints), widths.strip)
    count = len(joints.joints)
    each = streams.by_joint(streams.passing, count), streams.by_joint(streams.open, count)
    runs = _by_run(joints, each[0]), _by_run(joints, each[1])
    return Exposure(streams, *each, *runs, _wetted(building, joints, hull, known))


def _beside(building: Building, known: Mapping[str, float], joints: JointSet) -> Floats:
    """What passes joints of a house that is stated as runs, without a surface [L/m]: rain on what is stated to lie above."""
    return fallen(building) * np.array(
        [joint.upslope * (1.0 if joint.roof_water else known["water.catch"]) for joint in joints.joints]
    )


def weight(joint: Joint) -> float:
    """Metres or pieces of a joint."""
    return joint.count if joint.kind.piece else joint.length


def _by_run(joints: JointSet, water: Floats) -> Floats:
    weights = np.array([weight(joint) for joint in joints.joints])
    return np.array(
        [
            np.average(water[list(run.joints)], weights=weights[list(run.joints)]) if run.joints else 0.0
            for run in joints.runs
        ]
    )


def _wetted(building: Building, joints: JointSet, hull: Hull, known: Mapping[str, float]) -> Figure:
    """Both panel edges of each seam, times the hours rain falls on it; on walls the share that the catch says."""
    kinds = {face.id: face.kind for face in hull.faces}
    hours = fallen(building) / known["water.intensity"]
    length = 0.0
    for joint in joints.joints:
        kind = kinds[joint.faces[0]]
        if joint.kind in {JointKind.SEAM_LEVEL, JointKind.SEAM_UPRIGHT} and kind not in DRY:
            length += 2 * joint.length * (1.0 if kind in _ROOFS else known["water.catch"])
    return Figure(length * hours, "m h", ESTIMATE)
