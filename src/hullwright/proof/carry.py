"""Where does a stretch of a joint lie on a later drawing: by its place on the wall, not along the joint and not by name.

What a drawing between the two took off the wall does not come back, though the last one has it again.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from hullwright.material.distributions import Floats
from hullwright.proof.built import Between, Built
from hullwright.proof.drawing import Drawing, DrawnJoint, DrawnPart
from hullwright.proof.matching import SAME_PLACE, Matched, match

_STRAIGHT: Final = 0.9962  # cosine of 5 degrees: lines that run the same way
TINY: Final = 1e-6  # m

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Link:
    """A stretch of a joint of the old drawing, and where it is on the new one.

    Parameters
    ----------
    start, end : float
        Along the old joint [m], start before end; both 0 for a piece.
    joint : str
        Of the new drawing.
    first, last : float
        Along the new joint, of `start` and `end` [m].
    """

    start: float
    end: float
    joint: str
    first: float
    last: float

    def at(self, along: float) -> float:
        """Where a point of the old joint lies along the new one [m].

        Examples
        --------
        >>> Link(1.0, 3.0, "J", 5.0, 3.0).at(1.5)
        4.5
        """
        if self.end - self.start <= TINY:
            return self.first
        return self.first + (along - self.start) * (self.last - self.first) / (self.end - self.start)

    def clipped(self, start: float, end: float) -> Link | None:
        """Give what of it lies from `start` to `end` of the old joint; None where nothing does."""
        low, high = max(self.start, start), min(self.end, end)
        if self.end - self.start <= TINY:
            return self if low <= high + TINY else None
        return Link(low, high, self.joint, self.at(low), self.at(high)) if high - low > TINY else None


@dataclass(frozen=True, slots=True)
class Links:
    """All links from one drawing to a later one.

    Parameters
    ----------
    of : mapping of str to tuple of Link
        By the old joint's id; without an entry where nothing is left of it.
    faces : mapping of str to tuple of str
        New faces that lie on an old one.
    grown : frozenset of str
        New faces with area that was on no face of the same plane before.
    shift : tuple of float
        How far the whole old drawing is to be moved [m].
    """

    of: Mapping[str, tuple[Link, ...]]
    faces: Mapping[str, tuple[str, ...]]
    grown: frozenset[str]
    shift: tuple[float, float, float]

    def stretch(self, joint: str, start: float, end: float) -> tuple[Link, ...]:
        """Give where a stretch of an old joint is now, in pieces."""
        found = (link.clipped(start, end) for link in self.of.get(joint, ()))
        return tuple(link for link in found if link is not None)


_LEAST_GROWN: Final = 0.093  # m2, a square foot: less is a trim, not another wall (estimate)
_MOST_KEPT: Final = 256
_kept: dict[tuple[object, ...], Links] = {}


def links(drawings: Sequence[Drawing], built: Sequence[Built] | None = None) -> Links:
    """Lead from the first of a row of drawings to the last, through each between them.

    Parameters
    ----------
    drawings : sequence of Drawing
        From the one that something was noted on to the one that counts now.
    built : sequence of Built, optional
        What was made by each of them: a drawing between the first and the last takes away only what was. Without it all of
        them are taken as built.

    Returns
    -------
    Links

    Examples
    --------
    >>> old = Drawing("h", "", (), (), (DrawnJoint("a", "floor line", ("F",), ((0, 0, 0), (4, 0, 0)), 4.0),))
    >>> new = Drawing("h", "", (), (), (DrawnJoint("b", "floor line", ("G",), ((1, 0, 0), (9, 0, 0)), 8.0),))
    >>> links([old, old]).stretch("a", 0.5, 1.0)
    (Link(start=0.5, end=1.0, joint='a', first=0.5, last=1.0),)
    >>> links([old, new]).stretch("a", 0.5, 1.5)  # its face is gone
    ()
    """
    made = None if built is None else tuple(built[1:-1])
    key = (made, *(drawing.shape for drawing in drawings))
    if key not in _kept:
        if len(_kept) >= _MOST_KEPT:
            _kept.clear()
        _kept[key] = _through(drawings, made)
    return _kept[key]


def _through(drawings: Sequence[Drawing], built: Sequence[Built] | None) -> Links:
    first, last = drawings[0], drawings[-1]
    if len(drawings) == 1 or all(drawing.shape == first.shape for drawing in drawings):
        return _same(first)
    direct = _direct(first, last)
    alive = direct.of
    grown = set(direct.grown)
    faces = dict(direct.faces)
    for i, between in enumerate(drawings[1:-1]):
        if between.shape in {first.shape, last.shape}:
            continue
        step = _direct(first, between)
        spans = {joint: [(link.start, link.end) for link in step.of.get(joint, ())] for joint in alive}
        if built is not None:
            there = frozenset(link.joint for found in step.of.values() for link in found)
            way = Between(between, built[i], match(first, between), there)
            for joint in alive:
                spans[joint] += _left(first.by_id[joint], spans[joint], way)
        alive = {joint: kept for joint in alive if (kept := _kept_by(alive[joint], spans[joint]))}
        faces = {old: new for old, new in faces.items() if old in step.faces}
        grown |= _direct(between, last).grown  # what it lost on the way and got again is another wall
    return Links(alive, faces, frozenset(grown), direct.shift)


def _left(joint: DrawnJoint, spans: Sequence[Span], between: Between) -> list[Span]:
    """Stretches that a drawing between shows no more and that nobody took off the wall."""
    whole = (0.0, 0.0 if joint.piece else joint.length)
    gone = ([] if spans else [whole]) if joint.piece else without(whole, spans, least=TINY)
    return [part for span in gone for part in between.kept(joint, *span)]


def _kept_by(now: Sequence[Link], then: Sequence[Span]) -> tuple[Link, ...]:
    found = (link.clipped(start, end) for link in now for start, end in joined(then))
    return tuple(link for link in found if link is not None)


def _same(drawing: Drawing) -> Links:
    return Links(
        {joint.id: (_whole(joint, joint),) for joint in drawing.joints},
        {face.id: (face.id,) for face in drawing.faces},
        frozenset(),
        (0.0, 0.0, 0.0),
    )


def _direct(old: Drawing, new: Drawing) -> Links:
    matched = match(old, new)
    faces: dict[str, list[str]] = defaultdict(list)
    added = {face.id: math.inf for face in new.faces}
    for pair in matched.pairs:
        faces[pair.old].append(pair.new)
        added[pair.new] = min(added[pair.new], pair.added)
    grown = frozenset(face for face, area in added.items() if area > _LEAST_GROWN)
    return Links(
        _joint_links(old, new, matched, faces), {k: tuple(v) for k, v in faces.items()}, grown, matched.shift
    )


def _joint_links(
    old: Drawing, new: Drawing, matched: Matched, faces: Mapping[str, Sequence[str]]
) -> dict[str, tuple[Link, ...]]:
    shift = np.asarray(matched.shift)
    shelves: dict[str, _Shelf] = {}
    for kind in {joint.kind for joint in new.joints}:
        shelves[kind] = _Shelf([joint for joint in new.joints if joint.kind == kind])
    parts = tuple({part.mark: part for part in drawing.parts} for drawing in (old, new))
    out: dict[str, tuple[Link, ...]] = {}
    for joint in old.joints:
        on = {now for face in joint.faces for now in faces.get(face, ())}
        points = np.asarray(joint.points, dtype=np.float64) + shift
        near = shelves[joint.kind].near(points) if joint.kind in shelves else ()
        found = [
            link
            for other in near
            if on & set(other.faces) and _same_side(joint, other, parts) and _same_unit(joint, other, matched)
            for link in _pair(joint, points, other)
        ]
        if found:
            out[joint.id] = tuple(sorted(found, key=lambda link: (link.start, link.joint)))
    return out


def _same_unit(a: DrawnJoint, b: DrawnJoint, matched: Matched) -> bool:
    """Whether what was set in the opening is where it was: a unit that was taken out takes its own seals with it."""
    return "units" not in {a.stage, b.stage} or (a.mark, b.mark) in matched.unmoved


def _same_side(a: DrawnJoint, b: DrawnJoint, parts: tuple[Mapping[str, DrawnPart], ...]) -> bool:
    """Whether two joints round openings have the opening on the same side: a left jamb is no right jamb."""
    first, second = _ways(a, parts[0].get(a.mark)), _ways(b, parts[1].get(b.mark))
    if not first or not second:
        return True
    return all(float(one @ two) > 0 for one, two in zip(first, second, strict=True))


def _ways(joint: DrawnJoint, part: DrawnPart | None) -> tuple[Floats, Floats] | None:
    """The ways from a joint's end along the opening that it hangs on; None where it hangs on none with corners."""
    if part is None or part.sort != "opening" or len(part.outline) < 3:
        return None
    ring = np.asarray(part.outline, dtype=np.float64)
    middle = np.asarray(joint.points, dtype=np.float64).mean(axis=0)
    if joint.piece:
        at = int(np.linalg.norm(ring - middle, axis=1).argmin())
        return ring[(at + 1) % len(ring)] - ring[at], ring[at - 1] - ring[at]
    inward: Floats = ring.mean(axis=0) - middle
    way = np.asarray(joint.points[-1], dtype=np.float64) - np.asarray(joint.points[0], dtype=np.float64)
    inward = inward - way * float(inward @ way) / max(float(way @ way), 1e-12)
    return inward, inward


