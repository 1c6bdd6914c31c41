"""Triangles merged to planar facets with loops and holes; half-edges matched; corners in a line dropped."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from hullwright.hull.surface import WELD, Surface

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Pair = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Facet:
    """One planar piece.

    Parameters
    ----------
    key : hashable
        What it was grouped by.
    triangles : tuple of int
        Triangle numbers.
    loops : tuple of list of int
        Vertex numbers: outer loop, then holes.
    """

    key: Hashable
    triangles: tuple[int, ...]
    loops: tuple[list[int], ...]


@dataclass(frozen=True, slots=True)
class Facets:
    """All facets and what is wrong with them.

    Parameters
    ----------
    facets : tuple of Facet
    touching : tuple of (int, int)
        Edges where more than two facets meet: the body touches itself along a line there.
    unmatched : tuple of (int, int, int)
        Facet number and directed edge without a partner: the hull is open there.
    """

    facets: tuple[Facet, ...]
    touching: tuple[Pair, ...]
    unmatched: tuple[tuple[int, int, int], ...]


def facets(surface: Surface, keys: Sequence[Hashable], normals: Floats) -> Facets:
    """Merge triangles of equal key that share an edge.

    Parameters
    ----------
    surface : Surface
    keys : sequence of hashable
        One for each triangle: oriented plane, kind and what else keeps faces apart.
    normals : ndarray (T, 3)
        Outward unit normal of each triangle's plane.
    """
    edges = [
        (tri[i], tri[(i + 1) % 3], number)
        for number, tri in enumerate(surface.triangles.tolist())
        for i in range(3)
    ]
    root = _Roots(len(keys))
    numbers: dict[Hashable, int] = {}
    groups = [numbers.setdefault(key, len(numbers)) for key in keys]
    border = _cancel(edges, groups, root)
    loose = _loose(border)
    if loose:
        border = _cancel(_noded(border, loose, surface.points), groups, root)
    by_facet: dict[int, list[Pair]] = defaultdict(list)
    for a, b, number in border:
        by_facet[root.find(number)].append((a, b))
    members: dict[int, list[int]] = defaultdict(list)
    for number in range(len(keys)):
        members[root.find(number)].append(number)
    made = []
    for home, pairs in by_facet.items():
        loops = _loops(pairs, surface.points, normals[home])
        made.append(
            Facet(keys[home], tuple(members[home]), tuple(_outer_first(loops, surface.points, normals[home])))
        )
    touching, unmatched = _faults(made)
    return Facets(tuple(made), touching, unmatched)


class _Roots:
    """Union-find."""

    def __init__(self, n: int) -> None:
        self.up = list(range(n))

    def find(self, i: int) -> int:
        up = self.up
        while up[i] != i:
            up[i] = up[up[i]]
            i = up[i]
        return i

    def join(self, i: int, j: int) -> None:
        i, j = self.find(i), self.find(j)
        self.up[max(i, j)] = min(i, j)


def _cancel(
    edges: Iterable[tuple[int, int, int]], groups: Sequence[int], root: _Roots
) -> list[tuple[int, int, int]]:
    """Drop edges between triangles of one group (and join those); keep the border."""
    waiting: dict[tuple[int, int, int], list[int]] = defaultdict(list)
    for a, b, number in edges:
        group = groups[number]
        partner = waiting.get((b, a, group))
        if partner:
            root.join(number, partner.pop())
        else:
            waiting[a, b, group].append(number)
    return [(a, b, number) for (a, b, _), numbers in waiting.items() for number in numbers]


def _loose(border: Sequence[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    count: dict[Pair, int] = defaultdict(int)
    for a, b, _ in border:
        count[a, b] += 1
    return [edge for edge in border if count[edge[0], edge[1]] != count.get((edge[1], edge[0]), 0)]


def _noded(
    border: Sequence[tuple[int, int, int]], loose: Sequence[tuple[int, int, int]], points: Floats
) -> list[tuple[int, int, int]]:
    """Split loose edges at every vertex of the border that lies on them."""
    spots = np.unique(np.array([edge[:2] for edge in border]))
    xyz = points[spots]
    split: dict[Pair, list[int]] = {}
    for a, b, _ in loose:
        if (a, b) in split:
            continue
        way = points[b] - points[a]
        length = float(np.linalg.norm(way))
        rel = xyz - points[a]
        t = rel @ way / length
        off = np.linalg.norm(rel - t[:, None] * way / length, axis=1)
        on = (off < WELD) & (t > WELD) & (t < length - WELD)
        chain = [a, *spots[on][np.argsort(t[on])].tolist(), b]
        split[a, b] = chain
    out = []
    for a, b, number in border:
        chain = split.get((a, b), [a, b])
        out += [(p, q, number) for p, q in pairwise(chain)]
    return out


def _loops(pairs: Sequence[Pair], points: Floats, normal: Floats) -> list[list[int]]:
    """Chain directed edges; where the border touches itself in a point, keep outer loop and hole apart."""
    after: dict[int, list[int]] = defaultdict(list)
    for a, b in pairs:
        after[a].append(b)
    loops = []
    while after:
        start = next((v for v, ways in after.items() if len(ways) == 1), next(iter(after)))
        loop, at = [], start
        came = -1
        while True:
            ways = after[at]
            to = ways[0] if len(ways) == 1 or came < 0 else _outermost(ways, came, at, points, normal)
            ways.remove(to)
            if not ways:
                del after[at]
            loop.append(at)
            came, at = at, to
            if at == start or at not in after:
                break
        loops.append(loop)
    return loops


def _outermost(ways: Sequence[int], came: int, at: int, points: Floats, normal: Floats) -> int:
    """Pick the way on that turns right most, so that a hole that touches the outer loop stays a loop of its own."""
    return max(ways, key=lambda to: _left_turn(to, came, at, points, normal))


def along_the_face(ways: Sequence[int], came: int, at: int, points: Floats, normal: Floats) -> int:
    """Pick the way on that bounds the same corner of the face: the one that turns left most."""
    return min(ways, key=lambda to: _left_turn(to, came, at, points, normal))


def _left_turn(to: int, came: int, at: int, points: Floats, normal: Floats) -> float:
    """Angle of the face's corner between the way in and a way out [rad]."""
    back, way = points[came] - points[at], points[to] - points[at]
    return float(-np.arctan2(way @ np.cross(normal, back), way @ back)) % (2 * np.pi)


