"""Where water goes at the foot of a face: onto the next one, along a valley or a wall, over the eave, into a level roof.

Ways on, by the side that a stretch ends at:

- onto a face that falls away from it: straight on (roof onto roof, wall onto the roof it stands on);
- where the face beyond falls toward it as well (valley), or falls along it (a wall on a roof's side): a *channel*, which gathers and
  lets go at its lower end;
- over an eave: it drips, onto the roof below if there is one, else off;
- onto a level roof: it spreads there (a *pool*), and leaves over its rim;
- onto anything dry, or the ground: off.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.exposure.adding import added
from hullwright.exposure.lanes import CLOSE, DRY, Lanes, sloped
from hullwright.hull.model import Face, FaceKind, Hull
from hullwright.joints.lanes import LEVEL_FACE
from hullwright.joints.scan import ranges

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

OFF, ON, CHANNEL, DRIP, POOL = range(5)
"""What a side does with the water that comes to it."""
_STEEP: Final = 80.0  # deg: a face as steep as that is a wall, off which a roof drips
_ASIDE: Final = 0.02  # m: where a drop lands, outside the face it leaves
_FALL: Final = 1e-3  # fall per length below which a channel is level and has no lower end
_SAMPLE: Final = 0.5  # m of rim that drips as one


@dataclass(slots=True)
class Onward:
    """Water handed on, as found: from a unit (stretch or hub) to a place on a stretch, or to a hub."""

    source: list[Ints] = field(default_factory=list)
    stretch: list[Ints] = field(default_factory=list)
    v: list[Floats] = field(default_factory=list)
    hub: list[Ints] = field(default_factory=list)
    share: list[Floats] = field(default_factory=list)

    def to_stretches(self, source: Ints, stretch: Ints, v: Floats, share: Floats) -> None:
        """Hand on to places on stretches."""
        self._add(source, stretch, v, np.full(len(source), -1), share)

    def to_hubs(self, source: Ints, hub: Ints, share: Floats) -> None:
        """Hand on to hubs."""
        self._add(source, np.full(len(source), -1), np.zeros(len(source)), hub, share)

    def _add(self, source: Ints, stretch: Ints, v: Floats, hub: Ints, share: Floats) -> None:
        self.source.append(source)
        self.stretch.append(stretch)
        self.v.append(v)
        self.hub.append(hub)
        self.share.append(share)

    def joined(self) -> tuple[Ints, Ints, Floats, Ints, Floats]:
        """All of it: source, stretch, v, hub, share."""
        none = np.empty(0, dtype=np.int64)
        return (
            np.concatenate([none, *self.source]),
            np.concatenate([none, *self.stretch]),
            np.concatenate([none.astype(np.float64), *self.v]),
            np.concatenate([none, *self.hub]),
            np.concatenate([none.astype(np.float64), *self.share]),
        )


@dataclass(frozen=True, slots=True)
class Hubs:
    """What gathers water from many stretches.

    Parameters
    ----------
    channels : dict
        Hub number by hull edge.
    pools : dict
        Hub number by face number of level roofs and parapet tops.
    rims : dict
        Hub number by (face number of the pool, hull edge): where a pool lets go.
    count : int
    """

    channels: dict[int, int]
    pools: dict[int, int]
    rims: dict[tuple[int, int], int]
    count: int


def pooled(hull: Hull) -> list[int]:
    """Numbers of the level faces that rain falls on."""
    return [
        number for number, face in enumerate(hull.faces) if face.kind not in DRY and face.tilt < LEVEL_FACE
    ]


def does(hull: Hull, lanes: Lanes) -> Ints:
    """What each side does with water that comes to it (E,); OFF for sides that none comes to."""
    sides, faces = lanes.sides, hull.faces
    wet_slope = set(sloped(hull).tolist())
    level = set(pooled(hull))
    beyond = _beyond(lanes)
    out = np.full(len(sides.edge), OFF)
    for number in np.flatnonzero((sides.over > 0) & ~sides.upright).tolist():
        own, other = faces[int(sides.face[number])], int(sides.other[number])
        outside = hull.edges[int(sides.edge[number])].dihedral > 0
        if other in level:
            out[number] = POOL
        elif faces[other].kind is FaceKind.FLOOR_OVER_AIR:
            out[number] = DRIP
        elif other not in wet_slope:
            continue
        elif outside and own.tilt < _STEEP <= faces[other].tilt:
            out[number] = DRIP
        else:
            out[number] = ON if beyond[number] < 0 else CHANNEL
    return out


def _beyond(lanes: Lanes) -> Floats:
    """How each side runs on the face beyond: below 0 at its head, above 0 at its foot, 1 up its slope."""
    sides = lanes.sides
    twin = twins(lanes)
    found = np.where(twin >= 0, sides.over[twin], 0.0)
    return np.where((twin >= 0) & sides.upright[twin], 1.0, found)


def twins(lanes: Lanes) -> Ints:
    """The same edge as a side of the face beyond; -1: that has no lanes."""
    sides = lanes.sides
    order = np.lexsort((sides.face, sides.edge))
    same = np.flatnonzero(np.diff(sides.edge[order]) == 0)
    twin = np.full(len(order), -1, dtype=np.int64)
    twin[order[same]] = order[same + 1]
    twin[order[same + 1]] = order[same]
    return twin


def hubs_of(hull: Hull, lanes: Lanes, done: Ints) -> Hubs:
    """Number the hubs, from 0: channels, pools, rims."""
    channels = sorted({int(edge) for edge in lanes.sides.edge[done == CHANNEL]})
    level = pooled(hull)
    rims = [(face, edge) for face in level for edge in rim(hull, face)]
    places: list[object] = [*channels, *level, *rims]
    count = len(places)
    first, second = len(channels), len(channels) + len(level)
    return Hubs(
        {edge: k for k, edge in enumerate(channels)},
        {face: first + k for k, face in enumerate(level)},
        {pair: second + k for k, pair in enumerate(rims)},
        count,
    )


def rim(hull: Hull, face: int) -> list[int]:
    """Edges that a level face lets its water go over: a parapet's to the inside, else where the hull falls away, else all."""
    around = [(number, edge) for number, edge in enumerate(hull.edges) if face in (edge.left, edge.right)]
    falls = [(number, _across(edge.left, edge.right, face)) for number, edge in around if edge.dihedral > 1.0]
    inside = [number for number, other in falls if hull.faces[other].kind is FaceKind.PARAPET_INSIDE]
    return inside or [number for number, _ in falls] or [number for number, _ in around]


