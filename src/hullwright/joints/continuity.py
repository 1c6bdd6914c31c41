"""The continuity report: which stretches of face edges, opening edges and story lines carry no joint."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.hull.model import Hull
from hullwright.hull.stories import RIM_DEPTH
from hullwright.joints.model import Joint, JointKind, OpenPlace
from hullwright.joints.planes import ASIDE, on_lines, planes
from hullwright.joints.story_gaps import story_gaps

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
LEAST_OPEN: Final = 5e-4  # m: shorter than that is rounding, not an open place
_ROUND_OPENINGS: Final = frozenset(
    {JointKind.OPENING_HEAD, JointKind.OPENING_JAMB, JointKind.OPENING_SILL, JointKind.CURB}
)


@dataclass(frozen=True, slots=True)
class _Segments:
    """Segments with the face they lie on and the group (face or opening of it) that they can cover."""

    face: Ints
    group: Ints
    start: Floats
    end: Floats


def _demand(hull: Hull) -> tuple[_Segments, dict[tuple[int, str], int]]:
    """Every edge that needs a joint: loops of faces, and openings."""
    groups: dict[tuple[int, str], int] = {}
    rings: list[Floats] = []
    labels: list[tuple[int, int]] = []
    for number, face in enumerate(hull.faces):
        own = groups.setdefault((number, ""), len(groups))
        for loop in face.loops:
            rings.append(loop)
            labels.append((number, own))
        for placed in face.openings:
            rings.append(face.frame.lift(placed.polygon))
            labels.append((number, groups.setdefault((number, placed.opening.id), len(groups))))
    sizes = [len(ring) for ring in rings]
    table = np.repeat(np.array(labels, dtype=np.int64).reshape(-1, 2), sizes, axis=0)
    points = np.concatenate(rings)
    following = np.arange(1, len(points) + 1)
    last = np.cumsum(sizes)
    following[last - 1] = last - sizes
    return _Segments(table[:, 0], table[:, 1], points, points[following]), groups


def _supply(hull: Hull, joints: Sequence[Joint], groups: dict[tuple[int, str], int]) -> _Segments:
    """What the joints cover, once for each face they lie on."""
    numbers = {face.id: number for number, face in enumerate(hull.faces)}
    rows: list[tuple[int, int]] = []
    starts: list[Floats] = []
    ends: list[Floats] = []
    for joint in joints:
        if joint.kind.piece or len(joint.points) < 2:
            continue
        around = joint.kind in _ROUND_OPENINGS
        if not around and len(joint.faces) < 2:
            continue
        for name in joint.faces:
            number = numbers.get(name, -1)
            group = groups.get((number, joint.source if around else ""), -1)
            if group < 0:
                continue
            for i in range(len(joint.points) - 1):
                rows.append((number, group))
                starts.append(joint.points[i])
                ends.append(joint.points[i + 1])
    table = np.array(rows, dtype=np.int64).reshape(-1, 2)
    return _Segments(table[:, 0], table[:, 1], np.array(starts).reshape(-1, 3), np.array(ends).reshape(-1, 3))


def continuity(
    hull: Hull, joints: Sequence[Joint], rim: float = RIM_DEPTH.value
) -> tuple[tuple[OpenPlace, ...], float]:
    """Report every stretch of face edge and opening edge without a joint, and of the framing stated without a floor line.

    Parameters
    ----------
    hull : Hull
    joints : sequence of Joint
        Any list, complete or damaged. A joint covers an edge where it lies on it to 0.5 mm and names its face; joints round an
        opening cover that opening only.
    rim : float
        Depth of the floor framing [m].

    Returns
    -------
    open_places : tuple of OpenPlace
        By face, in the order of its loops and openings; then story lines.
    share : float
        Share of the length of edges and story lines that carries a joint.
    """
    need, groups = _demand(hull)
    have = _supply(hull, joints, groups)
    frames = planes(hull.faces)
    need_ends = [frames.flat(need.face, points) for points in (need.start, need.end)]
    have_ends = [frames.flat(have.face, points) for points in (have.start, have.end)]
    in_plane = np.maximum(np.abs(have_ends[0][:, 2]), np.abs(have_ends[1][:, 2])) < ASIDE
    in_plane &= np.linalg.norm(have.end - have.start, axis=1) > 1e-6
    starts = np.concatenate([need_ends[0][:, :2], have_ends[0][in_plane, :2]])
    ends = np.concatenate([need_ends[1][:, :2], have_ends[1][in_plane, :2]])
    lines = on_lines(np.concatenate([need.group, have.group[in_plane]]), starts, ends)
    count = len(need.face)
    low, high = _union(lines.start[count:], lines.end[count:])
    gaps = _gaps((lines.start[:count], lines.end[:count]), (low, high))
    edges = [_place(hull, need, groups, gap, turned=bool(lines.turned[gap[0]])) for gap in gaps]
    stories, asked = story_gaps(hull, joints, edges, rim)
    places = (*edges, *stories)
    total = float(np.linalg.norm(need.end - need.start, axis=1).sum()) + asked
    return places, 1.0 - sum(place.length for place in places) / total


def _union(start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Merge intervals that touch."""
    if not len(start):
        return start, end
    order = np.argsort(start, kind="stable")
    start, reach = start[order], np.maximum.accumulate(end[order])
    fresh = np.concatenate([[True], start[1:] > reach[:-1] + LEAST_OPEN])
    last = np.concatenate([fresh[1:], [True]])
    return start[fresh], reach[last]


def _gaps(need: tuple[Floats, Floats], have: tuple[Floats, Floats]) -> list[tuple[int, float, float]]:
    """Uncovered parts: number of the needed segment, from and to as distance from its low end [m]."""
    start, end = need
    low, high = have
    first = np.searchsorted(high, start + LEAST_OPEN, side="right")
    behind = np.append(low, np.inf)[first] > start + LEAST_OPEN
    short = np.append(high, -np.inf)[first] < end - LEAST_OPEN
    gaps: list[tuple[int, float, float]] = []
    for i in np.flatnonzero(behind | short).tolist():
        at, last, k = float(start[i]), float(end[i]), int(first[i])
        while k < len(low) and low[k] < last - LEAST_OPEN:
            if low[k] - at > LEAST_OPEN:
                gaps.append((i, at - float(start[i]), float(low[k]) - float(start[i])))
            at = max(at, float(high[k]))
            k += 1
        if last - at > LEAST_OPEN:
            gaps.append((i, at - float(start[i]), last - float(start[i])))
    return gaps


def _place(
    hull: Hull,
    need: _Segments,
    groups: dict[tuple[int, str], int],
    gap: tuple[int, float, float],
    *,
    turned: bool,
) -> OpenPlace:
    number, low, high = gap
    start, end = need.start[number], need.end[number]
    length = float(np.linalg.norm(end - start))
    if turned:
        low, high = length - high, length - low
    step = (end - start) / length
    face = hull.faces[int(need.face[number])]
    opening = next(name for (_, name), group in groups.items() if group == need.group[number])
    note = f"edge of opening {opening}" if opening else f"edge of the {face.kind.value} face"
    return OpenPlace(face.id, start + low * step, start + high * step, f"{note} carries no joint")
