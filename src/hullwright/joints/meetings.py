"""Where runs meet: joints that end on one another, T-joints, crossings, corners; and which goes on first.

Shingle order: water runs down, so the piece that comes from below goes on first and the one from above laps over it. Where a pair
of runs meets in both orders (a row of upright seams between two level ones), the more frequent order is given; on a tie the
upright run goes on first and the level one laps over its ends (common practice, no source).

Round an opening the corners of the rough opening go on first: they are folded into the bare opening, before the frame stands in it,
and what joins the layer to the frame laps over them: sill, then jambs, then head, each over the one below (common practice, no
source; the jambs' upper ends lie under the head, so that no edge is left open upwards).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.hull.model import Hull
from hullwright.joints.model import Joint, JointKind, Meeting, Run
from hullwright.joints.planes import OnLines, ends_of, on_lines, planes
from hullwright.joints.scan import crossings, ranges

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
NEAR: Final = 1.5e-3  # m
_STEP: Final = 0.01  # m: less rise than that is no rise
_NOWHERE: Final = frozenset(
    {JointKind.OVERDRIVEN, JointKind.OVERDRIVEN_COVERED, JointKind.PARTITION_PLATE, JointKind.PATCH}
)
_OPENING_EDGES: Final = frozenset(
    {JointKind.OPENING_SILL, JointKind.OPENING_JAMB, JointKind.OPENING_HEAD, JointKind.CURB}
)
_NONE: Final[Ints] = np.empty(0, dtype=np.int64)
_CROSSING: Final = frozenset({JointKind.FLOOR_LINE, JointKind.FIXED_OVER})


@dataclass(frozen=True, slots=True)
class _Sides:
    """Each joint once for each face it lies on, flat in that face."""

    joint: Ints
    face: Ints
    start: Floats
    end: Floats
    line: NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class _Hits:
    """Pairs of joints that meet, and where."""

    first: Ints
    second: Ints
    at: Floats


def _sides(hull: Hull, joints: Sequence[Joint]) -> _Sides:
    numbers = {face.id: number for number, face in enumerate(hull.faces)}
    used = [(i, joint) for i, joint in enumerate(joints) if joint.kind not in _NOWHERE]
    joint = np.array([i for i, one in used for _ in one.faces], dtype=np.int64)
    face = np.array([numbers[name] for _, one in used for name in one.faces], dtype=np.int64)
    if not len(joint):
        empty = np.empty((0, 3))
        return _Sides(joint, face, empty, empty, np.empty(0, dtype=bool))
    firsts, lasts = ends_of([one.points for one in joints])
    frames = planes(hull.faces)
    line = np.array([not one.kind.piece for one in joints])[joint]
    return _Sides(joint, face, frames.flat(face, firsts[joint]), frames.flat(face, lasts[joint]), line)


def _ends_on_lines(sides: _Sides) -> tuple[Ints, Ints, Ints]:
    """Joint whose end (0 first, 1 last) lies on which other joint."""
    segments = np.flatnonzero(sides.line)
    lines = on_lines(sides.face[segments], sides.start[segments, :2], sides.end[segments, :2])
    ask = np.concatenate([np.arange(len(sides.joint)), segments])
    end = np.concatenate([np.zeros(len(sides.joint), dtype=np.int64), np.ones(len(segments), dtype=np.int64)])
    points = np.where(end[:, None] == 0, sides.start[ask, :2], sides.end[ask, :2])
    first = np.searchsorted(lines.way_group, sides.face[ask], side="left")
    count = np.searchsorted(lines.way_group, sides.face[ask], side="right") - first
    owner, way = ranges(first, count)
    query, segment = _through(lines, way, points[owner])
    asked = owner[query]
    return sides.joint[ask[asked]], end[asked], sides.joint[segments[segment]]


def _through(lines: OnLines, way: Ints, points: Floats) -> tuple[Ints, Ints]:
    """Segments that pass a point along a way: number of the query and of the segment."""
    direction = lines.directions[way]
    key = way * lines.width + direction[:, 0] * points[:, 1] - direction[:, 1] * points[:, 0]
    last = len(lines.line_key) - 1
    right = np.minimum(np.searchsorted(lines.line_key, key), last)
    left = np.maximum(right - 1, 0)
    nearer = np.where(np.abs(lines.line_key[left] - key) < np.abs(lines.line_key[right] - key), left, right)
    on = np.flatnonzero(np.abs(lines.line_key[nearer] - key) < NEAR)
    along = np.einsum("ij,ij->i", direction[on], points[on]) + nearer[on] * lines.width
    order = np.argsort(lines.start, kind="stable")
    at = np.searchsorted(lines.start[order], along + NEAR, side="right") - 1
    queries, segments = [], []
    for back in range(3):
        spot = at - back
        hit = (spot >= 0) & (lines.end[order[np.maximum(spot, 0)]] >= along - NEAR)
        queries.append(on[hit])
        segments.append(order[spot[hit]])
    return np.concatenate(queries), np.concatenate(segments)


def _cross(sides: _Sides, joints: Sequence[Joint]) -> tuple[Ints, Ints, Ints, Floats]:
    """Joints that cross in their midst (floor lines and strips over seams, rings on seams): both, face, place in it."""
    kinds = [joint.kind for joint in joints]
    long = np.array([kind in _CROSSING for kind in kinds])[sides.joint]
    ring = ~sides.line & (np.array([joint.width for joint in joints]) > 0)[sides.joint]
    half = np.array([max(joint.width, joint.section_depth) / 2 for joint in joints])[sides.joint]
    width = 4.0 * float(max(np.abs(sides.start).max(), np.abs(sides.end).max())) + 10.0
    found: list[tuple[Ints, Ints, Ints, Floats]] = [(_NONE, _NONE, _NONE, np.empty((0, 2)))]
    for axis in (0, 1):
        bars = np.flatnonzero((long | ring) if axis == 0 else ring)
        other = 1 - axis
        posts = np.flatnonzero(sides.line & (np.abs(sides.start[:, axis] - sides.end[:, axis]) < NEAR))
        if not len(bars) or not len(posts):
            continue
        reach = np.where(ring, half, 0.0)[bars]
        low = np.minimum(sides.start[bars, axis], sides.end[bars, axis]) - reach
        high = np.maximum(sides.start[bars, axis], sides.end[bars, axis]) + reach
        shift = sides.face[bars] * width
        level = sides.start[bars, other]
        edges = np.stack([low + shift, level, high + shift, level], axis=1)
        key = sides.start[posts, axis] + sides.face[posts] * width
        order = np.argsort(key, kind="stable")
        post, at, bar = crossings(edges, key[order])
        post = posts[order[post]]
        bottom = np.minimum(sides.start[post, other], sides.end[post, other]) - reach[bar]
        top = np.maximum(sides.start[post, other], sides.end[post, other]) + reach[bar]
        meet = (at > bottom) & (at < top) & (sides.joint[post] != sides.joint[bars[bar]])
        post, bar, at = post[meet], bars[bar[meet]], at[meet]
        place = np.stack([sides.start[post, axis], at], axis=1)[:, [axis, other]]
        found.append((sides.joint[bar], sides.joint[post], sides.face[post], place))
    return (
        np.concatenate([part[0] for part in found]),
        np.concatenate([part[1] for part in found]),
        np.concatenate([part[2] for part in found]),
        np.concatenate([part[3] for part in found]),
    )


def _hits(hull: Hull, joints: Sequence[Joint]) -> _Hits:
    sides = _sides(hull, joints)
    if not sides.line.any():
        return _Hits(_NONE, _NONE, np.empty((0, 3)))
    first, end, second = _ends_on_lines(sides)
    bar, post, face, place = _cross(sides, joints)
    frames = planes(hull.faces)
    firsts, lasts = ends_of([joint.points for joint in joints])
    at = np.where(end[:, None] == 0, firsts[first], lasts[first])
    crossed = frames.origin[face] + place[:, :1] * frames.across[face] + place[:, 1:] * frames.up[face]
    return _Hits(np.concatenate([first, bar]), np.concatenate([second, post]), np.concatenate([at, crossed]))


def meetings(hull: Hull, joints: Sequence[Joint], runs: Sequence[Run]) -> tuple[Meeting, ...]:
    """Find all pairs of runs that meet.

    Parameters
    ----------
    hull : Hull
    joints : sequence of Joint
    runs : sequence of Run
        With the numbers of their joints.

    Returns
    -------
    tuple of Meeting
        Each pair once, at the first of its places, sorted by run numbers.
    """
    run_of = np.full(len(joints), -1, dtype=np.int64)
    for number, run in enumerate(runs):
        run_of[list(run.joints)] = number
    hits = _hits(hull, joints)
    one, two = run_of[hits.first], run_of[hits.second]
    apart = one != two
    hits = _Hits(hits.first[apart], hits.second[apart], hits.at[apart])
    one, two = one[apart], two[apart]
    if not len(one):
        return ()
    vote = np.where(one < two, 1, -1) * _votes(joints, hits)
    low, high = np.minimum(one, two), np.maximum(one, two)
    spots = np.round(hits.at, 4)
    order = np.lexsort((spots[:, 0], spots[:, 1], spots[:, 2], high, low))
    key = low[order] * len(runs) + high[order]
    pairs, first, back = np.unique(key, return_index=True, return_inverse=True)
    votes = np.bincount(back, vote[order], minlength=len(pairs))
    ordered = np.bincount(back, np.abs(vote[order]), minlength=len(pairs)) > 0
    return tuple(
        Meeting((a, b), hits.at[order[spot]], _lower(runs, (a, b), total, ordered=any_order))
        for a, b, spot, total, any_order in zip(
            (pairs // len(runs)).tolist(),
            (pairs % len(runs)).tolist(),
            first.tolist(),
            votes.tolist(),
            ordered.tolist(),
            strict=True,
        )
    )


def _votes(joints: Sequence[Joint], hits: _Hits) -> Floats:
    """1 where the first joint comes from below (goes on first), -1 where the second does, 0 where it does not matter."""
    first, last = ends_of([joint.points for joint in joints])
    low, high = np.minimum(first[:, 2], last[:, 2]), np.maximum(first[:, 2], last[:, 2])
    z = hits.at[:, 2]

    def rise(number: Ints) -> Floats:
        goes_up = high[number] - z > _STEP
        goes_down = z - low[number] > _STEP
        return goes_up.astype(np.float64) - goes_down

    vote: Floats = np.sign(rise(hits.second) - rise(hits.first))
    corner = np.array([joint.kind is JointKind.OPENING_CORNER for joint in joints])
    edge = np.array([joint.kind in _OPENING_EDGES for joint in joints])
    vote[corner[hits.first] & edge[hits.second]] = 1.0
    vote[corner[hits.second] & edge[hits.first]] = -1.0
    return vote


def _lower(runs: Sequence[Run], pair: tuple[int, int], votes: float, *, ordered: bool) -> int:
    if votes > 0:
        return pair[0]
    if votes < 0:
        return pair[1]
    level = [runs[number].level for number in pair]
    if not ordered or level[0] == level[1]:
        return -1
    return pair[1] if level[0] else pair[0]