def _across(left: int, right: int, face: int) -> int:
    return right if left == face else left


class Finder:
    """Finds where the water of every stretch and hub goes."""

    def __init__(self, hull: Hull, lanes: Lanes, stream: float) -> None:
        self.hull, self.lanes, self.stream = hull, lanes, stream
        self.done = does(hull, lanes)
        self.hubs = hubs_of(hull, lanes, self.done)
        self.first = len(lanes.lane)  # unit number of the first hub
        self.out = Onward()
        self.receivers = [
            number for number, face in enumerate(hull.faces) if face.kind not in DRY and face.tilt < _STEEP
        ]

    def found(self) -> tuple[Ints, Ints, Floats, Ints, Floats]:
        """Where all water goes: source unit, stretch, v, hub, share; what is not told runs off."""
        sides, lanes = self.lanes.sides, self.lanes
        way = self.done[lanes.foot]
        for name, where in ((CHANNEL, self._channel_of), (POOL, self._pool_of)):
            stretch = np.flatnonzero(way == name)
            hub = np.array([where(side) for side in lanes.foot[stretch].tolist()], dtype=np.int64)
            self.out.to_hubs(stretch, hub, np.ones(len(stretch)))
        self._straight_on(np.flatnonzero(way == ON), sides.edge)
        self._drips(np.flatnonzero(way == DRIP))
        for edge, channel in self.hubs.channels.items():
            self._from_channel(edge, self.first + channel)
        for face, pool in self.hubs.pools.items():
            self._from_pool(face, self.first + pool)
        return self.out.joined()

    def _channel_of(self, side: int) -> int:
        return self.hubs.channels[int(self.lanes.sides.edge[side])]

    def _pool_of(self, side: int) -> int:
        return self.hubs.pools[int(self.lanes.sides.other[side])]

    def _straight_on(self, stretch: Ints, edge: Ints) -> None:
        """Share what comes to an edge among the stretches that begin there, by how much of it they have in common."""
        lanes = self.lanes
        below = np.flatnonzero(
            (lanes.sides.over[lanes.head] < 0) & np.isin(edge[lanes.head], edge[lanes.foot[stretch]])
        )
        if not len(stretch) or not len(below):
            return
        upper, lower = self._along(stretch, lanes.foot[stretch]), self._along(below, lanes.head[below])
        reach = 2.0 * max(float(upper[1].max()), float(lower[1].max())) + 10.0
        up = np.stack(upper[:2]) + edge[lanes.foot[stretch]] * reach
        low = np.stack(lower[:2]) + edge[lanes.head[below]] * reach
        order = np.argsort(low[0], kind="stable")
        low, below = low[:, order], below[order]
        first = np.searchsorted(low[1], up[0], side="right")
        last = np.searchsorted(low[0], up[1], side="left")
        which, number = ranges(first, np.maximum(last - first, 0))
        common = np.minimum(up[1, which], low[1, number]) - np.maximum(up[0, which], low[0, number])
        which, number, common = which[common > 0], number[common > 0], common[common > 0]
        total = added(which, common, len(stretch))
        target = below[number]
        self.out.to_stretches(stretch[which], target, lanes.high[target], common / total[which])

    def _along(self, stretch: Ints, side: Ints) -> tuple[Floats, Floats]:
        """From and to of stretches along the hull edge of a side of theirs, from the edge's start [m]."""
        lanes, sides = self.lanes, self.lanes.sides
        middle, half = lanes.local(lanes.lane[stretch]), lanes.width[lanes.lane[stretch]] / 2
        u0, v0, u1, v1 = sides.line[side].T
        length = np.hypot(u1 - u0, v1 - v0)
        ends = np.stack([(middle + sign * half - u0) / (u1 - u0) * length for sign in (-1, 1)])
        left = np.array([edge.left for edge in self.hull.edges], dtype=np.int64)[sides.edge[side]]
        ends = np.where(left == sides.face[side], ends, length - ends)
        return ends.min(axis=0), ends.max(axis=0)

    def _drips(self, stretch: Ints) -> None:
        """Over an eave: each stretch by itself."""
        lanes = self.lanes
        if not len(stretch):
            return
        lane = lanes.lane[stretch]
        face, u, half = lanes.face[lane], lanes.local(lane), lanes.width[lane] / 2
        ends = [lanes.lift(face, np.stack([u + sign * half, lanes.low[stretch]], axis=1)) for sign in (-1, 1)]
        away = np.array([_away(self.hull.faces[number]) for number in face.tolist()])
        self._land(stretch, ends[0] + _ASIDE * away, ends[1] + _ASIDE * away, np.ones(len(stretch)))

    def _land(self, source: Ints, start: Floats, end: Floats, share: Floats) -> None:
        """Drops from lines in space land on the highest roof below their middle."""
        middle = (start + end) / 2
        best = np.full(len(source), -np.inf)
        found = np.full(len(source), -1, dtype=np.int64)
        for number in self.receivers:
            face = self.hull.faces[number]
            z = (face.offset - middle[:, :2] @ face.normal[:2]) / face.normal[2]
            hit = (z < middle[:, 2] - CLOSE) & (z > best)
            hit[hit] = _over(face, middle[hit])
            best[hit], found[hit] = z[hit], number
        pool = np.array([self.hubs.pools.get(int(face), -1) for face in found], dtype=np.int64)
        level = pool >= 0
        self.out.to_hubs(source[level], pool[level], share[level])
        rest = (found >= 0) & ~level
        on = found[rest]
        ends = np.stack([start[rest], end[rest], middle[rest]])
        ends[:, :, 2] = best[rest]
        flat = [self.lanes.flat(on, one) for one in ends]
        low = np.minimum(flat[0][:, 0], flat[1][:, 0])
        high = np.maximum(flat[0][:, 0], flat[1][:, 0])
        self._spread(source[rest], on, (low, high, flat[2][:, 1]), share[rest])

    def _spread(
        self, source: Ints, face: Ints, at: tuple[Floats, Floats, Floats], share: Floats, but: int = -1
    ) -> Ints:
        """Share water among the lanes of a face between two places, over the width of a stream at least; who found any.

        No stretch that ends at the hull edge `but`.
        """
        lanes, (low, high, v) = self.lanes, at
        missing = np.maximum(self.stream - (high - low), 0.0) / 2
        low, high = low - missing, high + missing
        which, lane = lanes.touching(face, low, high)
        middle, half = lanes.local(lane), lanes.width[lane] / 2
        common = np.minimum(middle + half, high[which]) - np.maximum(middle - half, low[which])
        which, lane, common = which[common > 0], lane[common > 0], common[common > 0]
        again, stretch = lanes.stretches(lane)
        which, common = which[again], common[again]
        here = (v[which] >= lanes.low[stretch] - CLOSE) & (v[which] <= lanes.high[stretch] + CLOSE)
        here &= lanes.sides.edge[lanes.foot[stretch]] != but
        which, common, stretch = which[here], common[here], stretch[here]
        total = added(which, common, len(source))
        self.out.to_stretches(source[which], stretch, v[which], share[which] * common / total[which])
        return np.flatnonzero(total > 0)

    def _from_channel(self, edge: int, unit: int) -> None:
        """Let a channel go at its lower end: into the next channel, onto the roof below, over the eave."""
        found = self.hull.edges[edge]
        low, high = sorted((found.start, found.end), key=lambda point: float(point[2]))
        if high[2] - low[2] <= _FALL * found.length:
            return
        following = [
            hub for other, hub in self.hubs.channels.items() if other != edge and self._starts(other, low)
        ]
        source = np.array([unit])
        if following:
            count = len(following)
            self.out.to_hubs(source.repeat(count), np.array(following), np.full(count, 1 / count))
            return
        roofs = [number for number in (found.left, found.right) if self._lets_in(number, edge, low)]
        for number in roofs:
            self._spread(source, *self._at(number, low), np.array([1 / len(roofs)]), but=edge)

    def _at(self, face: int, point: Floats) -> tuple[Ints, tuple[Floats, Floats, Floats]]:
        number = np.array([face])
        u, v = self.lanes.flat(number, point[None]).T
        return number, (u, u, v)

    def _lets_in(self, face: int, edge: int, point: Floats) -> bool:
        """Whether a roof goes on below the lower end of a channel, or has its eave there."""
        if self.hull.faces[face].tilt >= _STEEP or face not in self.lanes.faces:
            return False
        number, (u, _, v) = self._at(face, point)
        _, lane = self.lanes.touching(number, u - self.stream / 2, u + self.stream / 2)
        _, stretch = self.lanes.stretches(lane)
        foot = self.lanes.sides.edge[self.lanes.foot[stretch]]
        here = (v >= self.lanes.low[stretch] - CLOSE) & (v <= self.lanes.high[stretch] + CLOSE)
        return bool((here & (foot != edge)).any())

    def _starts(self, edge: int, point: Floats) -> bool:
        """Whether a channel has its upper end at a point."""
        one = self.hull.edges[edge]
        top = max((one.start, one.end), key=lambda end: float(end[2]))
        return (
            bool(np.abs(top - point).max() < CLOSE)
            and abs(float(one.start[2] - one.end[2])) > _FALL * one.length
        )

    def _from_pool(self, face: int, unit: int) -> None:
        """Let a level roof go over its rim, evenly along it."""
        rims = [(edge, hub) for (own, edge), hub in self.hubs.rims.items() if own == face]
        lengths = np.array([self.hull.edges[edge].length for edge, _ in rims])
        source = np.full(len(rims), unit)
        self.out.to_hubs(source, np.array([hub for _, hub in rims], dtype=np.int64), lengths / lengths.sum())
        for edge, hub in rims:
            self._from_rim(face, edge, self.first + hub)

    def _from_rim(self, face: int, edge: int, unit: int) -> None:
        found, lanes = self.hull.edges[edge], self.lanes
        other = _across(found.left, found.right, face)
        beyond = self.hull.faces[other]
        if found.dihedral <= 1.0:
            return
        if beyond.tilt < _STEEP or beyond.kind is FaceKind.PARAPET_INSIDE:
            below = np.flatnonzero(
                (lanes.sides.edge[lanes.head] == edge) & (lanes.sides.face[lanes.head] == other)
            )
            width = lanes.width[lanes.lane[below]]
            self.out.to_stretches(np.full(len(below), unit), below, lanes.high[below], width / width.sum())
            return
        count = max(1, round(found.length / _SAMPLE))
        ends = np.linspace(0.0, 1.0, count + 1)[:, None] * (found.end - found.start) + found.start
        away = _ASIDE * np.array([beyond.normal[0], beyond.normal[1], 0.0])
        self._land(np.full(count, unit), ends[:-1] + away, ends[1:] + away, np.full(count, 1 / count))


def _away(face: Face) -> Floats:
    """Level direction in which water leaves a face at its foot."""
    flat = np.array([face.normal[0], face.normal[1], 0.0])
    away: Floats = flat / np.linalg.norm(flat)
    return away


def _over(face: Face, points: Floats) -> NDArray[np.bool_]:
    """Whether points lie over or under a face in plan."""
    loops = [loop[:, :2] for loop in face.loops]
    start = np.concatenate(loops)
    end = np.concatenate([np.roll(loop, -1, axis=0) for loop in loops])
    x, y = points[:, 0, None], points[:, 1, None]
    spans = (start[:, 1] > y) != (end[:, 1] > y)
    rise = np.where(end[:, 1] != start[:, 1], end[:, 1] - start[:, 1], 1.0)
    right = start[:, 0] + (y - start[:, 1]) / rise * (end[:, 0] - start[:, 0]) > x
    inside: NDArray[np.bool_] = (spans & right).sum(axis=1) % 2 == 1
    return inside
