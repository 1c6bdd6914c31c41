"""The hull: planar faces that close.

Geometry in metres, z up. Loops of a face run counter-clockwise seen from outside (holes clockwise), so the two
half-edges of an edge run against each other.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Opening, Penetration

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


class FaceKind(StrEnum):
    """What a face of the hull is."""

    WALL = "wall"
    BASEMENT_WALL = "foundation wall"
    SLAB_EDGE = "slab edge"
    GARAGE_WALL = "garage wall"
    PARTY_WALL = "party wall"
    SHAFT_WALL = "shaft wall"
    ROOF = "roof"
    FLAT_ROOF = "flat roof"
    PARAPET_INSIDE = "parapet inside"
    PARAPET_TOP = "parapet top"
    CEILING = "ceiling"
    FLOOR_OVER_AIR = "floor over outside air"
    GROUND = "ground"

    @property
    def sheathed(self) -> bool:
        """Whether panels are laid on it."""
        return self in _SHEATHED


_SHEATHED = {
    FaceKind.WALL,
    FaceKind.GARAGE_WALL,
    FaceKind.ROOF,
    FaceKind.FLAT_ROOF,
    FaceKind.PARAPET_INSIDE,
    FaceKind.PARAPET_TOP,
    FaceKind.FLOOR_OVER_AIR,
    FaceKind.CEILING,
}


@dataclass(frozen=True, slots=True)
class Frame:
    """Face coordinates: ``point = origin + x * across + y * up`` seen from outside, x to the right, y up (or up the slope).

    For level faces x is plan east and y plan north (seen from above) or mirrored (seen from below).
    """

    origin: Floats
    across: Floats
    up: Floats

    def lift(self, xy: Floats) -> Floats:
        """Face coordinates (k, 2) to points in space (k, 3) [m]."""
        lifted: Floats = self.origin + xy[..., :1] * self.across + xy[..., 1:2] * self.up
        return lifted

    def drop(self, points: Floats) -> Floats:
        """Points in space (k, 3) to face coordinates (k, 2) [m]."""
        rel = points - self.origin
        return np.stack([rel @ self.across, rel @ self.up], axis=-1)


@dataclass(frozen=True, slots=True)
class PlacedOpening:
    """An opening in its face: polygon in face coordinates (k, 2) [m], first point lower left, counter-clockwise."""

    opening: Opening
    polygon: Floats


@dataclass(frozen=True, slots=True)
class PlacedPenetration:
    """One thing that passes a face, at face coordinates (2,) [m]; `number` counts within its row."""

    penetration: Penetration
    number: int
    at: Floats


@dataclass(frozen=True, slots=True)
class Face:
    """One planar face of the hull.

    Parameters
    ----------
    id : str
        Stable name such as ``main/south`` or ``main/roof south``.
    kind : FaceKind
    mass : str
        Mass it came from; where coplanar faces of several masses merged: the one that gives most of its area, the first by
        name of those within 1 %.
    masses : tuple of str
        All masses it came from.
    side : str
        Side of the mass, or '' for level faces.
    normal : ndarray (3,)
        Outward unit normal.
    offset : float
        ``normal @ point`` of its plane [m].
    loops : tuple of ndarray (k, 3)
        Outer loop, then holes [m]; no repeated last point; every vertex of the hull that lies on an edge is in the loop.
    frame : Frame
    azimuth : float
        True bearing of the outward normal [deg], nan for level faces.
    tilt : float
        0 faces up, 90 upright, 180 faces down [deg].
    group : str
        ``wall``, ``roof``, ``floor``, ``ceiling``, or '' where nothing is sheathed: which sheathing is on it.
    substrate : str
        Substrate key (``concrete`` on foundation faces).
    rated : bool
        Fire-resistance rated.
    area : float
        Openings included [m2].
    cold : bool
        A mass outside the hull (garage, porch) stands against it.
    code : str
        What ids of joints call it: body and side, and a letter for what is no plain wall; no word of any language but the names
        that the file gives.
    was : str
        The id it had before faces were renamed: logs and decisions of then name it so.
    number : int
        1, and on from it where a side has several faces of its kind.
    """

    id: str
    kind: FaceKind
    mass: str
    masses: tuple[str, ...]
    side: str
    normal: Floats
    offset: float
    loops: tuple[Floats, ...]
    frame: Frame
    azimuth: float
    tilt: float
    group: str
    substrate: str
    rated: bool
    openings: tuple[PlacedOpening, ...] = ()
    penetrations: tuple[PlacedPenetration, ...] = ()
    area: float = 0.0
    cold: bool = False
    code: str = ""
    was: str = ""
    number: int = 1

    def __post_init__(self) -> None:
        """Take the id where a face made by hand has no code."""
        object.__setattr__(self, "code", self.code or self.id)
        object.__setattr__(self, "was", self.was or self.id)

    @property
    def perimeter(self) -> float:
        """Length of all its loops [m]."""
        loops = [loop.tolist() for loop in self.loops]
        return sum(math.dist(loop[i - 1], loop[i]) for loop in loops for i in range(len(loop)))

    @property
    def net_area(self) -> float:
        """Area less openings [m2]."""
        return self.area - sum(_polygon_area(o.polygon) for o in self.openings)


def _polygon_area(polygon: Floats) -> float:
    x, y = polygon[:, 0], polygon[:, 1]
    return float(abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2)


@dataclass(frozen=True, slots=True)
class Edge:
    """A straight edge of the hull, shared by two faces, collinear pieces between the same two faces merged.

    Parameters
    ----------
    left, right : int
        Face numbers: `left` runs it from `start` to `end`, `right` back.
    start, end : ndarray (3,)
        [m]
    dihedral : float
        Signed angle between the outward normals [deg]: > 0 outside (convex), < 0 inside, 0 coplanar (contact outline, change of kind).
    """

    left: int
    right: int
    start: Floats
    end: Floats
    dihedral: float

    @property
    def length(self) -> float:
        """Length [m]."""
        return math.dist(self.start.tolist(), self.end.tolist())


@dataclass(frozen=True, slots=True)
class FloorLine:
    """Where a story's walls stand on what is below: the layer passes from one framing to the other there.

    Where the wall runs on below it is a level line across the face, broken at nothing (openings come later). Where the
    story is set back or hangs over, it is the foot of its wall: an edge of the hull, whose joint carries it.

    Parameters
    ----------
    face : int
        Face of the story's wall.
    start, end : ndarray (3,)
        [m], left to right seen from outside.
    mass : str
    storey : int
        The storey whose floor it is.
    edge : int
        Number of the hull's edge that it lies along; -1 where it runs across the face.
    """

    face: int
    start: Floats
    end: Floats
    mass: str
    storey: int
    edge: int = -1


@dataclass(frozen=True, slots=True)
class StoryLine:
    """A stretch of a story's wall that stands free at its floor, by plans alone: a floor line must run there.

    Parameters
    ----------
    start, end : ndarray (3,)
        [m], at the height of the floor.
    mass : str
    storey : int
        The storey whose floor it is.
    """

    start: Floats
    end: Floats
    mass: str
    storey: int


@dataclass(frozen=True, slots=True)
class OpenEnd:
    """A piece of face edge that nothing meets: the hull is open there [m]."""

    face: int
    start: Floats
    end: Floats


@dataclass(frozen=True, slots=True)
class Hull:
    """The closed surface.

    Parameters
    ----------
    faces : tuple of Face
        Sorted by id.
    vertices : ndarray (V, 3)
        [m]
    edges : tuple of Edge
    floor_lines : tuple of FloorLine
    open_ends : tuple of OpenEnd
        Empty where the hull is closed.
    story_lines : tuple of StoryLine
        Where floor lines must run by the framing stated: what the continuity report holds them against.
    volume : float
        Enclosed by the hull, outside dimensions [m3].
    mesh_points, mesh_triangles, mesh_face : ndarray
        Triangles for drawing: (P, 3) [m], (T, 3), (T,) face number.
    heights : mapping
        Ground level by mass [m].
    notes : tuple of str
        What the user should know of how the masses were read.
    """

    faces: tuple[Face, ...]
    vertices: Floats
    edges: tuple[Edge, ...]
    floor_lines: tuple[FloorLine, ...]
    open_ends: tuple[OpenEnd, ...]
    volume: float
    mesh_points: Floats
    mesh_triangles: Ints
    mesh_face: Ints
    heights: Mapping[str, float]
    notes: tuple[str, ...] = ()
    story_lines: tuple[StoryLine, ...] = ()

    @property
    def closed(self) -> bool:
        """Whether every edge of every face is met by another face."""
        return not self.open_ends

    @property
    def area(self) -> float:
        """Area of all faces, openings included [m2]."""
        return sum(face.area for face in self.faces)

    def number(self, face_id: str) -> int:
        """Give the number of the face of that id."""
        return next(i for i, face in enumerate(self.faces) if face.id == face_id)
