"""What passes each joint per metre of its width, from what runs along the lanes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hullwright.exposure.adding import added
from hullwright.exposure.beads import ACROSS, FOOT, PIECE, SPREAD, STRIP
from hullwright.exposure.paths import Paths

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Ran:
    """Water on the lanes as if nothing entered.

    Parameters
    ----------
    own : ndarray (C,)
        What falls between each bead and the one before it [L].
    passed : ndarray (C,)
        What comes to each bead [L].
    units : ndarray (S + H,)
        What leaves each stretch and hub [L].
    moved : ndarray (T,)
        What is handed on [L].
    """

    own: Floats
    passed: Floats
    units: Floats
    moved: Floats


def per_metre(paths: Paths, ran: Ran, rain: Floats) -> tuple[Floats, Floats]:
    """Water per metre of width, by node: where a flaw takes from it, and for a joint left open [L/m].

    A flaw lies anywhere along a line: up the slope and in a channel it meets what has gathered to there, on average half. A line
    left open is met by all that reaches it, spread over its length.
    """
    count = len(paths.joint)
    beads = paths.beads
    size = _sizes(paths)
    in_channel = _in_channels(paths)

    def total(way: int, values: Floats, where: NDArray[np.bool_] | bool = True) -> Floats:
        on = (beads.way == way) & where
        return added(beads.node[on], values[on], count)

    def over(water: Floats, width: Floats) -> Floats:
        return np.divide(water, width, out=np.zeros(count), where=width > 0)

    lane = paths.lanes.lane[beads.stretch]
    width = paths.lanes.width[lane]
    across = total(ACROSS, ran.passed) + total(FOOT, ran.passed, ~in_channel)
    strip, strip_width = total(STRIP, ran.passed), total(STRIP, width)
    gathered = total(FOOT, ran.passed, in_channel)
    upper = _from_above(paths, ran)
    piece, piece_width = total(PIECE, ran.passed), total(PIECE, width)
    halved = strip - total(STRIP, _strip_rain(paths, rain)) / 2
    stream = np.zeros(count)
    for hub in paths.hubs.channels.values():
        stream[paths.entry[hub]] = paths.fronts[hub]
    passing = over(across, size) + over(halved, strip_width) + over(upper + gathered / 2, stream)
    opened = over(across + strip + gathered + upper, size)
    pieces = _pieces(paths)
    passing = np.where(pieces, over(piece, piece_width), passing)
    opened = np.where(pieces, over(piece, np.maximum(piece_width, size)), opened)
    for values in (passing, opened):
        _level(paths, ran, values)
    return passing, opened


def _sizes(paths: Paths) -> Floats:
    """Length of the line, or width of the piece, of each node [m]."""
    sizes = [one.width if one.kind.piece else one.length for one in paths.joints]
    return np.array([*sizes, 0.0])[paths.joint]


def _pieces(paths: Paths) -> NDArray[np.bool_]:
    return np.array([*(one.kind.piece for one in paths.joints), False])[paths.joint]


def _in_channels(paths: Paths) -> NDArray[np.bool_]:
    """Beads at the foot of a stretch that lets its water go into a channel."""
    edges = np.array(sorted(paths.hubs.channels), dtype=np.int64)
    foot = paths.lanes.sides.edge[paths.lanes.foot]
    found: NDArray[np.bool_] = np.isin(foot, edges)[paths.beads.stretch]
    return found


def _from_above(paths: Paths, ran: Ran) -> Floats:
    """What comes to each node down a channel that ends at the head of its own [L]."""
    stretches = len(paths.lanes.lane)
    down = (paths.handed.source >= stretches) & (paths.handed.bead < 0)
    hub = paths.handed.target[down] - stretches
    channel = hub < len(paths.hubs.channels)
    return added(paths.entry[hub[channel]], ran.moved[down][channel], len(paths.joint))


def _strip_rain(paths: Paths, rain: Floats) -> Floats:
    """What falls on a strip along its line [L], by bead."""
    beads, lanes = paths.beads, paths.lanes
    lengths = np.array([*(one.length for one in paths.joints), 0.0])[paths.joint[beads.node]]
    lane = lanes.lane[beads.stretch]
    along = np.minimum(lengths, lanes.high[beads.stretch] - beads.v)
    found: Floats = rain[lanes.face[lane]] * lanes.width[lane] * along
    return found


def all_over(paths: Paths, ran: Ran) -> tuple[Ints, Ints, Floats]:
    """Nail heads lie all over their face, and take what they take at the next bead below.

    Returns
    -------
    node, joint : ndarray
        Where heads take, and whose.
    passing : ndarray
        Their share there of what passes a head, mean over the face: adds up to it over all nodes [L/m].
    """
    lanes, beads = paths.lanes, paths.beads
    face = lanes.face[lanes.lane[beads.stretch]]
    part = beads.drop * (ran.passed - ran.own / 2)
    found: list[tuple[Ints, Ints, Floats]] = []
    for number, one in enumerate(paths.joints):
        if one.kind not in SPREAD:
            continue
        on = np.flatnonzero(face == paths.face[number])
        nodes, place = np.unique(beads.node[on], return_inverse=True)
        mean = added(place, part[on], len(nodes)) / paths.area[paths.face[number]]
        found.append((nodes, np.full(len(nodes), number), mean))
    none = np.empty(0, dtype=np.int64)
    return (
        np.concatenate([none, *(one[0] for one in found)]),
        np.concatenate([none, *(one[1] for one in found)]),
        np.concatenate([none.astype(np.float64), *(one[2] for one in found)]),
    )


def _level(paths: Paths, ran: Ran, values: Floats) -> None:
    """On a level roof all its water passes each joint, over half its rim; at the rim, over its length."""
    stretches = len(paths.lanes.lane)
    for chain, hub in zip(paths.chains, paths.hubs.pools.values(), strict=True):
        values[chain] = ran.units[stretches + hub] / paths.fronts[hub]
    for hub in paths.hubs.rims.values():
        values[paths.entry[hub]] = ran.units[stretches + hub] / paths.fronts[hub]
