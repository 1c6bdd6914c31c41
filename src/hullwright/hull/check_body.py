"""Is the united body sound: one piece, nothing that hangs or touches at a line or point, no steps of millimetres."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from hullwright.building.model import Building, Point
from hullwright.errors import Problem
from hullwright.hull.faces import Key
from hullwright.hull.facets import Facet, Facets, along_the_face, sides, signed_area
from hullwright.hull.model import Floats
from hullwright.hull.picture import THIN, Finding, stop
from hullwright.hull.planes import Table
from hullwright.hull.surface import Surface, volume
from hullwright.units import Show

UNSOUND = "the masses do not make a sound body"
APART = "masses that share a face, or stand apart"


@dataclass(frozen=True, slots=True)
class Body:
    """The united masses, cut into facets."""

    skin: Surface
    table: Table
    building: Building

    @property
    def show(self) -> Show:
        """Prints in the units of the reader."""
        return Show(self.building.system)

    def at(self, vertex: int) -> str:
        """Give the place of a vertex as text."""
        return f"at {self.show.at(*self.skin.points[vertex].tolist())}"

    def spots(self, vertices: Iterable[int]) -> list[Point]:
        """Give the places of vertices in plan [m]."""
        return [(float(self.skin.points[v][0]), float(self.skin.points[v][1])) for v in vertices]

    def masses(self, facets: Sequence[Facet]) -> list[str]:
        """Give the masses that facets came from."""
        return sorted({self.table.labels[int(self.skin.labels[t])].mass for f in facets for t in f.triangles})

    def normal(self, facet: Facet) -> Floats:
        """Outward unit normal of a facet."""
        assert isinstance(facet.key, Key)
        return np.array(self.table.oriented(facet.key.plane, facet.key.facing)[0])

    def area(self, facet: Facet) -> float:
        """Area of a facet [m2]."""
        normal = self.normal(facet)
        return sum(signed_area(self.skin.points[loop], normal) for loop in facet.loops)

    def finding(self, text: str, facets: Sequence[Facet], vertices: Sequence[int], *more: str) -> Finding:
        """Make a finding; `more` is what was found, what is allowed and what to do."""
        names = self.masses(facets)
        where = self.building.mass(names[0]).where
        return Problem(text.format(", ".join(names)), where, *more), self.spots(vertices)


def sound(found: Facets, body: Body) -> None:
    """Check that the facets bound one sound body; raise MassingError with all places of the first kind of fault."""
    stop(UNSOUND, [*_hanging(found, body), *_lines(found, body)], body.building)
    stop(UNSOUND, _open(found, body), body.building)
    stop("the masses do not make one body", _pieces(found, body), body.building)
    stop(UNSOUND, _pinches(found, body), body.building)


def thin(facets: Sequence[Facet], body: Body) -> None:
    """Find steps and slits of a few millimetres, which nobody means to build."""
    findings = []
    for facet in facets:
        around = sum(math.dist(body.skin.points[a], body.skin.points[b]) for a, b in sides(facet))
        width = 2 * body.area(facet) / around
        if width < THIN:
            text = f"a step or slit of {body.show.slit(width)} is left at {{}}"
            allowed = f"masses flush, or {body.show.slit(THIN)} and more apart"
            loop = facet.loops[0]
            findings.append(
                body.finding(
                    text, [facet], loop, body.at(loop[0]), allowed, "give both masses the same figure"
                )
            )
    stop("the masses leave a step or slit", findings, body.building)


def _hanging(found: Facets, body: Body) -> Iterable[Finding]:
    for facet in found.facets:
        assert isinstance(facet.key, Key)
        if facet.key.kind is None:
            loop = facet.loops[0]
            yield body.finding(
                "mass {} is said to stand on another mass, but its bottom hangs in the air",
                [facet],
                loop,
                f"{body.show.fine_area(body.area(facet))} {body.at(loop[0])}",
                "a bottom that lies on or in other masses inside the hull",
                "lower it, or state its bottom as outside air",
            )


def _lines(found: Facets, body: Body) -> Iterable[Finding]:
    for a, b in found.touching:
        if (b, a) in found.touching and a > b:
            continue
        users = [f for f in found.facets if {(a, b), (b, a)} & set(sides(f))]
        yield body.finding(
            "the hull touches itself only along a line ({})",
            users,
            [a, b],
            f"from {body.at(a)} to {body.at(b)}".replace("at ", ""),
            APART,
            "let them overlap, or move them apart",
        )


def _open(found: Facets, body: Body) -> list[Finding]:
    return [
        body.finding(
            "the hull does not close at {}",
            [found.facets[facet]],
            [a, b],
            body.at(a),
            "masses that are flush, or well apart",
            "check the figures of this place",
        )
        for facet, a, b in found.unmatched
    ]


def _pieces(found: Facets, body: Body) -> list[Finding]:
    parts = _connected(found)
    if len(parts) == 1:
        return []
    triangles = [[t for f in part for t in f.triangles] for part in parts]
    sizes = [volume(body.skin.points, body.skin.triangles[numbers]) for numbers in triangles]
    out = []
    for size, part in zip(sizes, parts, strict=True):
        if size < 0:
            text, hint = "a void is closed in between {}", "fill it with a mass, or open it"
        elif size < max(sizes):
            text = "{} floats: it touches nothing else inside the hull"
            hint = "move it against the others, or check it as a house of its own"
        else:
            continue
        got = f"a body of {body.show.fine_volume(abs(size))}"
        out.append(body.finding(text, part, part[0].loops[0], got, "one closed body", hint))
    return out


def _connected(found: Facets) -> list[list[Facet]]:
    owner = {pair: i for i, f in enumerate(found.facets) for pair in sides(f)}
    seen: set[int] = set()
    parts = []
    for start in range(len(found.facets)):
        if start in seen:
            continue
        seen.add(start)
        part, todo = [], [start]
        while todo:
            i = todo.pop()
            part.append(found.facets[i])
            for a, b in sides(found.facets[i]):
                j = owner[b, a]
                if j not in seen:
                    seen.add(j)
                    todo.append(j)
        parts.append(part)
    return parts


def _pinches(found: Facets, body: Body) -> list[Finding]:
    """Vertices round which the facets do not make one ring: the body touches itself in a point there."""
    after: dict[int, dict[int, int]] = defaultdict(dict)
    for facet in found.facets:
        for vertex, (came, to) in _corners(facet, body):
            after[vertex][to] = came
    out = []
    for vertex, ring in after.items():
        if _round(ring) < len(ring):
            users = [f for f in found.facets if any(vertex in loop for loop in f.loops)]
            out.append(
                body.finding(
                    "the hull touches itself only in a point ({})",
                    users,
                    [vertex],
                    body.at(vertex),
                    APART,
                    "let them overlap, or move them apart",
                )
            )
    return out


def _corners(facet: Facet, body: Body) -> Iterable[tuple[int, tuple[int, int]]]:
    """Give each corner of a facet: its vertex, and the neighbours that the border comes from and goes to."""
    passes: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for loop in facet.loops:
        for i, vertex in enumerate(loop):
            passes[vertex].append((loop[i - 1], loop[(i + 1) % len(loop)]))
    for vertex, pairs in passes.items():
        ways = [to for _, to in pairs]
        for came, to in pairs:
            if len(pairs) > 1:
                to = along_the_face(ways, came, vertex, body.skin.points, body.normal(facet))  # noqa: PLW2901
            yield vertex, (came, to)


def _round(ring: dict[int, int]) -> int:
    """Steps until the way round a vertex closes."""
    start = at = next(iter(ring))
    for steps in range(1, len(ring) + 1):
        at = ring[at]
        if at == start:
            return steps
    return len(ring)
