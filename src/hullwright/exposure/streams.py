"""What runs along the drainage paths for a given rain, and what enters where joints let some in.

What reaches a joint is what fell on its own strip and what the joints above let pass; what enters does not pass below. So in each
path, from the top down, what entered and what ran off add up to what fell.

First the water is followed lane by lane as if nothing entered: that gives what reaches each joint, and in what shares it goes on from
there. Then, with what every joint lets in, the sum goes down the joints: what comes to one is spread over it as it was.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hullwright.exposure.adding import added
from hullwright.exposure.chain import Links
from hullwright.exposure.paths import Paths
from hullwright.exposure.per_metre import Ran, all_over, per_metre
from hullwright.joints.model import JointSet

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_TURNS = 500  # faces that a path runs down at most


@dataclass(frozen=True, slots=True)
class Streams:
    """Water along the paths as if nothing entered.

    Parameters
    ----------
    fallen : float
        All that falls on the hull [L].
    node, joint : ndarray (K,)
        Where joints meet water: node of the links, and the joint. Most have one node of their own; nail heads take at every node of
        their face.
    passing : ndarray (K,)
        Water that passes the joint there per metre of width, where a flaw takes from it [L/m].
    open : ndarray (K,)
        The same for a joint left open: all that reaches a line, by its length [L/m].
    links : Links
        How water goes on from node to node.
    """

    fallen: float
    node: Ints
    joint: Ints
    passing: Floats
    open: Floats
    links: Links

    def by_joint(self, values: Floats, count: int) -> Floats:
        """Add up what joints have at their nodes (J,)."""
        return added(self.joint, values, count)


def flow(paths: Paths, rain: Floats) -> Streams:
    """Let rain run down the paths.

    Parameters
    ----------
    paths : Paths
    rain : ndarray (F,)
        What falls on each face over the days that count [L per m2 of the face]: the one thing that a weather file replaces.

    Returns
    -------
    Streams
    """
    beads = paths.beads
    own = _own(paths, rain)
    units, stray = _units(paths, own, rain)
    moved = paths.handed.share * units[paths.handed.source]
    on = paths.handed.bead >= 0
    inflow = own + added(paths.handed.bead[on], moved[on], len(own))
    passed = np.cumsum(inflow)
    first = np.flatnonzero(np.diff(beads.stretch, prepend=-1))
    passed -= (passed - inflow)[first][beads.stretch]
    ran = Ran(own, passed, units, moved)
    links = _links(paths, ran, stray, rain)
    passing, opened = per_metre(paths, ran, rain)
    at = np.flatnonzero(paths.joint >= 0)
    heads = all_over(paths, ran)
    return Streams(
        float(rain @ paths.area),
        np.concatenate([at, heads[0]]),
        np.concatenate([paths.joint[at], heads[1]]),
        np.concatenate([passing[at], heads[2]]),
        np.concatenate([opened[at], heads[2]]),
        links,
    )


def _own(paths: Paths, rain: Floats) -> Floats:
    """What falls between each bead and the one before it [L]."""
    lanes, beads = paths.lanes, paths.beads
    lane = lanes.lane[beads.stretch]
    area = lanes.width[lane] * beads.drop
    face = lanes.face[lane]
    laid = added(face, area, len(paths.area))
    # Lanes cover their face but for rounding; none of its rain is lost.
    exact = np.divide(paths.area, laid, out=np.zeros(len(laid)), where=laid > 0)
    own: Floats = area * (exact * rain)[face]
    return own


def _units(paths: Paths, own: Floats, rain: Floats) -> tuple[Floats, float]:
    """What leaves each stretch and hub [L], and what falls on faces without any [L]."""
    source = np.zeros(paths.units)
    stretches = len(paths.lanes.lane)
    source[:stretches] = added(paths.beads.stretch, own, stretches)
    for face, hub in paths.hubs.pools.items():
        source[stretches + hub] = rain[face] * paths.area[face]
    units = source
    for _ in range(_TURNS):
        handed = added(paths.handed.target, paths.handed.share * units[paths.handed.source], paths.units)
        before, units = units, source + handed
        if np.array_equal(before, units):
            break
    return units, float(rain @ paths.area) - float(source.sum())


def _links(paths: Paths, ran: Ran, stray: float, rain: Floats) -> Links:
    beads, handed, hubs = paths.beads, paths.handed, paths.hubs
    stretches, count = len(paths.lanes.lane), len(paths.joint)
    leave = np.concatenate([beads.node[beads.last], paths.leave])
    entry = np.concatenate([np.full(stretches, -1), paths.entry])
    follows = np.flatnonzero(beads.stretch[1:] == beads.stretch[:-1])
    meets = np.where(handed.bead >= 0, beads.node[handed.bead], entry[handed.target])
    level = [ran.units[stretches + hub] for hub in hubs.pools.values()]
    own = added(beads.node, ran.own, count)
    for face, hub in hubs.pools.items():
        own[paths.entry[hub]] += rain[face] * paths.area[face]
    kept = added(handed.source, ran.moved, paths.units)
    off = added(leave, np.maximum(ran.units - kept, 0.0), count)
    pairs = [
        (beads.node[follows], beads.node[follows + 1], ran.passed[follows]),
        (leave[handed.source], meets, ran.moved),
        *(
            (chain[:-1], chain[1:], np.full(len(chain) - 1, water))
            for chain, water in zip(paths.chains, level, strict=True)
        ),
    ]
    source, target, amount = (np.concatenate([pair[k] for pair in pairs]) for k in range(3))
    raw = Links(own, stray, off, source.astype(np.int64), target.astype(np.int64), amount)
    return raw.merged(np.arange(count))


def apart(joints: JointSet, passing: Floats, strip: float) -> Streams:
    """Water of a house that is stated as runs, without a surface: each joint has a path of its own.

    Parameters
    ----------
    joints : JointSet
    passing : ndarray (J,)
        What passes each [L/m].
    strip : float
        Least width that a piece takes water from [m].
    """
    count = len(joints.joints)
    width = np.array(
        [one.count * max(one.width, strip) if one.kind.piece else one.length for one in joints.joints]
    )
    reach = passing * width
    none = np.empty(0, dtype=np.int64)
    links = Links(reach, 0.0, reach, none, none, np.empty(0))
    every = np.arange(count)
    return Streams(float(reach.sum()), every, every, passing, passing.copy(), links)
