"""Pieces on faces: what passes the layer, what is fixed over it later, partition plates, overdriven fasteners."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building, FixedOver, PenetrationKind
from hullwright.errors import InputError, Problem
from hullwright.hull.model import Face, FaceKind, Hull
from hullwright.joints.before import kind_was
from hullwright.joints.draft import Draft
from hullwright.joints.figures import figure
from hullwright.joints.lanes import Axes, flat_edges
from hullwright.joints.model import Hole, JointKind, Panels
from hullwright.joints.naming import COVERED, HEADS, PLATES
from hullwright.joints.words import titled

Floats = NDArray[np.float64]

# What passes -> kind of ring and what its surface is usually made of (estimate; the patch test decides).
PASSING: Final[dict[PenetrationKind, tuple[JointKind, str]]] = {
    "pipe": (JointKind.PIPE, "plastic"),
    "hose bib": (JointKind.PIPE, "metal"),
    "duct": (JointKind.BOX, "metal"),
    "box": (JointKind.BOX, "plastic"),
    "cable group": (JointKind.CABLES, "plastic"),
    "beam": (JointKind.BEAM, "wood"),
    "flue": (JointKind.FLUE, "metal"),
    "chimney": (JointKind.FLUE, "concrete block"),
    "hatch": (JointKind.HATCH, "wood"),
    "chase": (JointKind.CHASE, "wood"),
    "light": (JointKind.LIGHT_OR_FAN, "metal"),
    "fan": (JointKind.LIGHT_OR_FAN, "metal"),
}


def penetration_drafts(building: Building, hull: Hull) -> list[Draft]:
    """One ring for each thing that passes the layer."""
    drafts: list[Draft] = []
    gap, depth = figure(building, "ring_gap"), figure(building, "panel_thickness")
    for number, face in enumerate(hull.faces):
        for placed in face.penetrations:
            passing = placed.penetration
            kind, substrate = PASSING[passing.kind]
            mark = passing.marks[placed.number] if passing.marks else ""
            drafts.append(
                Draft(
                    name=mark or f"{passing.id}.{placed.number + 1}",
                    was=f"{passing.id}:{placed.number + 1}",
                    kind=kind,
                    points=face.frame.lift(np.asarray(placed.at, dtype=np.float64)[None, :]),
                    faces=(number,),
                    substrates=(face.substrate, substrate),
                    gap=gap,
                    depth=depth,
                    count=1.0,
                    stage=passing.stage,
                    width=passing.width,
                    section_depth=passing.depth,
                    rigid=passing.rigid,
                    source=passing.id,
                    mass=passing.mass,
                    mark=mark,
                    title=titled(passing.kind, mark, passing.id),
                )
            )
    return drafts


_OPEN: Final = 0.002  # m: the drawn ring ends so far before its start, so that a line has two ends


def patch_drafts(building: Building, hull: Hull, holes: Sequence[Hole]) -> list[Draft]:
    """One seam round each piece of sheathing that closes a hole; nothing is behind it before blocking is put in."""
    drafts: list[Draft] = []
    numbers = {face.id: number for number, face in enumerate(hull.faces)}
    gaps = {str(group): sheathing.gap for group, sheathing in building.sheathing.items()}
    for hole in holes:
        if hole.face not in numbers:
            continue
        face = hull.faces[numbers[hole.face]]
        ring = np.concatenate([hole.outline, hole.outline[:1]])
        steps = np.linalg.norm(np.diff(ring, axis=0), axis=1)
        ring[-1] += (ring[-2] - ring[-1]) * min(_OPEN / max(float(steps[-1]), _OPEN), 0.5)
        drafts.append(
            Draft(
                name=hole.id,
                was=hole.id,
                kind=JointKind.PATCH,
                points=ring,
                faces=(numbers[hole.face],),
                substrates=(face.substrate, face.substrate),
                gap=gaps.get(face.group, 0.0),
                depth=figure(building, "panel_thickness"),
                length=float(steps.sum()),
                backed=False,
                mass=face.mass,
                title=f"patch where {hole.mark} was",
            )
        )
    return drafts


def contains(face: Face, point: Floats) -> bool:
    """Whether a point lies on a face: in its plane to 1 cm and inside its loops."""
    if abs(float(face.normal @ point) - face.offset) > 0.01:
        return False
    edges, _ = flat_edges([face.loops], Axes(point[None], face.frame.across[None], face.frame.up[None]))
    u0, v0, u1, v1 = edges.T
    spans = (u0 > 0) != (u1 > 0)
    heights = v0[spans] - u0[spans] * (v1[spans] - v0[spans]) / (u1[spans] - u0[spans])
    return bool(np.count_nonzero(heights > 0) % 2)


def strip_drafts(building: Building, hull: Hull) -> list[Draft]:
    """Strips that go on before the thing that is fixed over them: a line along its top.

    Raises
    ------
    InputError
        Where no wall of the hull lies behind a thing.
    """
    drafts: list[Draft] = []
    problems: list[Problem] = []
    for thing in building.fixed_over:
        points = _top(building, thing)
        middle = points.mean(axis=0)
        number = next(
            (i for i, face in enumerate(hull.faces) if face.tilt == 90 and contains(face, middle)), None
        )
        if number is None:
            problems.append(_nothing_behind(thing))
            continue
        face = hull.faces[number]
        drafts.append(
            Draft(
                name=thing.mark or thing.id,
                was=f"{thing.id}:{kind_was(JointKind.FIXED_OVER)}",
                kind=JointKind.FIXED_OVER,
                points=points,
                faces=(number,),
                substrates=(face.substrate, face.substrate),
                gap=0.0,
                depth=figure(building, "panel_thickness"),
                length=thing.width,
                level=True,
                width=thing.width,
                section_depth=thing.depth,
                source=thing.id,
                mass=thing.mass,
                mark=thing.mark,
                title=f"seal behind {titled(thing.kind, thing.mark, thing.id)}",
            )
        )
    if problems:
        raise InputError("things fixed over the layer can't be placed", problems)
    return drafts


def _top(building: Building, thing: FixedOver) -> Floats:
    mass = building.mass(thing.mass)
    start = np.array(mass.outline[thing.side])
    end = np.array(mass.outline[(thing.side + 1) % len(mass.outline)])
    step = (end - start) / np.linalg.norm(end - start)
    height = mass.floor(thing.storey) + thing.height
    ends = [start + (thing.offset + along) * step for along in (0.0, thing.width)]
    return np.array([[x, y, height] for x, y in ends])


def _nothing_behind(thing: FixedOver) -> Problem:
    return Problem(
        f"{thing.kind} {thing.id} has no wall of the hull behind the middle of its top",
        thing.where,
        got=f"mass {thing.mass}, side {thing.side}, offset {thing.offset:g} m, height {thing.height:g} m",
        allowed="a place on a wall of the hull",
        hint="check the side, the storey, the offset and the height",
    )


def plate_drafts(building: Building, hull: Hull) -> list[Draft]:
    """Partition top plates, shared out over the ceilings by area."""
    total = building.ceiling.partition_plates
    ceilings = [(i, face) for i, face in enumerate(hull.faces) if face.kind is FaceKind.CEILING]
    area = sum(face.area for _, face in ceilings)
    if total <= 0 or area <= 0:
        return []
    kind = JointKind.PARTITION_PLATE
    return [
        Draft(
            name=f"{face.code}/{PLATES}",
            was=f"{face.was}:{kind_was(kind)}",
            kind=kind,
            points=face.loops[0].mean(axis=0)[None, :],
            faces=(number,),
            substrates=(face.substrate, "wood"),
            gap=figure(building, "ring_gap"),
            depth=figure(building, "panel_thickness"),
            length=total * face.area / area,
            level=True,
            mass=face.mass,
        )
        for number, face in ceilings
    ]


def fastener_drafts(building: Building, hull: Hull, panels: Sequence[Panels]) -> list[Draft]:
    """Expected number of overdriven fasteners on each face, those under seam bands told apart."""
    drafts: list[Draft] = []
    shares = {
        str(group): sheathing.fasteners.overdriven.value for group, sheathing in building.sheathing.items()
    }
    numbers = {face.id: number for number, face in enumerate(hull.faces)}
    for panel in panels:
        face = hull.faces[numbers[panel.face]]
        bare = panel.fasteners - panel.under_bands
        for kind, heads, line in (
            (JointKind.OVERDRIVEN, bare, HEADS),
            (JointKind.OVERDRIVEN_COVERED, panel.under_bands, COVERED),
        ):
            count = heads * shares[face.group]
            if count <= 0:
                continue
            drafts.append(
                Draft(
                    name=f"{face.code}/{line}",
                    was=f"{face.was}:{kind_was(kind)}",
                    kind=kind,
                    points=face.loops[0].mean(axis=0)[None, :],
                    faces=(numbers[face.id],),
                    substrates=(face.substrate, face.substrate),
                    gap=0.0,
                    depth=figure(building, "panel_thickness"),
                    count=count,
                    mass=face.mass,
                )
            )
    return drafts
