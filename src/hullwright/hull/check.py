"""Are the masses a sound body, is the hull closed: checks with place, reason and picture."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from hullwright.building.model import Building, Mass, Point
from hullwright.errors import BuildingFileError, HullOpenError, Problem, Where
from hullwright.hull.facets import Facet, Facets, sides, signed_area
from hullwright.hull.faces import Key
from hullwright.hull.model import Hull
from hullwright.hull.outline import area, convex, crossing
from hullwright.hull.picture import massing_error
from hullwright.hull.planes import Table
from hullwright.hull.shape import Shape
from hullwright.hull.solid import GROWTH, inner_outline, unite
from hullwright.hull.surface import Surface, volume

if TYPE_CHECKING:
    from manifold3d import Manifold
else:
    Manifold = Any

THIN: Final = 0.003
"""Narrowest step or slit that is taken for built [m]."""

Finding = tuple[Problem, list[Point]]


def _stop(message: str, findings: Sequence[Finding], building: Building) -> None:
    if findings:
        spots = [spot for _, places in findings for spot in places]
        raise massing_error(message, [problem for problem, _ in findings], building, spots)


def stop_if(problems: Sequence[Problem]) -> None:
    """Raise all problems of openings and penetrations at once."""
    if problems:
        raise BuildingFileError("openings or penetrations do not lie on the hull as stated", problems)


def outlines(building: Building) -> None:
    """Check each mass by itself; raise MassingError with all that is wrong."""
    findings = [finding for mass in building.masses for finding in _mass(mass)]
    if not any(mass.inside for mass in building.masses):
        findings.append(
            (
                Problem(
                    "no mass is inside the hull", allowed="at least one mass inside", hint="mark one inside"
                ),
                [],
            )
        )
    _stop("the masses can't be built as stated", findings, building)


def _mass(mass: Mass) -> list[Finding]:
    numbers = [c for p in mass.outline for c in p] + [
        mass.base,
        mass.bottom.level,
        mass.ground,
        mass.roof.pitch,
    ]
    numbers += [s.height for s in mass.storeys]
    if not all(math.isfinite(n) for n in numbers):
        return [
            _finding(mass, "has a figure that is no number", "", "finite numbers", "state every figure", [])
        ]
    shape = _outline(mass)
    return shape or [*_heights(mass), *_roof(mass)]


def _finding(mass: Mass, what: str, got: str, allowed: str, hint: str, spots: Sequence[Point]) -> Finding:
    return Problem(f"mass {mass.id} {what}", mass.where, got, allowed, hint), list(spots)


def _outline(mass: Mass) -> list[Finding]:
    points = mass.outline
    if len(points) < 3:
        return [
            _finding(
                mass, "has no outline", f"{len(points)} points", "3 or more points", "add points", points
            )
        ]
    for p, q in zip(points, (*points[1:], points[0]), strict=True):
        if math.dist(p, q) < THIN:
            got = f"{math.dist(p, q) * 1000:.1f} mm at ({p[0]:g}, {p[1]:g}) m"
            return [
                _finding(
                    mass,
                    "has a side without length",
                    got,
                    f"{THIN * 1000:g} mm or more",
                    "drop one of the points",
                    [p],
                )
            ]
    at = crossing(points)
    if at is not None:
        got = f"crossing or touching at ({at[0]:.3f}, {at[1]:.3f}) m"
        return [
            _finding(
                mass,
                "has an outline that crosses or touches itself",
                got,
                "a simple outline",
                "put the points in order round the mass",
                [at],
            )
        ]
    size = area(points)
    if size < 0:
        return [
            _finding(
                mass, "has its outline clockwise", "", "counter-clockwise", "turn the order round", points[:1]
            )
        ]
    around = sum(math.dist(p, q) for p, q in zip(points, (*points[1:], points[0]), strict=True))
    if 2 * size / around < THIN:
        return [
            _finding(
                mass,
                "has no thickness",
                f"{size:.4g} m2 in plan",
                f"wider than {THIN * 1000:g} mm",
                "check the outline",
                points[:1],
            )
        ]
    return []


def _heights(mass: Mass) -> list[Finding]:
    found = []
    low = [s.name for s in mass.storeys if s.height <= THIN]
    if low or not mass.storeys:
        got = f"storeys without height: {', '.join(low)}" if low else "no storey"
        found.append(
            _finding(
                mass,
                "has no height",
                got,
                "storeys higher than 0",
                "state each storey's height",
                mass.outline[:1],
            )
        )
    if mass.bottom.level > mass.base + THIN:
        found.append(
            _finding(
                mass,
                "has its bottom above its base",
                f"{mass.bottom.level:g} m over {mass.base:g} m",
                "a level at or below the base",
                "lower the bottom's level or raise the base",
                mass.outline[:1],
            )
        )
    return found


def _roof(mass: Mass) -> list[Finding]:
    found = []
    if mass.roof.form != "flat" and not 0 < mass.roof.pitch < 85:
        found.append(
            _finding(
                mass,
                f"has a {mass.roof.form} roof without a usable pitch",
                f"{mass.roof.pitch:g} deg",
                "more than 0 and less than 85 deg",
                "state the pitch, or make the roof flat",
                mass.outline[:1],
            )
        )
    if mass.roof.form == "hip" and not convex(mass.outline):
        found.append(
            _finding(
                mass,
                "has a hip roof over an outline with an inside corner",
                f"{len(mass.outline)} sides",
                "an outline without inside corners",
                "split it into masses, one hip roof each",
                mass.outline[:1],
            )
        )
    if mass.roof.form == "flat" and mass.roof.parapet_height > 0 and mass.roof.parapet_thickness <= THIN:
        found.append(
            _finding(
                mass,
                "has a parapet without thickness",
                f"{mass.roof.parapet_thickness:g} m",
                f"more than {THIN} m",
                "state the parapet's thickness",
                mass.outline[:1],
            )
        )
    return found


def made(shapes: Sequence[Shape], building: Building) -> None:
    """Check what only shows once the masses are made: room inside the parapets."""
    findings = []
    for shape in shapes:
        if shape.parapet is not None and not _room_inside(shape, shape.parapet.thickness):
            thick = f"{shape.parapet.thickness:g} m"
            findings.append(
                _finding(
                    shape.mass,
                    "has parapets that meet each other",
                    thick,
                    "less than half the width of the roof",
                    "make the parapet thinner or the mass solid",
                    shape.mass.outline[:1],
                )
            )
    _stop("the masses can't be built as stated", findings, building)


def _room_inside(shape: Shape, thickness: float) -> bool:
    outer, inner = shape.outline(), inner_outline(shape, thickness)
    n = len(outer)
    same_way = all(
        (outer[(i + 1) % n][0] - outer[i][0]) * (inner[(i + 1) % n][0] - inner[i][0])
        + (outer[(i + 1) % n][1] - outer[i][1]) * (inner[(i + 1) % n][1] - inner[i][1])
        > 0
        for i in range(n)
    )
    return same_way and crossing(inner) is None


def swallowed(shapes: Sequence[Shape], solids: Mapping[str, Manifold], building: Building) -> None:
    """Find masses that lie wholly inside others."""
    findings = []
    for shape in shapes:
        body = solids[shape.mass.id]
        others = [solids[s.mass.id] for s in shapes if s is not shape and s.mass.inside]
        near = [b for b in others if _boxes_meet(b.bounding_box(), body.bounding_box())]
        if near and (body - unite(near)).volume() < 4 * GROWTH * body.surface_area() + 1e-6:
            findings.append(
                _finding(
                    shape.mass,
                    "lies wholly inside other masses",
                    "",
                    "a mass that adds to the hull",
                    "drop it, or move it out",
                    _middle(shape.mass.outline),
                )
            )
    _stop("a mass adds nothing to the hull", findings, building)


def _boxes_meet(one: Sequence[float], two: Sequence[float]) -> bool:
    return all(one[k] <= two[k + 3] and two[k] <= one[k + 3] for k in range(3))


def _middle(outline: Sequence[Point]) -> list[Point]:
    return [(sum(p[0] for p in outline) / len(outline), sum(p[1] for p in outline) / len(outline))]


def notes(shapes: Sequence[Shape], solids: Mapping[str, Manifold], whole: Manifold) -> list[str]:
    """Say where masses outside the hull run into it."""
    said = []
    for shape in shapes:
        if shape.mass.inside:
            continue
        body = solids[shape.mass.id]
        shared = (body ^ whole).volume()
        if shared > 4 * GROWTH * body.surface_area():
            said.append(
                f"{shape.mass.id} is outside the hull and runs {shared:.2f} m3 into it: what lies in both counts as inside"
            )
    return said


def sound(found: Facets, skin: Surface, table: Table, building: Building) -> None:
    """Check the united body: one piece, nothing that hangs, touches at a line or point, or is closed in."""
    findings = [*_hanging(found, skin, table, building)]
    findings += _lines(found, skin, table, building)
    _stop("the masses do not make a sound body", findings, building)
    if found.unmatched:
        places = [(float(skin.points[a][0]), float(skin.points[a][1])) for _, a, _ in found.unmatched]
        problem = Problem(
            "the hull does not close here",
            got=_at(skin.points[found.unmatched[0][1]]),
            hint="draw the masses flush or well apart",
        )
        _stop("the masses do not make a sound body", [(problem, places)], building)
    _stop("the masses do not make one body", _pieces(found, skin, table, building), building)
    _stop("the masses do not make a sound body", _pinches(found, skin, table, building), building)


def _at(point: Sequence[float] | np.ndarray[Any, Any]) -> str:
    return f"at ({point[0]:.3f}, {point[1]:.3f}, {point[2]:.3f}) m"


def _masses(facets: Sequence[Facet], skin: Surface, table: Table) -> list[str]:
    return sorted({table.labels[int(skin.labels[t])].mass for f in facets for t in f.triangles})


def _where(names: Sequence[str], building: Building) -> Where:
    return building.mass(names[0]).where


def _spots(vertices: Sequence[int], skin: Surface) -> list[Point]:
    return [(float(skin.points[v][0]), float(skin.points[v][1])) for v in vertices]


def _hanging(found: Facets, skin: Surface, table: Table, building: Building) -> list[Finding]:
    out = []
    for facet in found.facets:
        key = facet.key
        assert isinstance(key, Key)
        if key.kind is None:
            normal = np.array(table.oriented(key.plane, key.facing)[0])
            size = sum(signed_area(skin.points[loop], normal) for loop in facet.loops)
            name = _masses([facet], skin, table)[0]
            out.append(
                _finding(
                    building.mass(name),
                    "is said to stand on another mass, but its bottom hangs in the air",
                    f"{size:.3f} m2 at {skin.points[facet.loops[0][0]][2]:.3f} m height",
                    "a bottom that lies on or in other masses inside the hull",
                    "lower it, or state its bottom as outside air",
                    _spots(facet.loops[0], skin),
                )
            )
    return out


def _lines(found: Facets, skin: Surface, table: Table, building: Building) -> list[Finding]:
    out: list[Finding] = []
    for a, b in found.touching:
        if (b, a) in found.touching and a > b:
            continue
        users = [f for f in found.facets if (a, b) in set(sides(f)) or (b, a) in set(sides(f))]
        names = _masses(users, skin, table)
        problem = Problem(
            f"the hull touches itself only along a line ({', '.join(names)})",
            _where(names, building),
            f"from {_at(skin.points[a])} to {_at(skin.points[b])}",
            "masses that share a face, or stand apart",
            "let them overlap or move them apart",
        )
        out.append((problem, _spots([a, b], skin)))
    return out


def _pieces(found: Facets, skin: Surface, table: Table, building: Building) -> list[Finding]:
    parts = _connected(found)
    if len(parts) == 1:
        return []
    sizes = [
        (volume(skin.points, skin.triangles[[t for f in part for t in f.triangles]]), part) for part in parts
    ]
    out: list[Finding] = []
    largest = max(size for size, _ in sizes)
    for size, part in sizes:
        names = _masses(part, skin, table)
        spots = _spots([v for v in part[0].loops[0]], skin)
        if size < 0:
            text, hint = "a void is closed in between masses", "fill it with a mass or open it"
            got = f"{-size:.3f} m3 between {', '.join(names)}"
        elif size < largest:
            text, hint = (
                f"{', '.join(names)} floats: it touches no other mass inside the hull",
                "move it against the others, or check it as a house of its own",
            )
            got = f"a body of {size:.3f} m3"
        else:
            continue
        out.append((Problem(text, _where(names, building), got, "one closed body", hint), spots))
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


def _pinches(found: Facets, skin: Surface, table: Table, building: Building) -> list[Finding]:
    """Vertices round which the facets do not make one ring: the body touches itself in a point there."""
    after: dict[int, dict[int, int]] = defaultdict(dict)
    for facet in found.facets:
        for loop in facet.loops:
            for i, vertex in enumerate(loop):
                after[vertex][loop[(i + 1) % len(loop)]] = loop[i - 1]
    out: list[Finding] = []
    for vertex, ring in after.items():
        start = at = next(iter(ring))
        steps = 0
        while steps < len(ring):
            at, steps = ring[at], steps + 1
            if at == start:
                break
        if steps < len(ring):
            users = [f for f in found.facets if any(vertex in loop for loop in f.loops)]
            names = _masses(users, skin, table)
            problem = Problem(
                f"the hull touches itself only in a point ({', '.join(names)})",
                _where(names, building),
                _at(skin.points[vertex]),
                "masses that share a face, or stand apart",
                "let them overlap or move them apart",
            )
            out.append((problem, _spots([vertex], skin)))
    return out


def thin(facets: Sequence[Facet], skin: Surface, table: Table, building: Building) -> None:
    """Find steps and slits of a few millimetres, which nobody means to build."""
    findings: list[Finding] = []
    for facet in facets:
        key = facet.key
        assert isinstance(key, Key)
        normal = np.array(table.oriented(key.plane, key.facing)[0])
        size = sum(signed_area(skin.points[loop], normal) for loop in facet.loops)
        around = sum(float(np.linalg.norm(skin.points[a] - skin.points[b])) for a, b in sides(facet))
        if 2 * size / around < THIN:
            names = _masses([facet], skin, table)
            problem = Problem(
                f"a step or slit of {2000 * size / around:.1f} mm is left at {', '.join(names)}",
                _where(names, building),
                _at(skin.points[facet.loops[0][0]]),
                f"masses flush, or {THIN * 1000:g} mm and more apart",
                "state the same figure for both masses",
            )
            findings.append((problem, _spots(facet.loops[0], skin)))
    _stop("the masses leave a step or slit", findings, building)


def invariants(hull: Hull) -> None:
    """Check that the hull closes: raise HullOpenError with the figures where it does not.

    Each edge is used once each way (what is not is an open end), the area vectors sum to nothing, the volume is
    positive, the Euler number is that of a closed surface, faces and mesh have the same area, and the edges of each
    face are as long as its loops.
    """
    faults = [*_area_faults(hull), *_edge_faults(hull)]
    if faults:
        raise HullOpenError("the hull does not close", [Problem(fault) for fault in faults])


def _area_faults(hull: Hull) -> list[str]:
    faults = []
    scale = max(hull.area, 1.0)
    rest = np.linalg.norm(sum(face.area * face.normal for face in hull.faces))
    if rest > 1e-6 * scale:
        faults.append(f"the area vectors of the faces leave {rest:.3g} m2")
    if hull.volume <= 0:
        faults.append(f"the volume is {hull.volume:.3g} m3")
    a, b, c = (hull.mesh_points[hull.mesh_triangles[:, k]] for k in range(3))
    areas = np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2
    by_face = np.bincount(hull.mesh_face, areas, len(hull.faces))
    for face, meshed in zip(hull.faces, by_face, strict=True):
        if abs(face.area - meshed) > 1e-6 * scale or face.area <= 0:
            faults.append(f"{face.id} has {face.area:.6f} m2, its triangles {meshed:.6f} m2")
    return faults


def _edge_faults(hull: Hull) -> list[str]:
    faults = [f"{hull.faces[e.face].id} is open along an edge" for e in hull.open_ends]
    around = np.zeros(len(hull.faces))
    for edge in hull.edges:
        around[[edge.left, edge.right]] += edge.length
    for face, length in zip(hull.faces, around, strict=True):
        if abs(length - face.perimeter) > 1e-6 * max(length, 1.0):
            faults.append(f"{face.id} has a perimeter of {face.perimeter:.6f} m, its edges {length:.6f} m")
    if euler(hull) % 2:
        faults.append(f"the Euler number is {euler(hull)}")
    return faults


def euler(hull: Hull) -> int:
    """Vertices less edges plus faces less holes: 2 for a body without passages, 2 less for each passage.

    A hole in a face counts as one edge less: ``V - E + F - H`` (Euler-Poincaré formula).
    """
    holes = sum(len(face.loops) - 1 for face in hull.faces)
    return len(hull.vertices) - len(hull.edges) + len(hull.faces) - holes
