"""Joints round openings: layer to frame at head, jambs and sill, and the corners of the rough opening."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building
from hullwright.hull.model import Face, Hull, PlacedOpening
from hullwright.joints.draft import Draft
from hullwright.joints.figures import figure
from hullwright.joints.model import JointKind

Floats = NDArray[np.float64]


def _side(step: Floats) -> JointKind:
    """Head, jamb or sill, by the direction of an edge that keeps the opening on its left."""
    if abs(step[0]) < abs(step[1]):
        return JointKind.OPENING_JAMB
    return JointKind.OPENING_SILL if step[0] > 0 else JointKind.OPENING_HEAD


def opening_drafts(building: Building, hull: Hull) -> list[Draft]:
    """Joints of all openings.

    Parameters
    ----------
    building : Building
    hull : Hull

    Returns
    -------
    list of Draft
        For each opening one line an edge (`curb` for skylights) and one piece a corner, from the lower left on.
    """
    return [
        draft
        for number, face in enumerate(hull.faces)
        for placed in face.openings
        for draft in _one(building, number, face, placed)
    ]


def _one(building: Building, number: int, face: Face, placed: PlacedOpening) -> list[Draft]:
    opening = placed.opening
    flat = placed.polygon
    steps = np.roll(flat, -1, axis=0) - flat
    lengths = np.linalg.norm(steps, axis=1).tolist()
    points = face.frame.lift(flat)
    flanged = "flange" in opening.frame
    gap = figure(building, "flange_gap" if flanged else "frame_gap")
    depth = figure(building, "panel_thickness")
    substrates = (face.substrate, opening.frame)
    drafts: list[Draft] = []
    for i, length in enumerate(lengths):
        kind = JointKind.CURB if opening.kind == "skylight" else _side(steps[i])
        line = Draft(
            name=f"{opening.id}:{kind}",
            kind=kind,
            points=np.stack([points[i], points[(i + 1) % len(points)]]),
            faces=(number,),
            substrates=substrates,
            gap=gap,
            depth=depth,
            length=length,
            stage="openings",
            level=bool(abs(steps[i][1]) < 1e-6),
            source=opening.id,
            place=(float(i),),
            mass=opening.mass,
        )
        corner = Draft(
            name=f"{opening.id}:{JointKind.OPENING_CORNER}",
            kind=JointKind.OPENING_CORNER,
            points=points[i : i + 1],
            faces=(number,),
            substrates=substrates,
            gap=gap,
            depth=depth,
            count=1.0,
            stage="openings",
            source=opening.id,
            place=(float(i),),
            mass=opening.mass,
        )
        drafts += [line, corner]
    return drafts
