"""Where the framing stated asks for a floor line and none is: a story line without one is an open end."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.hull.model import Hull, StoryLine
from hullwright.joints.model import Joint, JointKind, OpenPlace

Floats = NDArray[np.float64]
ASIDE: Final = 0.01  # m off the wall's plane that a floor line may lie
LEAST_GAP: Final = (
    0.05  # m: plans are cut a hair over the floor, where a low roof leaves a little more wall than at it
)


@dataclass(frozen=True, slots=True)
class _Cover:
    """What stands for a floor line: from, to (n, 3), and how far it holds below and above itself (n,) [m]."""

    start: Floats
    end: Floats
    below: Floats
    above: Floats


def story_gaps(
    hull: Hull, joints: Sequence[Joint], open_edges: Sequence[OpenPlace], rim: float
) -> tuple[tuple[OpenPlace, ...], float]:
    """Hold the floor lines against the framing stated.

    A floor line within the depth of the floor framing counts, and so do the sill where a story stands on a foundation, and
    an opening that the line ends at. What is open as an edge already is not said again.

    Parameters
    ----------
    hull : Hull
        With its story lines.
    joints : sequence of Joint
    open_edges : sequence of OpenPlace
        Edges found open.
    rim : float
        Depth of the floor framing [m].

    Returns
    -------
    places : tuple of OpenPlace
        Stretches without a floor line.
    total : float
        Length of the story lines that run along no edge of the hull [m].
    """
    rows = [*_of_joints(joints, rim), *_of_openings(hull), *((p.start, p.end, rim, rim) for p in open_edges)]
    cover = _cover(rows)
    edges = _cover([(line.start, line.end, rim, rim) for line in hull.floor_lines if line.edge >= 0])
    places = tuple(_place(hull, line, gap) for line in hull.story_lines for gap in _gaps(line, cover))
    total = sum(end - start for line in hull.story_lines for start, end in _gaps(line, edges))
    return places, total


_Row = tuple[Floats, Floats, float, float]


def _of_joints(joints: Sequence[Joint], rim: float) -> Iterable[_Row]:
    for joint in joints:
        if (joint.floor or joint.kind is JointKind.SILL) and len(joint.points) > 1:
            yield joint.points[0], joint.points[-1], rim, rim


def _of_openings(hull: Hull) -> Iterable[_Row]:
    """Lower edges of openings, each holding up to its head."""
    for face in hull.faces:
        for placed in face.openings if face.tilt == 90.0 else ():
            corners = face.frame.lift(placed.polygon)
            height = float(np.ptp(corners[:, 2]))
            low = corners[corners[:, 2] < corners[:, 2].min() + height / 2]
            if len(low) > 1:
                yield low[0], low[-1], ASIDE, height + ASIDE


def _cover(rows: Sequence[_Row]) -> _Cover:
    return _Cover(
        np.array([row[0] for row in rows]).reshape(-1, 3),
        np.array([row[1] for row in rows]).reshape(-1, 3),
        np.array([row[2] for row in rows]),
        np.array([row[3] for row in rows]),
    )


def _gaps(line: StoryLine, cover: _Cover) -> list[tuple[float, float]]:
    """Stretches of a story line that nothing covers: from and to along it [m]."""
    length = float(np.linalg.norm(line.end - line.start))
    way = (line.end - line.start) / length
    aside = np.array([-way[1], way[0], 0.0])
    first, last = cover.start - line.start, cover.end - line.start
    flat = np.maximum(np.abs(first @ aside), np.abs(last @ aside)) < ASIDE
    low, high = np.minimum(first[:, 2], last[:, 2]), np.maximum(first[:, 2], last[:, 2])
    near = flat & (low - cover.below <= 0) & (high + cover.above >= 0)
    spans = np.sort(np.stack([first[near] @ way, last[near] @ way], axis=1), axis=1)
    at, gaps = 0.0, []
    for start, end in [*sorted(map(tuple, spans.tolist())), (length, length)]:
        if min(start, length) - at > LEAST_GAP:
            gaps.append((at, min(start, length)))
        at = max(at, end)
    return gaps


def _place(hull: Hull, line: StoryLine, gap: tuple[float, float]) -> OpenPlace:
    way = (line.end - line.start) / np.linalg.norm(line.end - line.start)
    start, end = (line.start + x * way for x in gap)
    middle = (start + end) / 2
    walls = [face for face in hull.faces if face.tilt == 90.0 and line.mass in face.masses]
    face = min(walls, key=lambda wall: abs(float(wall.normal @ middle) - wall.offset), default=None)
    note = f"story {line.storey + 1} of {line.mass} stands here on what is below, and no floor line carries a joint"
    return OpenPlace(face.id if face else line.mass, start, end, note)
