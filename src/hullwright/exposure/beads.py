"""Joints strung on the lanes: what water meets on its way down a face.

A line across the slope is met where it crosses a lane. A line up the slope takes from a strip on each side of it, and is met once, at
its lower end, by all that its strip has gathered. A piece is met by a lane as wide as itself (at least as wide as a flaw takes
water from). The joint at the foot of a stretch is met last. Nail heads lie all over their face: they are met between beads, and take
what they take at the bead below (see :mod:`hullwright.exposure.per_metre`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.exposure.lanes import CLOSE, Lanes, up_the_slope
from hullwright.joints.model import Joint, JointKind

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SPREAD: Final = frozenset({JointKind.OVERDRIVEN, JointKind.OVERDRIVEN_COVERED})
"""Counted over a face, not at a place."""
ACROSS, STRIP, PIECE, FOOT = range(4)
"""How water meets a joint: a line across, a strip, a piece, the side at the foot."""


@dataclass(frozen=True, slots=True)
class Marks:
    """Joints on faces: lines and pieces in face coordinates, one row for each joint and face.

    Parameters
    ----------
    joint, face : ndarray (n,)
    line : ndarray (n, 4)
        ``u0, v0, u1, v1`` with u0 <= u1; a piece has one point [m].
    half : ndarray (n,)
        Half the width of its lane or strip; 0 for lines across [m].
    way : ndarray (n,)
        ACROSS, STRIP or PIECE.
    """

    joint: Ints
    face: Ints
    line: Floats
    half: Floats
    way: Ints

    @property
    def breaks(self) -> list[tuple[Ints, Floats]]:
        """Where lanes begin and end for them."""
        strip = self.way == STRIP
        middle = (self.line[strip, 0] + self.line[strip, 2]) / 2
        return [
            (self.face, self.line[:, 0] - self.half),
            (self.face, self.line[:, 2] + self.half),
            (self.face[strip], middle),
        ]


def marks(joints: Sequence[Joint], numbers: Mapping[str, int], lanes: Lanes, strip: float) -> Marks:
    """Place joints on the faces that have lanes.

    Parameters
    ----------
    joints : sequence of Joint
    numbers : mapping
        Face number by id.
    lanes : Lanes
        Only its axes are used.
    strip : float
        Width on each side of a line up the slope that it takes water from; pieces take from no less in all [m].
    """
    rows = [
        (
            number,
            numbers[name],
            joint.points[0],
            joint.points[-1],
            max(joint.width, strip) / 2,
            len(joint.faces),
        )
        for number, joint in enumerate(joints)
        if joint.kind not in SPREAD
        for name in joint.faces
    ]
    joint, face, sides = (np.array([row[k] for row in rows], dtype=np.int64) for k in (0, 1, 5))
    first, last = (np.array([row[k] for row in rows], dtype=np.float64).reshape(-1, 3) for k in (2, 3))
    wide = np.array([row[4] for row in rows], dtype=np.float64)
    piece = np.array([joints[number].kind.piece for number in joint.tolist()], dtype=np.bool_)
    on = lanes.places(face) >= 0
    joint, face, sides, wide, piece = joint[on], face[on], sides[on], wide[on], piece[on]
    line = np.concatenate([lanes.flat(face, first[on]), lanes.flat(face, last[on])], axis=1)
    line = np.where((line[:, 0] <= line[:, 2])[:, None], line, line[:, [2, 3, 0, 1]])
    upright = up_the_slope(line[:, 2] - line[:, 0], line[:, 3] - line[:, 1])
    way = np.where(piece, PIECE, np.where(upright, STRIP, ACROSS))
    half = np.where(piece, wide, np.where(upright, strip, 0.0))
    # A line between two faces that crosses the slope is the foot or head of its faces: the sides tell of it.
    own = (sides == 1) | (way != ACROSS)
    return Marks(joint[own], face[own], line[own], half[own], way[own])


@dataclass(frozen=True, slots=True)
class Beads:
    """What each stretch meets, from its head down; the last bead of a stretch is its foot.

    Parameters
    ----------
    stretch : ndarray (C,)
        Ascending.
    node : ndarray (C,)
        What is met there.
    v : ndarray (C,)
        Where, never ascending within a stretch [m].
    drop : ndarray (C,)
        Length of lane between the bead before it (or the head) and it [m].
    way : ndarray (C,)
        How it is met.
    """

    stretch: Ints
    node: Ints
    v: Floats
    drop: Floats
    way: Ints

    @property
    def last(self) -> Ints:
        """Last bead of each stretch."""
        return np.flatnonzero(np.diff(self.stretch, append=-1))

    def below(self, stretch: Ints, v: Floats) -> Ints:
        """First bead at or below a place of a stretch."""
        reach = 4.0 * float(np.abs(self.v).max(initial=1.0)) + 10.0
        keys = self.stretch * reach - self.v
        at: Ints = np.searchsorted(keys, stretch * reach - v - CLOSE).astype(np.int64)
        return at


def on_lanes(found: Marks, lanes: Lanes) -> tuple[Ints, Ints, Floats, Ints]:
    """Where marks lie on stretches: stretch, joint, v, way."""
    which, lane = lanes.between(found.face, found.line[:, 0] - found.half, found.line[:, 2] + found.half)
    again, stretch = lanes.stretches(lane)
    which, lane = which[again], lane[again]
    u0, v0, u1, v1 = found.line[which].T
    way = found.way[which]
    low, high = lanes.low[stretch], lanes.high[stretch]
    bottom = np.minimum(v0, v1)
    share = np.divide(lanes.local(lane) - u0, u1 - u0, out=np.zeros(len(u0)), where=u1 > u0)
    v = np.where(way == ACROSS, v0 + share * (v1 - v0), bottom)
    met = (v >= low - CLOSE) & (v < high - CLOSE)
    strip = way == STRIP
    met |= strip & (bottom < high - CLOSE) & (np.maximum(v0, v1) > low + CLOSE)
    v, joint = np.maximum(v, low), found.joint[which]
    # A piece where faces meet is met on the one that goes on below it, where there is one, not at the foot of the others too.
    within = np.zeros(int(joint.max(initial=-1)) + 1, dtype=np.bool_)
    within[joint[met & (way == PIECE) & (v > low + CLOSE)]] = True
    met &= (way != PIECE) | ~within[joint] | (v > low + CLOSE)
    return stretch[met], joint[met], v[met], way[met]


def strung(lanes: Lanes, met: tuple[Ints, Ints, Floats, Ints], foot_node: Ints) -> Beads:
    """Sort what stretches meet from the head down, their foot last.

    Parameters
    ----------
    lanes : Lanes
    met : tuple
        Stretch, node, v and way of what lies on them.
    foot_node : ndarray (S,)
        Node at the foot of each stretch.
    """
    count = len(lanes.lane)
    stretch = np.concatenate([met[0], np.arange(count)])
    node = np.concatenate([met[1], foot_node])
    v = np.concatenate([met[2], lanes.low])
    way = np.concatenate([met[3], np.full(count, FOOT)])
    # Of what lies at one height, strips come first, then pieces, then the line across.
    rank = np.array([2, 0, 1, 3])[way]
    order = np.lexsort((node, rank, -np.round(v, 6), way == FOOT, stretch))
    stretch, node, v, way = stretch[order], node[order], v[order], way[order]
    first = np.flatnonzero(np.diff(stretch, prepend=-1))
    before = np.concatenate([[0.0], v[:-1]])
    before[first] = lanes.high
    v = np.minimum(v, before)
    return Beads(stretch, node, v, before - v, way)
