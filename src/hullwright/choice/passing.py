"""Water that passes each run while the hull is bare, without a weather file.

Roofs: stated monthly rain x bare days ÷ 30 x upslope length; walls: the same x catch x height above; nothing on ceilings, on
walls with a garage, neighbour or shaft behind, and on faces that look down.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building
from hullwright.catalog import Catalog
from hullwright.hull.model import Face, FaceKind
from hullwright.joints.model import JointSet, Run

_DAYS_A_MONTH = 30.0
_SHELTERED = frozenset({FaceKind.GARAGE_WALL, FaceKind.PARTY_WALL, FaceKind.SHAFT_WALL, FaceKind.CEILING})


def passing(
    building: Building, joints: JointSet, faces: Mapping[str, Face], catalog: Catalog
) -> NDArray[np.float64]:
    """Water that passes each run per metre of its width.

    Parameters
    ----------
    building : Building
        Rain [mm a month] and bare days.
    joints : JointSet
        Runs with the run-off length above them [m].
    faces : mapping
        Faces by id.
    catalog : Catalog
        Catch of walls.

    Returns
    -------
    ndarray (R,)
        [L/m]
    """
    fallen = building.site.monthly_rain.value * building.site.bare_days / _DAYS_A_MONTH
    return np.array([fallen * _gathers(run, faces.get(run.face), catalog) for run in joints.runs])


def _gathers(run: Run, face: Face | None, catalog: Catalog) -> float:
    """Run-off length that feeds the run [m]."""
    if face is None or face.kind in _SHELTERED or face.tilt > 100.0:
        return 0.0
    return run.upslope if face.tilt < 80.0 else run.upslope * catalog.value("water.catch")
