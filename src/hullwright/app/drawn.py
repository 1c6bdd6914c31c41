"""The drawing of a house as it can be issued: what its file says, found and laid out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from hullwright.app.house import House
from hullwright.hull.model import Face
from hullwright.joints.model import Joint, JointKind
from hullwright.proof.carry import links
from hullwright.proof.drawing import Drawing, DrawnFace, DrawnJoint, DrawnPart, Point
from hullwright.proof.revision import compare

Planned = Mapping[str, tuple[str, str, bool]]
"""Method, product and whether primer comes first, by run."""


def drawn(house: House, text: str, planned: Planned | None = None) -> Drawing:
    """Draw a house.

    Parameters
    ----------
    house : House
    text : str
        Its building file.
    planned : mapping of str to tuple, optional
        Method, product and primer by run.

    Returns
    -------
    Drawing
    """
    plan = planned or {}
    return Drawing(
        house.building.name,
        text,
        tuple(map(_face, house.hull.faces)),
        tuple(part for face in house.hull.faces for part in _parts(face)) + _attachments(house),
        tuple(
            _joint(joint, plan.get(joint.run, ("", "", False)))
            for joint in house.joints.joints
            if joint.kind is not JointKind.PATCH  # a file knows none: the record adds them to what is issued
        ),
    )


def with_methods_of(drawing: Drawing, last: Drawing) -> Drawing:
    """Take over planned methods from the drawing before, by place, where this one has none.

    Parameters
    ----------
    drawing, last : Drawing

    Returns
    -------
    Drawing
    """
    back = links([drawing, last])
    joints = []
    for joint in drawing.joints:
        heirs = [last.by_id[link.joint] for link in back.of.get(joint.id, ())]
        plans = dict.fromkeys((heir.method, heir.product, heir.primer) for heir in heirs)
        if joint.method or len(plans) != 1:
            joints.append(joint)
            continue
        method, product, primer = next(iter(plans))
        joints.append(replace(joint, method=method, product=product, primer=primer))
    return replace(drawing, joints=tuple(joints))


def differs_from(last: Drawing, house: House) -> bool:
    """Whether a house as its file stands is not what was issued last.

    Parameters
    ----------
    last : Drawing
        As it was issued, without patches.
    house : House

    Returns
    -------
    bool
    """
    drawing = with_methods_of(drawn(house, ""), last)
    return drawing.shape != last.shape and not compare(last, drawing).nothing


def _face(face: Face) -> DrawnFace:
    loops = tuple(_points(loop) for loop in face.loops)
    return DrawnFace(face.id, face.mass, face.kind.value, loops, face.substrate != "concrete", _before(face))


def _before(face: Face) -> str:
    return "" if face.was == face.id else face.was


def _parts(face: Face) -> Iterator[DrawnPart]:
    for placed in face.openings:
        opening, outline = placed.opening, _points(face.frame.lift(placed.polygon))
        mark, size = opening.mark or opening.id, (opening.width, opening.height)
        yield DrawnPart(mark, "opening", opening.kind, face.id, outline, *size, "openings")
    for hole in face.penetrations:
        thing = hole.penetration
        at = np.asarray(hole.at, dtype=np.float64)
        half = np.array([thing.width, thing.depth]) / 2
        corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * half + at
        outline = _points(face.frame.lift(at[None, :] if thing.round else corners))
        mark = thing.marks[hole.number] if thing.marks else f"{thing.id} {hole.number + 1}"
        height = thing.width if thing.round else thing.depth
        yield DrawnPart(mark, "penetration", thing.kind, face.id, outline, thing.width, height, thing.stage)


def _attachments(house: House) -> tuple[DrawnPart, ...]:
    """Things fixed over the layer later, by the seal behind them: a line along their top."""
    kinds = {thing.id: thing.kind for thing in house.building.fixed_over}
    out: list[DrawnPart] = []
    for joint in house.joints.joints:
        if joint.kind is JointKind.FIXED_OVER:
            low = joint.points - np.array([0.0, 0.0, joint.section_depth])
            outline = _points(np.concatenate([low, joint.points[::-1]]))
            kind = kinds.get(joint.source, "attachment")
            mark, size = joint.mark or joint.source, (joint.width, joint.section_depth)
            out.append(DrawnPart(mark, "attachment", kind, joint.faces[0], outline, *size, joint.stage))
    return tuple(out)


def _joint(joint: Joint, planned: tuple[str, str, bool]) -> DrawnJoint:
    method, product, primer = planned
    return DrawnJoint(
        id=joint.id,
        kind=joint.kind.value,
        faces=joint.faces,
        points=_points(joint.points),
        length=joint.length,
        stage=joint.stage,
        mark=joint.mark or joint.source,
        number=joint.number,
        run=joint.run,
        substrates=joint.substrates,
        width=joint.width if joint.kind.piece else 0.0,
        depth=joint.section_depth if joint.kind.piece else 0.0,
        method=method,
        product=product,
        primer=primer,
        was="" if joint.was == joint.id else joint.was,
        name=joint.name,
    )


def _points(points: np.ndarray[Any, Any]) -> tuple[Point, ...]:
    rows = np.round(np.atleast_2d(points), 6).tolist()
    return tuple((float(x) + 0.0, float(y) + 0.0, float(z) + 0.0) for x, y, z in rows)
