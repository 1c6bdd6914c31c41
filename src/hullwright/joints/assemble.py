"""From the hull to all its joints."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building
from hullwright.hull.model import Hull
from hullwright.joints.before import kind_was
from hullwright.joints.continuity import continuity
from hullwright.joints.draft import Draft
from hullwright.joints.edges import corner_drafts, edge_drafts, floor_drafts
from hullwright.joints.figures import figure
from hullwright.joints.meetings import meetings
from hullwright.joints.model import Hole, Joint, JointKind, JointSet
from hullwright.joints.naming import ALONG, UP, number_names, number_stretches, run_names
from hullwright.joints.openings import opening_drafts
from hullwright.joints.panels import Laid, lay_panels
from hullwright.joints.pieces import (
    fastener_drafts,
    patch_drafts,
    penetration_drafts,
    plate_drafts,
    strip_drafts,
)
from hullwright.joints.planes import ends_of
from hullwright.joints.runs import runs_of
from hullwright.joints.tails import tail_drafts
from hullwright.joints.water import lengths_above
from hullwright.joints.words import speaker

Floats = NDArray[np.float64]
_SPREAD_OUT = frozenset({JointKind.OVERDRIVEN, JointKind.OVERDRIVEN_COVERED})


def find(building: Building, hull: Hull, holes: Sequence[Hole] = ()) -> JointSet:
    """Find every joint of a house.

    Parameters
    ----------
    building : Building
        What the user stated.
    hull : Hull
        Its closed surface.
    holes : sequence of Hole
        What the record says is still to be patched.

    Returns
    -------
    JointSet
        Joints sorted by id, runs by their ids of before, panels, continuity report, meetings.

    Raises
    ------
    InputError
        Where something stated has no place on the hull: sheathing missing, framing without an eave, a thing fixed to no wall.
    """
    laid = lay_panels(building, hull)
    edges, _ = edge_drafts(building, hull)
    drafts = [
        *_seam_drafts(building, hull, laid),
        *edges,
        *corner_drafts(building, hull, edges),
        *floor_drafts(building, hull, laid.on_seam),
        *opening_drafts(building, hull),
        *penetration_drafts(building, hull),
        *tail_drafts(building, hull, edges),
        *strip_drafts(building, hull),
        *plate_drafts(building, hull),
        *fastener_drafts(building, hull, laid.panels),
        *patch_drafts(building, hull, holes),
    ]
    number_names(drafts)
    joints, before = _finish(hull, drafts)
    open_places, share = continuity(hull, joints, figure(building, "rim_depth"))
    runs = runs_of(hull, joints, before)
    return JointSet(
        joints=joints,
        runs=runs,
        panels=laid.panels,
        open_places=open_places,
        joint_share=share,
        meetings=meetings(hull, joints, runs),
    )


def _seam_drafts(building: Building, hull: Hull, laid: Laid) -> list[Draft]:
    depth = figure(building, "panel_thickness")
    gaps = {str(group): sheathing.gap for group, sheathing in building.sheathing.items()}
    seams = laid.seams
    step = seams.points[:, 1] - seams.points[:, 0]
    lengths = np.linalg.norm(step, axis=1).tolist()
    level = (np.abs(step[:, 2]) < 1e-3).tolist()
    drafts: list[Draft] = []
    columns = zip(
        seams.face.tolist(),
        seams.place.tolist(),
        seams.upright.tolist(),
        seams.backed.tolist(),
        seams.number.tolist(),
        strict=True,
    )
    for i, (number, place, upright, backed, line) in enumerate(columns):
        face = hull.faces[number]
        kind = JointKind.SEAM_UPRIGHT if upright else JointKind.SEAM_LEVEL
        drafts.append(
            Draft(
                name=face.code,
                was=f"{face.was}:{kind_was(kind)}:{place[0]:.2f} {place[1]:.2f}",
                kind=kind,
                points=seams.points[i],
                faces=(number,),
                substrates=(face.substrate, face.substrate),
                gap=gaps[face.group],
                depth=depth,
                length=lengths[i],
                backed=backed,
                level=level[i],
                place=tuple(place),
                mass=face.mass,
                number=line,
            )
        )
    level_ones = [draft for draft in drafts if draft.kind is JointKind.SEAM_LEVEL]
    upright_ones = [draft for draft in drafts if draft.kind is JointKind.SEAM_UPRIGHT]
    number_stretches(level_ones, ALONG, lambda draft: draft.place[0])
    number_stretches(upright_ones, UP, lambda draft: draft.place[1])
    return drafts


def _finish(hull: Hull, drafts: Sequence[Draft]) -> tuple[tuple[Joint, ...], dict[str, str]]:
    """Drafts with water, height and run, sorted by id; and the name of before of each run."""
    if not drafts:
        return (), {}
    found = lengths_above(hull, drafts)
    length = found.length
    _spread_over_face(drafts, length)
    first, last = ends_of([draft.points for draft in drafts])
    tops = np.maximum(first[:, 2], last[:, 2])
    ids = [face.id for face in hull.faces]
    rated = {number for number, face in enumerate(hull.faces) if face.rated}
    names = [run_names(hull, draft) for draft in drafts]
    words = speaker(hull)
    joints = [
        Joint(
            id=draft.name,
            kind=draft.kind,
            points=draft.points,
            length=draft.length,
            count=draft.count,
            faces=tuple([ids[number] for number in draft.faces]),
            substrates=draft.substrates,
            gap=draft.gap,
            depth=draft.depth,
            backed=draft.backed,
            level=draft.level,
            upslope=above,
            height=top - hull.heights[draft.mass],
            stage=draft.stage,
            mass=draft.mass,
            width=draft.width,
            section_depth=draft.section_depth,
            rigid=draft.rigid,
            rated=not rated.isdisjoint(draft.faces),
            run=run,
            source=draft.source,
            roof_water=roof,
            floor=draft.floor,
            was=draft.was,
            name=words.joint(draft),
            mark=draft.mark,
            number=draft.number,
            part=draft.part,
            offset=draft.offset,
        )
        for draft, (run, _), above, roof, top in zip(
            drafts, names, length.tolist(), found.roof.tolist(), tops.tolist(), strict=True
        )
    ]
    joints.sort(key=lambda joint: joint.id)
    return tuple(joints), dict(names)


def _spread_over_face(drafts: Sequence[Draft], length: Floats) -> None:
    """Overdriven fasteners lie all over their face: the mean over its seams stands for them."""
    level, upright = JointKind.SEAM_LEVEL, JointKind.SEAM_UPRIGHT
    total: dict[int, float] = {}
    weight: dict[int, float] = {}
    for draft, above in zip(drafts, length.tolist(), strict=True):
        if (draft.kind is level or draft.kind is upright) and len(draft.faces) == 1:
            total[draft.faces[0]] = total.get(draft.faces[0], 0.0) + above * draft.length
            weight[draft.faces[0]] = weight.get(draft.faces[0], 0.0) + draft.length
    for i, draft in enumerate(drafts):
        if draft.kind in _SPREAD_OUT and draft.faces[0] in weight:
            length[i] = total[draft.faces[0]] / weight[draft.faces[0]]
