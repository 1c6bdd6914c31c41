"""Drainage paths of the hull: what rain runs past, from the top down.

The paths are geometry alone: how the faces are cut into lanes, what each stretch meets on its way down, and where it lets its water
go. What runs along them is told by :func:`hullwright.exposure.streams.flow`, for any rain on the faces.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from hullwright.exposure import beads as stringing
from hullwright.exposure.beads import Beads
from hullwright.exposure.lanes import Lanes, cut, laid
from hullwright.exposure.onward import CHANNEL, POOL, Finder, Hubs
from hullwright.hull.model import Hull
from hullwright.joints.edges import edge_parts
from hullwright.joints.model import Joint, JointSet

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Widths:
    """Widths of water.

    Parameters
    ----------
    strip : float
        On each side of a line up the slope, from which it takes water [m].
    stream : float
        Of the stream in a valley or along a wall [m].
    """

    strip: float
    stream: float


@dataclass(frozen=True, slots=True)
class Handed:
    """Water handed on from a unit (stretch or hub) to a bead or a hub.

    Parameters
    ----------
    source, target : ndarray (T,)
        Units: stretches first, then hubs.
    bead : ndarray (T,)
        Bead that meets it first; -1: it goes to a hub.
    share : ndarray (T,)
        Share of what leaves the source; what is missing to 1 runs off.
    """

    source: Ints
    target: Ints
    bead: Ints
    share: Floats


@dataclass(frozen=True, slots=True)
class Paths:
    """Drainage paths.

    Parameters
    ----------
    joints : tuple of Joint
    lanes : Lanes
    beads : Beads
    handed : Handed
    hubs : Hubs
    entry, leave : ndarray (H,)
        Node that meets the water of a hub first, and the one that lets it go.
    joint : ndarray (N,)
        Joint of each node; -1: none, water passes.
    chains : tuple of ndarray
        Nodes of each pool, one after the other.
    fronts : ndarray (H,)
        Width in which the water of a hub passes: half the rim of a pool, the stream of a channel, the length of a rim [m].
    area : ndarray (F,)
        Area of each face [m2].
    face : ndarray (J,)
        Face that owns each joint.
    """

    joints: tuple[Joint, ...]
    lanes: Lanes
    beads: Beads
    handed: Handed
    hubs: Hubs
    entry: Ints
    leave: Ints
    joint: Ints
    chains: tuple[Ints, ...]
    fronts: Floats
    area: Floats
    face: Ints

    @property
    def units(self) -> int:
        """Stretches and hubs."""
        return len(self.lanes.lane) + self.hubs.count


def trace(hull: Hull, joints: JointSet, widths: Widths) -> Paths:
    """Trace the drainage paths.

    Parameters
    ----------
    hull : Hull
    joints : JointSet
    widths : Widths

    Returns
    -------
    Paths
    """
    # Edges are cut where one joint ends and the next begins.
    hull = replace(hull, edges=tuple(edge for edge, _ in edge_parts(hull)))
    numbers = {face.id: number for number, face in enumerate(hull.faces)}
    faces, axes, sides = laid(hull)
    bare = cut(faces, axes, sides, ())
    found = stringing.marks(joints.joints, numbers, bare, widths.strip)
    lanes = cut(faces, axes, sides, found.breaks)
    finder = Finder(hull, lanes, widths.stream)
    handed = finder.found()
    nodes = _Nodes(hull, joints.joints, numbers, finder.hubs)
    strung = stringing.strung(lanes, stringing.on_lanes(found, lanes), _feet(lanes, nodes))
    pools = [nodes.pool(face) for face in finder.hubs.pools]
    return Paths(
        joints=joints.joints,
        lanes=lanes,
        beads=strung,
        handed=_handed(handed, strung, len(lanes.lane)),
        hubs=finder.hubs,
        entry=nodes.at_hubs(finder.hubs, pools, 0),
        leave=nodes.at_hubs(finder.hubs, pools, -1),
        joint=np.array(nodes.joint, dtype=np.int64),
        chains=tuple(pools),
        fronts=_fronts(hull, finder.hubs, widths.stream),
        area=np.array([face.area for face in hull.faces], dtype=np.float64),
        face=np.array([numbers[one.faces[0]] for one in joints.joints], dtype=np.int64),
    )


class _Nodes:
    """Numbers what water meets: every joint once for what runs past it on lanes, and again on the rim of a pool."""

    def __init__(self, hull: Hull, joints: Sequence[Joint], numbers: Mapping[str, int], hubs: Hubs) -> None:
        self.joint = list(range(len(joints)))
        self.hull, self.hubs = hull, hubs
        lines = {
            _line_key((numbers[one.faces[0]], numbers[one.faces[1]]), one.points[0], one.points[-1]): number
            for number, one in enumerate(joints)
            if len(one.faces) == 2 and not one.kind.piece
        }
        self.edges = [lines.get(_line_key((e.left, e.right), e.start, e.end), -1) for e in hull.edges]
        self.made: dict[int, int] = {}
        self.on_pool: dict[int, list[int]] = {face: [] for face in hubs.pools}
        for number, one in enumerate(joints):
            face = numbers[one.faces[0]]
            if face in self.on_pool and len(one.faces) == 1:
                self.on_pool[face].append(number)
        for found in self.on_pool.values():
            found.sort(key=lambda number: (joints[number].run, joints[number].id))

    def new(self, joint: int) -> int:
        """Make one more node."""
        self.joint.append(joint)
        return len(self.joint) - 1

    def at_edge(self, edge: int) -> int:
        """Node of a hull edge: its joint; where it has none, a node that lets all pass."""
        if self.edges[edge] >= 0:
            return self.edges[edge]
        if edge not in self.made:
            self.made[edge] = self.new(-1)
        return self.made[edge]

    def pool(self, face: int) -> Ints:
        """Nodes of a level face, one after the other."""
        return np.array(self.on_pool[face] or [self.new(-1)], dtype=np.int64)

    def at_hubs(self, hubs: Hubs, pools: Sequence[Ints], end: int) -> Ints:
        """Node of each hub that meets its water first (0) or last (-1)."""
        channels = [self.at_edge(edge) for edge in hubs.channels]
        level = [int(chain[end]) for chain in pools]
        if end == 0:
            self.rims = [self.new(self.edges[edge]) for _, edge in hubs.rims]
        return np.array([*channels, *level, *self.rims], dtype=np.int64)


def _line_key(faces: tuple[int, int], start: Floats, end: Floats) -> tuple[object, ...]:
    ends = sorted((tuple(np.round(start, 4).tolist()), tuple(np.round(end, 4).tolist())))
    return (min(faces), max(faces), *ends)


def _feet(lanes: Lanes, nodes: _Nodes) -> Ints:
    """Node at the foot of each stretch."""
    edges = {int(edge): nodes.at_edge(int(edge)) for edge in np.unique(lanes.sides.edge[lanes.foot])}
    return np.array([edges[edge] for edge in lanes.sides.edge[lanes.foot].tolist()], dtype=np.int64)


def _handed(found: tuple[Ints, Ints, Floats, Ints, Floats], strung: Beads, stretches: int) -> Handed:
    source, stretch, v, hub, share = found
    on = stretch >= 0
    bead = np.full(len(source), -1, dtype=np.int64)
    bead[on] = np.minimum(strung.below(stretch[on], v[on]), strung.last[stretch[on]])
    return Handed(source, np.where(on, stretch, stretches + hub), bead, share)


def _fronts(hull: Hull, hubs: Hubs, stream: float) -> Floats:
    level = [hull.faces[face].perimeter / 2 for face in hubs.pools]
    rims = [hull.edges[edge].length for _, edge in hubs.rims]
    return np.array([*(stream for _ in hubs.channels), *level, *rims], dtype=np.float64)


__all__ = ["CHANNEL", "POOL", "Handed", "Paths", "Widths", "trace"]
