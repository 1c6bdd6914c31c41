"""Joints along the edges of the hull, where three of them meet, and along floors."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building
from hullwright.hull.model import Edge, Face, FloorLine, Hull
from hullwright.joints.before import kind_was
from hullwright.joints.classify import direction, kind_of, owner
from hullwright.joints.draft import Draft
from hullwright.joints.figures import figure
from hullwright.joints.lanes import Axes, flat_edges, frames, rings
from hullwright.joints.model import JointKind
from hullwright.joints.naming import (
    FLOOR,
    corner_name,
    edge_name,
    edge_was,
    number_lines,
    number_stretches,
)
from hullwright.joints.scan import LEAST, inside, same_places, shifts

Floats = NDArray[np.float64]
_POURED = {JointKind.SLAB_EDGE, JointKind.FOUNDATION_CORNER}
_ON_CONCRETE = {JointKind.SILL, JointKind.BASEMENT_FLOOR}
_SEAMS = {JointKind.SEAM_LEVEL, JointKind.SEAM_UPRIGHT}
_SPREAD = 1e-4  # least determinant of three directions that span space


def panel_gap(building: Building, faces: Sequence[Face]) -> float:
    """Gap between panels on the widest-jointed of these faces [m]; 0 where none is sheathed."""
    groups = {str(group): sheathing.gap for group, sheathing in building.sheathing.items()}
    return max((groups[face.group] for face in faces if face.kind.sheathed), default=0.0)


def _gap(building: Building, kind: JointKind, faces: Sequence[Face]) -> float:
    if kind in _POURED:
        return 0.0
    if kind in _ON_CONCRETE:
        return figure(building, "sill_gap")
    return panel_gap(building, faces)


def edge_drafts(building: Building, hull: Hull) -> tuple[list[Draft], list[Edge]]:
    """Joints along hull edges.

    Parameters
    ----------
    building : Building
    hull : Hull

    Returns
    -------
    drafts : list of Draft
        One for each edge that has a rule.
    open_edges : list of Edge
        Edges without a rule.
    """
    depth = figure(building, "panel_thickness")
    drafts: list[Draft] = []
    open_edges: list[Edge] = []
    parts = list(edge_parts(hull))
    for (edge, floor), place in zip(parts, _middles([edge for edge, _ in parts]), strict=True):
        left, right = hull.faces[edge.left], hull.faces[edge.right]
        kind = plain = kind_of(left, right, edge)
        if floor and kind in _SEAMS:
            kind = JointKind.FLOOR_LINE
        if kind is None or plain is None:
            open_edges.append(edge)
            continue
        first = owner(kind, (left, right))
        second = right if first is left else left
        drafts.append(
            Draft(
                name=edge_name((left, right)),
                was=edge_was((left, right), plain),
                kind=kind,
                points=np.array([edge.start, edge.end]),
                faces=(edge.left, edge.right) if first is left else (edge.right, edge.left),
                substrates=(first.substrate, second.substrate),
                gap=_gap(building, kind, (left, right)),
                depth=depth,
                length=edge.length,
                level=direction(edge) == "level",
                place=place,
                mass=first.mass,
                rigid=not (floor or framed_apart(building, left, right)),
                floor=floor,
                before=plain,
            )
        )
    return drafts, open_edges


def edge_parts(hull: Hull) -> Iterable[tuple[Edge, str]]:
    """Edges of the hull, cut where a floor line along them starts or ends, each with the story whose line it carries."""
    lines: dict[int, list[FloorLine]] = {}
    for line in hull.floor_lines:
        if line.edge >= 0:
            lines.setdefault(line.edge, []).append(line)
    for number, edge in enumerate(hull.edges):
        if number not in lines:
            yield edge, ""
            continue
        way = (edge.end - edge.start) / edge.length
        at = 0.0
        spans: list[tuple[float, float, str]] = []
        for line in lines[number]:
            low, high = sorted(float((point - edge.start) @ way) for point in (line.start, line.end))
            spans.append((low, high, story_of(line)))
        for low, high, story in [*sorted(spans), (edge.length, edge.length, "")]:
            start, end = max(low, at), min(high, edge.length)
            if start - at > LEAST:
                yield replace(edge, start=edge.start + at * way, end=edge.start + start * way), ""
                at = start
            if end - at > LEAST:
                last = edge.length if edge.length - end < LEAST else end
                yield replace(edge, start=edge.start + at * way, end=edge.start + last * way), story
                at = last


def story_of(line: FloorLine) -> str:
    """Story of a floor line: body and number, 1 the lowest."""
    return f"{line.mass} {line.storey + 1}"


def framed_apart(building: Building, left: Face, right: Face) -> bool:
    """Whether an edge lies between a body that is framed by itself and another one."""
    own = {mass.id for mass in building.masses if mass.framing == "own"}
    sheathed = left.kind.sheathed and right.kind.sheathed
    return sheathed and any(
        (name in left.masses) != (name in right.masses) for name in own & {*left.masses, *right.masses}
    )


def _middles(edges: Sequence[Edge]) -> list[tuple[float, ...]]:
    """Middle of each edge to the millimetre [m]."""
    if not edges:
        return []
    ends = np.array([[edge.start, edge.end] for edge in edges])
    return [tuple(middle) for middle in np.round(ends.mean(axis=1), 3).tolist()]


def corner_drafts(building: Building, hull: Hull, edges: Sequence[Draft]) -> list[Draft]:
    """Pieces where three or more edge joints that do not lie in one plane meet; cast concrete alone runs on and has none."""
    if not edges:
        return []
    ends = np.stack([draft.points for draft in edges])
    steps = ends[:, 1] - ends[:, 0]
    steps = steps / np.linalg.norm(steps, axis=1)[:, None]
    points = np.concatenate([ends[:, 0], ends[:, 1]])
    ways = np.concatenate([steps, -steps])
    number = same_places(points)
    spread = np.zeros((int(number.max()) + 1, 3, 3))
    np.add.at(spread, number, ways[:, :, None] * ways[:, None, :])
    corners = np.flatnonzero(np.linalg.det(spread) > _SPREAD)
    order = np.argsort(number, kind="stable")
    bounds = np.searchsorted(number[order], [corners, corners + 1])
    found = []
    for low, high in bounds.T.tolist():
        meeting = order[low:high]
        if all(edges[i % len(edges)].kind in _POURED for i in meeting.tolist()):
            continue
        faces = sorted({face for i in meeting.tolist() for face in edges[i % len(edges)].faces})
        found.append(_corner(building, hull, faces, points[meeting[0]]))
    return found


def _corner(building: Building, hull: Hull, faces: Sequence[int], at: Floats) -> Draft:
    kind = JointKind.THREE_WAY_CORNER
    bodies = [hull.faces[number] for number in faces]
    first = owner(kind, tuple(bodies))
    others = [
        face.substrate
        for face in sorted(bodies, key=lambda face: face.id)
        if face.substrate != first.substrate
    ]
    return Draft(
        name=corner_name(bodies),
        was=edge_was(bodies, kind),
        kind=kind,
        points=at[None, :],
        faces=tuple(sorted(faces, key=lambda number: hull.faces[number] is not first)),
        substrates=(first.substrate, others[0] if others else first.substrate),
        gap=panel_gap(building, bodies),
        depth=figure(building, "panel_thickness"),
        count=1.0,
        place=tuple(np.round(at, 3).tolist()),
        mass=first.mass,
    )


def floor_drafts(building: Building, hull: Hull, on_seam: NDArray[np.bool_]) -> list[Draft]:
    """Floor lines, broken at openings and where the face ends."""
    lines = [number for number, line in enumerate(hull.floor_lines) if line.edge < 0]
    if not lines:
        return []
    faces = sorted({hull.floor_lines[number].face for number in lines})
    lane_of = {face: lane for lane, face in enumerate(faces)}
    bodies = [hull.faces[number] for number in faces]
    axes = frames(bodies)
    edges, lane_edge = flat_edges([rings(face) for face in bodies], Axes(axes.origin, axes.up, axes.across))
    width = 2.0 * float(np.abs(edges).max()) + 10.0
    edges[:, [0, 2]] += shifts(lane_edge, width)[:, None]
    lane = np.array([lane_of[hull.floor_lines[number].face] for number in lines])
    rise = np.array([hull.floor_lines[number].start for number in lines]) - axes.origin[lane]
    keys = shifts(lane, width) + np.einsum("ij,ij->i", rise, axes.up[lane])
    order = np.argsort(keys, kind="stable")
    found = inside(edges, keys[order])
    drafts: list[Draft] = []
    for which, start, end in zip(
        np.array(lines)[order[found.line]].tolist(), found.start.tolist(), found.end.tolist(), strict=True
    ):
        draft = _floor_draft(building, hull, which, (start, end))
        if draft is not None:
            draft.gap = draft.gap if on_seam[which] else 0.0
            drafts.append(draft)
    number_lines(drafts, lambda draft: _on_face(hull, draft, "up"))
    number_stretches(drafts, FLOOR, lambda draft: _on_face(hull, draft, "across"))
    return drafts


def _on_face(hull: Hull, draft: Draft, way: Literal["across", "up"]) -> float:
    """How far from the left end or the bottom of its face a line starts [m]."""
    frame = hull.faces[draft.faces[0]].frame
    return float((draft.points[0] - frame.origin) @ getattr(frame, way))


def _floor_draft(building: Building, hull: Hull, which: int, span: tuple[float, float]) -> Draft | None:
    """Stretch of a floor line inside its face, None where they do not overlap."""
    line = hull.floor_lines[which]
    face = hull.faces[line.face]
    first = float((line.start - face.frame.origin) @ face.frame.across)
    last = float((line.end - face.frame.origin) @ face.frame.across)
    start, end = max(span[0], min(first, last)), min(span[1], max(first, last))
    if end - start < 2e-3:
        return None
    left = line.start if first <= last else line.end
    points = np.stack([left + (x - min(first, last)) * face.frame.across for x in (start, end)])
    return Draft(
        name=face.code,
        was=f"{face.was}:{kind_was(JointKind.FLOOR_LINE)}:{line.mass} {line.storey + 1}:{start - min(first, last):.2f}",
        kind=JointKind.FLOOR_LINE,
        points=points,
        faces=(line.face,),
        substrates=(face.substrate, face.substrate),
        gap=panel_gap(building, (face,)),
        depth=figure(building, "panel_thickness"),
        length=end - start,
        level=True,
        mass=line.mass,
        floor=story_of(line),
    )
