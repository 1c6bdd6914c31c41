"""Where on the wall is a place: the joints of a face as lines and points, and which of them lies next to it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from hullwright.material.distributions import Floats
from hullwright.proof.site import Point, SiteJoint


@dataclass(frozen=True, slots=True)
class Near:
    """Joints of a face and their distance from places.

    Parameters
    ----------
    joints : tuple of SiteJoint
    distance : ndarray (places, joints)
        From the line of a band, or from the edge of a piece [m].
    """

    joints: tuple[SiteJoint, ...]
    distance: Floats


class Wall:
    """The joints of a house, found by name, face and place.

    Parameters
    ----------
    joints : sequence of SiteJoint
    """

    def __init__(self, joints: Sequence[SiteJoint]) -> None:
        self.joints = {joint.id: joint for joint in joints}
        self._names = {old: joint.id for joint in joints for old in joint.was} | {j.id: j.id for j in joints}
        runs: dict[str, list[SiteJoint]] = defaultdict(list)
        marks: dict[str, list[SiteJoint]] = defaultdict(list)
        faces: dict[str, list[SiteJoint]] = defaultdict(list)
        for joint in joints:
            if joint.run:
                runs[joint.run].append(joint)
            if joint.mark:
                marks[joint.mark.casefold()].append(joint)
            for face in joint.faces:
                faces[face].append(joint)
        self._runs: Mapping[str, Sequence[SiteJoint]] = runs
        self._marks: Mapping[str, Sequence[SiteJoint]] = marks
        self._faces: Mapping[str, Sequence[SiteJoint]] = faces
        self._lines: dict[str, tuple[Floats, Floats, Floats]] = {}

    def joint(self, name: str) -> SiteJoint | None:
        """Give a joint by its id of today or of before."""
        found = self._names.get(name)
        return None if found is None else self.joints[found]

    def called(self, name: str) -> tuple[SiteJoint, ...]:
        """Give the joints that a name stands for: a joint, a run, or a mark."""
        one = self.joint(name)
        if one is not None:
            return (one,)
        return tuple(self._runs.get(name, ()) or self._marks.get(name.casefold(), ()))

    def on_face(self, face: str) -> Sequence[SiteJoint]:
        """Give the joints on a face or at its edge."""
        return self._faces.get(face, ())

    def has_face(self, face: str) -> bool:
        """Whether any joint lies on such a face."""
        return face in self._faces

    def near(self, face: str, places: Sequence[Point]) -> Near:
        """Give all joints with a line on a face, and how far each place lies from them."""
        joints = tuple(joint for joint in self._faces.get(face, ()) if joint.points)
        if not joints or not places:
            return Near(joints, np.zeros((len(places), len(joints))))
        start, end, owner = self._segments(face, joints)
        at = np.asarray(places, dtype=np.float64)[:, None, :]
        step = end - start
        length = np.maximum((step**2).sum(axis=1), 1e-18)
        t = np.clip(((at - start) * step).sum(axis=2) / length, 0.0, 1.0)
        apart = np.linalg.norm(start + t[..., None] * step - at, axis=2)
        first = np.flatnonzero(np.diff(owner, prepend=-1.0))
        nearest = np.minimum.reduceat(apart, first, axis=1)
        radius = np.array([max(joint.section) / 2 if joint.piece else 0.0 for joint in joints])
        return Near(joints, np.maximum(nearest - radius, 0.0))

    def _segments(self, face: str, joints: Iterable[SiteJoint]) -> tuple[Floats, Floats, Floats]:
        if face not in self._lines:
            rows = [
                (a, b, float(k))
                for k, joint in enumerate(joints)
                for a, b in zip(joint.points, joint.points[1:] or joint.points, strict=False)
            ]
            starts, ends, owners = zip(*rows, strict=True)
            self._lines[face] = (np.array(starts), np.array(ends), np.array(owners))
        return self._lines[face]


def along(points: Sequence[Point], place: Point) -> float:
    """Give the distance along a polyline [m] of the point nearest to a place.

    Examples
    --------
    >>> along(((0.0, 0, 0), (2.0, 0, 0), (2.0, 3.0, 0)), (2.5, 1.0, 0.0))
    3.0
    """
    line = np.asarray(points, dtype=np.float64)
    if len(line) < 2:
        return 0.0
    start, step = line[:-1], np.diff(line, axis=0)
    length = np.linalg.norm(step, axis=1)
    t = np.clip(((np.asarray(place) - start) * step).sum(axis=1) / np.maximum(length**2, 1e-18), 0.0, 1.0)
    off = np.linalg.norm(start + t[:, None] * step - np.asarray(place), axis=1)
    best = int(off.argmin())
    return float(length[:best].sum() + t[best] * length[best])