def _outer_first(loops: list[list[int]], points: Floats, normal: Floats) -> list[list[int]]:
    return sorted(loops, key=lambda loop: -signed_area(points[loop], normal))


def signed_area(loop: Floats, normal: Floats) -> float:
    """Area of a loop (k, 3) seen from where `normal` points, positive where counter-clockwise [m2]."""
    a, b, c = normal.tolist()
    points = loop.tolist()
    x1, y1, z1 = points[-1]
    twice = 0.0
    for x2, y2, z2 in points:
        twice += a * (y1 * z2 - z1 * y2) + b * (z1 * x2 - x1 * z2) + c * (x1 * y2 - y1 * x2)
        x1, y1, z1 = x2, y2, z2
    return float(twice / 2)


def _faults(made: Sequence[Facet]) -> tuple[tuple[Pair, ...], tuple[tuple[int, int, int], ...]]:
    count: dict[Pair, list[int]] = defaultdict(list)
    for number, facet in enumerate(made):
        for a, b in sides(facet):
            count[a, b].append(number)
    touching = [pair for pair, users in count.items() if len(users) > 1]
    unmatched = [
        (users[0], a, b) for (a, b), users in count.items() if len(users) == 1 and (b, a) not in count
    ]
    return tuple(touching), tuple(unmatched)


def sides(facet: Facet) -> Iterable[Pair]:
    """Directed edges of all loops."""
    for loop in facet.loops:
        yield from zip(loop, loop[1:] + loop[:1], strict=True)


def straightened(found: Facets, points: Floats) -> tuple[Facet, ...]:
    """Drop vertices where only two facets meet and their common edge runs straight on."""
    users: dict[int, set[int]] = defaultdict(set)
    turns: dict[int, list[Pair]] = defaultdict(list)
    for number, facet in enumerate(found.facets):
        for loop in facet.loops:
            for i, vertex in enumerate(loop):
                users[vertex].add(number)
                turns[vertex].append((loop[i - 1], loop[(i + 1) % len(loop)]))
    idle = {
        vertex
        for vertex, faces in users.items()
        if len(faces) == 2 and len(turns[vertex]) == 2 and _straight(vertex, turns[vertex][0], points)
    }
    return tuple(
        Facet(f.key, f.triangles, tuple([v for v in loop if v not in idle] for loop in f.loops))
        for f in found.facets
    )


def _straight(at: int, ends: Pair, points: Floats) -> bool:
    a, b, c = points[ends[0]].tolist(), points[at].tolist(), points[ends[1]].tolist()
    one, two, whole = math.dist(a, b), math.dist(b, c), math.dist(a, c)
    return one + two - whole < 1e-12 * whole or _off_line(a, b, c) < 1e-6 * min(one, two)


def _off_line(a: Sequence[float], b: Sequence[float], c: Sequence[float]) -> float:
    """Distance of `b` from the segment from `a` to `c`, infinite where it is not between them [m]."""
    way = [q - p for p, q in zip(a, c, strict=True)]
    rel = [q - p for p, q in zip(a, b, strict=True)]
    square = sum(w * w for w in way)
    t = sum(w * r for w, r in zip(way, rel, strict=True)) / square if square else -1.0
    if not 0 < t < 1:
        return math.inf
    return math.hypot(*(r - t * w for r, w in zip(rel, way, strict=True)))