class _Shelf:
    """Joints of one kind with the boxes round them."""

    def __init__(self, joints: Sequence[DrawnJoint]) -> None:
        self.joints = joints
        arrays = [np.asarray(joint.points, dtype=np.float64) for joint in joints]
        self.low = np.array([points.min(axis=0) for points in arrays]) - SAME_PLACE.value
        self.high = np.array([points.max(axis=0) for points in arrays]) + SAME_PLACE.value

    def near(self, points: Floats) -> list[DrawnJoint]:
        """Give the joints whose box meets that of the points."""
        hit = (self.low <= points.max(axis=0)).all(axis=1) & (self.high >= points.min(axis=0)).all(axis=1)
        return [self.joints[int(i)] for i in np.flatnonzero(hit)]


def _pair(old: DrawnJoint, points: Floats, new: DrawnJoint) -> list[Link]:
    """Link two joints of one kind; `points` are the old one's where the new drawing has them."""
    now = np.asarray(new.points, dtype=np.float64)
    if old.piece != new.piece:
        return []
    if old.piece:
        near = float(np.linalg.norm(points[0] - now[0])) <= SAME_PLACE.value
        sizes = ((old.width, new.width), (old.depth, new.depth))
        alike = all(abs(a - b) <= 2 * SAME_PLACE.value for a, b in sizes)  # each edge moves by half of it
        return [Link(0.0, 0.0, new.id, 0.0, 0.0)] if near and alike else []
    if points.shape == now.shape and float(np.abs(points - now).max()) <= TINY * 20:
        return [_whole(old, new)]
    return _lines(points, now, new.id)


