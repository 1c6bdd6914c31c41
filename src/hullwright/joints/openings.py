"""Joints round openings: layer to frame at head, jambs and sill, and the corners of the rough opening."""

from __future__ import annotations

import math

import numpy as np

from hullwright.building.model import Building
from hullwright.hull.model import Face, Hull, PlacedOpening
from hullwright.joints.before import kind_was
from hullwright.joints.draft import Draft
from hullwright.joints.figures import figure
from hullwright.joints.model import JointKind
from hullwright.joints.naming import CORNER, EDGE
from hullwright.joints.words import CURB, PARTS, titled


def _side(step: list[float]) -> JointKind:
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
    steps = (np.roll(flat, -1, axis=0) - flat).tolist()
    points = face.frame.lift(flat)
    ring = np.concatenate([points, points[:1]])
    flanged = "flange" in opening.frame
    gap = figure(building, "flange_gap" if flanged else "frame_gap")
    depth = figure(building, "panel_thickness")
    substrates = (face.substrate, opening.frame)
    drafts: list[Draft] = []
    mark, said = opening.mark or opening.id, titled(opening.kind, opening.mark, opening.id)
    edges = CURB if opening.kind == "skylight" else PARTS
    for i, step in enumerate(steps):
        kind = JointKind.CURB if opening.kind == "skylight" else _side(step)
        line = Draft(
            name=f"{mark}/{EDGE + i}",
            was=f"{opening.id}:{kind_was(kind)}",
            kind=kind,
            points=ring[i : i + 2],
            faces=(number,),
            substrates=substrates,
            gap=gap,
            depth=depth,
            length=math.hypot(*step),
            stage="openings",
            level=abs(step[1]) < 1e-6,
            source=opening.id,
            place=(float(i),),
            mass=opening.mass,
            mark=opening.mark,
            title=f"{said}, {edges.get(EDGE + i, kind.value)}",
        )
        corner = Draft(
            name=f"{mark}/{CORNER + i}",
            was=f"{opening.id}:{kind_was(JointKind.OPENING_CORNER)}",
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
            mark=opening.mark,
            title=f"{said}, {PARTS.get(CORNER + i, JointKind.OPENING_CORNER.value)}",
        )
        drafts += [line, corner]
    return drafts
