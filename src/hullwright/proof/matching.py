"""What on one drawing is what on another: by the place on the wall, the kind and the size, never by name.

Names are only asked where the place no longer helps: a window that moved is told by its mark.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.validation import make_valid

from hullwright.evidence import ESTIMATE, Figure
from hullwright.material.distributions import Floats
from hullwright.proof.drawing import Drawing, DrawnFace, DrawnPart, Point
from hullwright.units import INCH

SAME_PLACE: Final = Figure(INCH / 2, "m", ESTIMATE)  # within it a joint is where it was
_FLAT: Final = 0.9962  # cosine of 5 degrees: faces that look the same way
_LEAST_AREA: Final = 1e-4  # m2; what overlaps less only touches


class Plane:
    """A face laid flat.

    Parameters
    ----------
    face : DrawnFace
    shift : ndarray (3,)
        Added to every point first [m].
    """

    def __init__(self, face: DrawnFace, shift: Floats) -> None:
        self.face = face
        self.loops = [np.asarray(loop, dtype=np.float64) + shift for loop in face.loops]
        outer = self.loops[0]
        normal = np.cross(outer, np.roll(outer, -1, axis=0)).sum(axis=0)
        self.normal: Floats = normal / max(float(np.linalg.norm(normal)), 1e-12)
        self.origin: Floats = outer[0]
        aside = np.cross([0.0, 0.0, 1.0], self.normal)
        if float(np.linalg.norm(aside)) < 1e-3:
            aside = np.array([1.0, 0.0, 0.0])
        self.across: Floats = aside / np.linalg.norm(aside)
        self.up: Floats = np.cross(self.normal, self.across)

    def flat(self, points: Floats) -> Floats:
        """Lay points (k, 3) into the plane: (k, 2) [m]."""
        rel = points - self.origin
        return np.stack([rel @ self.across, rel @ self.up], axis=-1)

    def lift(self, points: Floats) -> Floats:
        """Points of the plane (k, 2) in space (k, 3) [m]."""
        lifted: Floats = self.origin + points[:, :1] * self.across + points[:, 1:2] * self.up
        return lifted

    def off(self, points: Floats) -> Floats:
        """Distance of points from the plane [m]."""
        return np.abs((points - self.origin) @ self.normal)

    def shape(self, loops: Sequence[Floats]) -> BaseGeometry:
        """Area of loops laid into the plane, the first the outer."""
        outer, *holes = [self.flat(loop) for loop in loops]
        return make_valid(Polygon(outer, holes))

    @cached_property
    def area(self) -> BaseGeometry:
        """Its own area, openings included."""
        return self.shape(self.loops)

    @cached_property
    def points(self) -> Floats:
        """All its corners (k, 3) [m]."""
        return np.concatenate(self.loops)


@dataclass(frozen=True, slots=True)
class FacePair:
    """A face of the old drawing and one of the new that lie on each other.

    Parameters
    ----------
    old, new : str
    shared : float
        Area of both [m2].
    same : bool
        The outline is the same to half an inch.
    added : float
        Area of the new one where nothing was of the old [m2].
    """

    old: str
    new: str
    shared: float
    same: bool
    added: float


@dataclass(frozen=True, slots=True)
class Matched:
    """Two drawings laid on each other.

    Parameters
    ----------
    shift : tuple of float
        How far the whole old drawing is to be moved, where only the origin of the plan is another [m].
    pairs : tuple of FacePair
        Every two faces that overlap.
    faces : mapping of str to str
        New face by the old one it is for people: same outline, else most in common, else the same name.
    parts : tuple of (int, int)
        Numbers of old and new openings, penetrations and attachments that are the same thing, wherever it is now.
    unmoved : frozenset of (str, str)
        Old and new marks of those that are where they were, with the size they had.
    """

    shift: Point
    pairs: tuple[FacePair, ...]
    faces: Mapping[str, str]
    parts: tuple[tuple[int, int], ...]
    unmoved: frozenset[tuple[str, str]]


def match(old: Drawing, new: Drawing) -> Matched:
    """Lay two drawings on each other.

    Parameters
    ----------
    old, new : Drawing

    Returns
    -------
    Matched
    """
    key = old.shape, new.shape
    if key not in _matched:
        if len(_matched) >= _MOST_MATCHED:
            _matched.clear()
        _matched[key] = _match(old, new)
    return _matched[key]


_MOST_MATCHED: Final = 256
_matched: dict[tuple[str, str], Matched] = {}


def _match(old: Drawing, new: Drawing) -> Matched:
    shift, pairs = _laid(old, new)
    faces = _faces(old, new, pairs)
    parts = _parts(old, new, shift, faces)
    both = [(old.parts[i], new.parts[j]) for i, j in parts]
    unmoved = frozenset((a.mark, b.mark) for a, b in both if _unmoved(a, b, shift))
    return Matched((float(shift[0]), float(shift[1]), float(shift[2])), pairs, faces, parts, unmoved)


def _laid(old: Drawing, new: Drawing) -> tuple[Floats, tuple[FacePair, ...]]:
    """Lay the old drawing where it is, or where it has more faces in common when the origin moved."""
    none = np.zeros(3)
    here = _pairs(old, new, none)
    if not old.faces or not new.faces:
        return none, here
    aside = _corner(new) - _corner(old)
    if float(np.linalg.norm(aside)) <= SAME_PLACE.value or sum(pair.same for pair in here) == len(old.faces):
        return none, here
    there = _pairs(old, new, aside)
    alike = sum(pair.same for pair in there)
    if alike > sum(pair.same for pair in here) and 2 * alike >= len(old.faces):
        return aside, there
    return none, here


def _corner(drawing: Drawing) -> Floats:
    points = np.array([point for face in drawing.faces for loop in face.loops for point in loop])
    lowest: Floats = points.min(axis=0)
    return lowest


def _pairs(old: Drawing, new: Drawing, shift: Floats) -> tuple[FacePair, ...]:
    befores = [Plane(face, shift) for face in old.faces]
    nows = [Plane(face, np.zeros(3)) for face in new.faces]
    found = (_pair(before, now) for now in nows for before in befores)
    return tuple(pair for pair in found if pair is not None)


def _pair(before: Plane, now: Plane) -> FacePair | None:
    if float(before.normal @ now.normal) < _FLAT:
        return None
    near = SAME_PLACE.value
    off = np.concatenate([before.off(now.points), now.off(before.points)])
    if float(off.min()) > near:
        return None
    was = now.shape(before.loops)
    shared = float(was.intersection(now.area).area)
    if shared < _LEAST_AREA:
        return None
    flat = float(off.max()) <= near
    added = (
        float(now.area.difference(was.buffer(near, join_style="mitre")).area)
        if flat
        else float(now.area.area)
    )
    gone = float(was.difference(now.area.buffer(near, join_style="mitre")).area)
    return FacePair(
        before.face.id, now.face.id, shared, flat and added < _LEAST_AREA and gone < _LEAST_AREA, added
    )


def _faces(old: Drawing, new: Drawing, pairs: Sequence[FacePair]) -> dict[str, str]:
    """One new face for each old one, as far as there are."""
    ranked = sorted(pairs, key=lambda pair: (not pair.same, pair.old != pair.new, -pair.shared))
    out: dict[str, str] = {}
    taken: set[str] = set()
    named = [(face.id, face.id) for face in old.faces if face.id in new.face_ids]
    for before, now in [*((pair.old, pair.new) for pair in ranked), *named]:
        if before not in out and now not in taken:
            out[before] = now
            taken.add(now)
    return out


def _parts(
    old: Drawing, new: Drawing, shift: Floats, faces: Mapping[str, str]
) -> tuple[tuple[int, int], ...]:
    """Pair parts: first those that are where they were, then by mark, by what they still cover, by size on the same face."""
    rules: tuple[Callable[[DrawnPart, DrawnPart], float | None], ...] = (
        lambda a, b: _apart(a, b, shift) if _unmoved(a, b, shift) else None,
        lambda a, b: _apart(a, b, shift) if a.mark == b.mark and a.mark and _same_size(a, b) else None,
        lambda a, b: _apart(a, b, shift) if _overlap(a, b, shift) else None,
        lambda a, b: _apart(a, b, shift) if a.mark == b.mark and a.mark else None,
        lambda a, b: _apart(a, b, shift) if _same_size(a, b) and faces.get(a.face) == b.face else None,
    )
    left, right = set(range(len(old.parts))), set(range(len(new.parts)))
    out: list[tuple[int, int]] = []
    for rule in rules:
        found = sorted(_candidates(old.parts, new.parts, rule, (left, right)))
        for _, before, now in found:
            if before in left and now in right:
                out.append((before, now))
                left.discard(before)
                right.discard(now)
    return tuple(sorted(out))


def _candidates(
    old: Sequence[DrawnPart],
    new: Sequence[DrawnPart],
    rule: Callable[[DrawnPart, DrawnPart], float | None],
    left: tuple[Iterable[int], Iterable[int]],
) -> Iterator[tuple[float, int, int]]:
    for i in left[0]:
        for j in left[1]:
            if (old[i].sort, old[i].kind) == (new[j].sort, new[j].kind):
                distance = rule(old[i], new[j])
                if distance is not None:
                    yield round(distance, 6), i, j


def _same_size(a: DrawnPart, b: DrawnPart) -> bool:
    near = SAME_PLACE.value
    return (
        len(a.outline) == len(b.outline)
        and abs(a.width - b.width) <= near
        and abs(a.height - b.height) <= near
    )


def _unmoved(a: DrawnPart, b: DrawnPart, shift: Floats) -> bool:
    return _same_size(a, b) and _apart(a, b, shift) <= SAME_PLACE.value


def middle(part: DrawnPart) -> Floats:
    """Give the middle of a part [m]."""
    mean: Floats = np.mean(np.asarray(part.outline, dtype=np.float64), axis=0)
    return mean


def _apart(a: DrawnPart, b: DrawnPart, shift: Floats) -> float:
    """How far the two are from each other: the farthest corner of equal outlines, else the middle [m]."""
    if len(a.outline) == len(b.outline) and len(a.outline) > 1:
        both = np.asarray(a.outline) + shift - np.asarray(b.outline)
        return float(np.linalg.norm(both, axis=1).max())
    return float(np.linalg.norm(middle(a) + shift - middle(b)))


def _overlap(a: DrawnPart, b: DrawnPart, shift: Floats) -> bool:
    """Whether the two lie on each other in part, as the boxes round them do."""
    low_a, high_a = _box(a, shift)
    low_b, high_b = _box(b, np.zeros(3))
    near = SAME_PLACE.value
    return bool((low_a <= high_b + near).all() and (low_b <= high_a + near).all())


def _box(part: DrawnPart, shift: Floats) -> tuple[Floats, Floats]:
    points = np.asarray(part.outline, dtype=np.float64) + shift
    reach = part.width / 2 if len(part.outline) == 1 else 0.0
    return points.min(axis=0) - reach, points.max(axis=0) + reach
