"""From a building to its hull."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from hullwright.building.model import Building
from hullwright.hull import check_body, check_masses
from hullwright.hull.faces import keys, named
from hullwright.hull.facets import Facet, facets, sides, straightened
from hullwright.hull.floors import Framing, floor_lines
from hullwright.hull.invariants import invariants, stop_if
from hullwright.hull.model import Edge, Face, Floats, Hull, Ints
from hullwright.hull.place import placed
from hullwright.hull.planes import Table
from hullwright.hull.shape import Shape, shapes
from hullwright.hull.slivers import slivers
from hullwright.hull.solid import growths, solid, unite
from hullwright.hull.standing import standing_walls
from hullwright.hull.stories import rim_depth, story_floors, story_lines
from hullwright.hull.surface import Surface, surface, volume
from hullwright.units import Show

if TYPE_CHECKING:
    from manifold3d import Manifold
else:
    Manifold = Any


def build(building: Building) -> Hull:
    """Work out the closed hull of a building.

    Parameters
    ----------
    building : Building

    Returns
    -------
    Hull
        Closed; every invariant is checked (each edge used once each way, Euler number, area vectors, volume).

    Raises
    ------
    MassingError
        The masses make no sound body. Its attribute ``picture`` is a plan sketch (SVG text) of the place.
    BuildingFileError
        Openings or penetrations that are not on a face, or overlap.

    Examples
    --------
    >>> from hullwright.building.reader import parse
    >>> text = '''
    ... units: m
    ... name: box
    ... currency: EUR
    ... ground: 0
    ... barrier: {top: roof deck, bottom: {kind: slab, level: 0}}
    ... masses: [{name: main, size: [10, 8], base: 0, storeys: [3], roof: flat}]
    ... '''
    >>> hull = build(parse(text))
    >>> [(face.id, face.area) for face in hull.faces if face.kind == "wall"]
    [('main/east', 24.0), ('main/north', 30.0), ('main/south', 30.0), ('main/west', 24.0)]
    >>> hull.closed, hull.volume
    (True, 240.0)
    """
    bare = body(building)
    faces, problems = placed(bare, building)
    stop_if(problems)
    return _with_faces(bare, faces)


def body(building: Building) -> Hull:
    """Work out the hull without openings and penetrations."""
    check_masses.outlines(building)
    table = Table()
    made = shapes(building, table)
    check_masses.made(made, building)
    solids = _solids(made, building)
    inside = [s for s in made if s.mass.inside]
    whole = unite([solids[s.mass.id] for s in inside])
    outside = [solids[s.mass.id] for s in made if not s.mass.inside]
    cold = unite(outside) if outside else None
    check_masses.swallowed(made, solids, building)
    skin = surface(whole, cold, table)
    own = frozenset(mass.id for mass in building.masses if mass.framing == "own")
    key = keys(skin, table, own)
    normals = np.array([table.oriented(k.plane, k.facing)[0] for k in key])
    found = facets(skin, key, normals)
    checked = check_body.Body(skin, table, building)
    check_body.sound(found, checked)
    trimmed = straightened(found, skin.points)
    check_body.thin(trimmed, checked)
    hull = _hull(trimmed, skin, table, building)
    floors = story_floors(building, solids)
    framing = Framing(floors, own, rim_depth(building))
    return replace(
        hull,
        floor_lines=tuple(floor_lines(hull.faces, hull.edges, framing)),
        story_lines=story_lines(floors, whole, framing.rim),
        notes=(
            *check_masses.notes(made, solids, whole, Show(building.system)),
            *standing_walls(hull, building),
            *slivers(hull, building.system),
        ),
    )


def _solids(made: Sequence[Shape], building: Building) -> dict[str, Manifold]:
    growth = growths(made, {n.mass for n in building.neighbours})
    return {s.mass.id: solid(s, growth[s.mass.id]) for s in made}


def _hull(trimmed: Sequence[Facet], skin: Surface, table: Table, building: Building) -> Hull:
    raw = named(trimmed, skin, table, building)
    order = sorted(range(len(raw)), key=lambda i: raw[i].id)
    faces = [raw[i] for i in order]
    ordered = [trimmed[i] for i in order]
    points, triangles, owner = _mesh(ordered, skin)
    hull = Hull(
        faces=tuple(faces),
        vertices=_vertices(ordered, skin.points),
        edges=tuple(_edges(ordered, faces, skin.points)),
        floor_lines=(),
        open_ends=(),
        volume=volume(skin.points, skin.triangles),
        mesh_points=points,
        mesh_triangles=triangles,
        mesh_face=owner,
        heights={m.id: m.ground for m in sorted(building.masses, key=lambda m: m.id)},
    )
    invariants(hull)
    return hull


def _mesh(ordered: Sequence[Facet], skin: Surface) -> tuple[Floats, Ints, Ints]:
    triangles = np.concatenate([skin.triangles[list(f.triangles)] for f in ordered])
    owner = np.concatenate([np.full(len(f.triangles), i) for i, f in enumerate(ordered)])
    used, index = np.unique(triangles, return_inverse=True)
    return skin.points[used], index.reshape(-1, 3), owner


def _vertices(ordered: Sequence[Facet], points: Floats) -> Floats:
    used = sorted({v for f in ordered for loop in f.loops for v in loop})
    corners = points[used]
    rounded = np.round(corners, 5)
    return corners[np.lexsort((rounded[:, 2], rounded[:, 1], rounded[:, 0]))]


def _edges(ordered: Sequence[Facet], faces: Sequence[Face], points: Floats) -> list[Edge]:
    owner = {pair: number for number, facet in enumerate(ordered) for pair in sides(facet)}
    edges = []
    for (a, b), left in owner.items():
        right = owner[b, a]
        if left < right:
            edges.append(_edge(left, right, points[a], points[b], faces))
    return edges


def _edge(left: int, right: int, start: Floats, end: Floats, faces: Sequence[Face]) -> Edge:
    (a, b, c), (d, e, f) = faces[left].normal.tolist(), faces[right].normal.tolist()
    x, y, z = (end - start).tolist()
    sine = ((b * f - c * e) * x + (c * d - a * f) * y + (a * e - b * d) * z) / math.hypot(x, y, z)
    angle = math.degrees(math.atan2(sine, a * d + b * e + c * f))
    return Edge(left, right, start, end, 0.0 if abs(angle) < 1e-6 else angle)


def _with_faces(hull: Hull, faces: Sequence[Face]) -> Hull:
    return replace(hull, faces=tuple(faces))