def _whole(old: DrawnJoint, new: DrawnJoint) -> Link:
    return (
        Link(0.0, old.length, new.id, 0.0, new.length) if not old.piece else Link(0.0, 0.0, new.id, 0.0, 0.0)
    )


def _lines(points: Floats, now: Floats, joint: str) -> list[Link]:
    """Link two polylines segment by segment."""
    out: list[Link] = []
    reached = 0.0
    for i in range(len(points) - 1):
        length = float(np.linalg.norm(points[i + 1] - points[i]))
        ends = (i == 0, i == len(points) - 2)
        base = 0.0
        for j in range(len(now) - 1):
            span = float(np.linalg.norm(now[j + 1] - now[j]))
            if length > TINY and span > TINY:
                found = _segments(points[i : i + 2], now[j : j + 2], ends)
                if found is not None:
                    start, end, first, last = found
                    out.append(Link(reached + start, reached + end, joint, base + first, base + last))
            base += span
        reached += length
    return out


def _segments(a: Floats, b: Floats, ends: tuple[bool, bool]) -> tuple[float, float, float, float] | None:
    """Stretch of segment `a` that segment `b` lies on to half an inch, and that of `b`; all [m] along them.

    At a real end of the old joint half an inch more of the new one counts.
    """
    near = SAME_PLACE.value
    step_a, step_b = a[1] - a[0], b[1] - b[0]
    long_a, long_b = float(np.linalg.norm(step_a)), float(np.linalg.norm(step_b))
    way_a, way_b = step_a / long_a, step_b / long_b
    turn = float(way_a @ way_b)
    if abs(turn) < _STRAIGHT:
        return None
    # a point of b at t lies s = s0 + turn t along a, and |p0 + t q| off its line
    from_a = b[0] - a[0]
    s0 = float(from_a @ way_a)
    p0, q = from_a - s0 * way_a, way_b - turn * way_a
    low, high = _within(p0, q, near, long_b)
    reach = (-near if ends[0] else 0.0, long_a + (near if ends[1] else 0.0))
    bounds = sorted(((reach[0] - s0) / turn, (reach[1] - s0) / turn))
    low, high = max(low, bounds[0]), min(high, bounds[1])
    if high - low <= TINY:
        return None
    start, end = (min(max(s0 + turn * t, 0.0), long_a) for t in (low, high))
    if abs(end - start) <= TINY:
        return None
    return (start, end, low, high) if start < end else (end, start, high, low)


def _within(p0: Floats, q: Floats, near: float, length: float) -> Span:
    """Between which `t` from 0 to `length` is ``|p0 + t q| <= near``; an empty span where it never is."""
    aa, bb, cc = float(q @ q), float(p0 @ q), float(p0 @ p0) - near**2
    if aa < 1e-18:
        return (0.0, length) if cc <= 0 else (0.0, -1.0)
    root = bb * bb - aa * cc
    if root < 0:
        return (0.0, -1.0)
    half = math.sqrt(root)
    return max(0.0, (-bb - half) / aa), min(length, (-bb + half) / aa)


def joined(spans: Iterable[Span], gap: float = TINY) -> tuple[Span, ...]:
    """Join spans that touch or overlap.

    Parameters
    ----------
    spans : iterable of (float, float)
        [m]
    gap : float
        What may lie between two that count as one [m].

    Examples
    --------
    >>> joined([(2.0, 3.0), (0.0, 1.0), (0.5, 2.0)])
    ((0.0, 3.0),)
    """
    out: list[Span] = []
    for start, end in sorted(spans):
        if out and start <= out[-1][1] + gap:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        else:
            out.append((start, end))
    return tuple(out)


def without(whole: Span, spans: Iterable[Span], least: float = SAME_PLACE.value) -> tuple[Span, ...]:
    """Give what of a stretch no span covers; what is shorter than `least` counts as covered.

    Examples
    --------
    >>> without((0.0, 4.0), [(1.0, 2.0), (2.0, 3.99)])
    ((0.0, 1.0),)
    """
    out: list[Span] = []
    reach = whole[0]
    for start, end in joined(spans):
        if start - reach > least:
            out.append((reach, start))
        reach = max(reach, end)
    if whole[1] - reach > least:
        out.append((reach, whole[1]))
    return tuple(out)
