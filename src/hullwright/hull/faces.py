"""Facets made into faces: kind, stable id, frame, bearing, what is on it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from hullwright.building.model import Building, FaceGroup
from hullwright.hull.facets import Facet, signed_area
from hullwright.hull.model import Face, FaceKind, Floats, Frame
from hullwright.hull.planes import Label, Table, Vector
from hullwright.hull.shape import BOTTOMS, WALL_TAIL
from hullwright.hull.shares import largest, shares_of
from hullwright.hull.surface import Surface

GROUPS: Final[dict[FaceKind, FaceGroup]] = {
    FaceKind.WALL: "wall",
    FaceKind.GARAGE_WALL: "wall",
    FaceKind.PARAPET_INSIDE: "wall",
    FaceKind.PARAPET_TOP: "roof",
    FaceKind.ROOF: "roof",
    FaceKind.FLAT_ROOF: "roof",
    FaceKind.CEILING: "ceiling",
    FaceKind.FLOOR_OVER_AIR: "floor",
}
"""Which sheathing is on a face; kinds that are not here have none."""

CODES: Final[dict[FaceKind, str]] = {
    FaceKind.WALL: "",
    FaceKind.BASEMENT_WALL: "f",
    FaceKind.SLAB_EDGE: "e",
    FaceKind.GARAGE_WALL: "g",
    FaceKind.PARTY_WALL: "p",
    FaceKind.SHAFT_WALL: "s",
    FaceKind.ROOF: "r",
    FaceKind.FLAT_ROOF: "r",
    FaceKind.PARAPET_INSIDE: "i",
    FaceKind.PARAPET_TOP: "t",
    FaceKind.CEILING: "c",
    FaceKind.FLOOR_OVER_AIR: "o",
    FaceKind.GROUND: "b",
}
"""Letter of a face in ids of joints, fixed for good; `k` is added where a cold body stands against it."""

AT_GARAGE: Final = " at garage"
_AT_GARAGE_BEFORE: Final = " against cold"
_BEFORE: Final = dict.fromkeys(BOTTOMS.values(), "bottom")
NEIGHBOURED: Final = frozenset({FaceKind.GARAGE_WALL, FaceKind.PARTY_WALL, FaceKind.SHAFT_WALL})
CONCRETE: Final = frozenset({FaceKind.BASEMENT_WALL, FaceKind.SLAB_EDGE, FaceKind.GROUND})


@dataclass(frozen=True, slots=True)
class Key:
    """What keeps faces apart; `own` is the body where it is framed by itself."""

    plane: int
    facing: int
    kind: FaceKind | None
    rated: bool
    cold: bool
    own: str = ""


def keys(surface: Surface, table: Table, own: frozenset[str] = frozenset()) -> list[Key]:
    """Give the key of each triangle; walls that a cold mass stands against become garage walls.

    Sheathed faces of bodies that are framed by themselves (`own`) are not merged with those of others.
    """
    met = {
        (table.labels[number].mass, table.labels[number].side)
        for number, cold in zip(surface.labels.tolist(), surface.cold.tolist(), strict=True)
        if cold
    }
    known: dict[tuple[int, bool], Key] = {}
    out = []
    for number, cold in zip(surface.labels.tolist(), surface.cold.tolist(), strict=True):
        if (number, cold) not in known:
            key = _key(table.labels[number], met, cold=cold)
            name = table.labels[number].mass
            apart = name in own and key.kind is not None and key.kind.sheathed
            known[number, cold] = replace(key, own=name) if apart else key
        out.append(known[number, cold])
    return out


def _key(label: Label, met: set[tuple[str, str]], *, cold: bool) -> Key:
    kind, rated = label.kind, label.rated
    if kind is FaceKind.WALL and cold:
        kind = FaceKind.GARAGE_WALL
    elif label.declared and not cold and (label.mass, label.side) in met:
        kind, rated = FaceKind.WALL, False  # garage, neighbour or shaft is drawn: only where it stands
    return Key(label.plane, label.facing, kind, rated, cold)


def frame(normal: Vector, loop: Floats) -> Frame:
    """Face coordinates with their origin at the lower left of the face's outer loop (k, 3)."""
    a, b, c = normal
    flat = math.hypot(a, b)
    if flat < 1e-9:
        across, up = np.array([1.0 if c > 0 else -1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
    else:
        x, y = -b / flat, a / flat
        across, up = np.array([x, y, 0.0]), np.array([-c * y, c * x, a * y - b * x])
    n = np.array(normal)
    origin = n * float(loop[0] @ n) + (loop @ across).min() * across + (loop @ up).min() * up
    return Frame(origin, across, up)


def named(found: Sequence[Facet], surface: Surface, table: Table, building: Building) -> list[Face]:
    """Make the faces, in the order of `found`."""
    faces = [_face(facet, surface, table, building) for facet in found]
    groups: dict[str, list[int]] = defaultdict(list)
    for number, face in enumerate(faces):
        groups[face.id].append(number)
    for numbers in groups.values():
        numbers.sort(key=lambda i: _position(faces[i]))
        for count, number in enumerate(numbers[1:], start=2):
            faces[number] = _renamed(faces[number], count)
    return faces


def _position(face: Face) -> tuple[float, ...]:
    x, y = face.loops[0] @ face.frame.across, face.loops[0] @ face.frame.up
    return tuple(round(float(v), 4) for v in (x.min(), y.min(), x.max(), y.max()))


def _renamed(face: Face, count: int) -> Face:
    return replace(
        face,
        id=f"{face.id} {count}",
        code=f"{face.code}.{count}",
        was=f"{face.was} {count}",
        number=count,
    )


def _face(facet: Facet, surface: Surface, table: Table, building: Building) -> Face:
    key = facet.key
    assert isinstance(key, Key)
    kind = key.kind
    assert kind is not None
    numbers = sorted({int(surface.labels[t]) for t in facet.triangles})
    loops = tuple(surface.points[loop] for loop in facet.loops)
    shares = shares_of(loops, numbers, table, building)
    first = table.labels[largest(shares)]
    masses = {table.labels[number].mass for number in (*numbers, *shares)}
    normal, offset = table.oriented(key.plane, key.facing)
    n = np.array(normal)
    group = GROUPS.get(kind, "")
    return Face(
        id=f"{first.mass}/{_part(first, key, AT_GARAGE)}",
        kind=kind,
        mass=first.mass,
        masses=tuple(sorted(masses)),
        side=first.side,
        normal=n,
        offset=offset,
        loops=loops,
        frame=frame(normal, loops[0]),
        azimuth=_azimuth(normal, building.site.north),
        tilt=math.degrees(math.acos(max(-1.0, min(1.0, normal[2])))),
        group=group,
        substrate=_substrate(kind, group, building),
        rated=key.rated,
        area=sum(signed_area(loop, n) for loop in loops),
        cold=key.cold,
        code=f"{first.mass}/{first.side}{_letters(kind, key)}",
        was=f"{first.mass}/{_part(replace(first, part=_BEFORE.get(first.part, first.part)), key, _AT_GARAGE_BEFORE)}",
    )


def _part(label: Label, key: Key, at_garage: str) -> str:
    if key.kind is not None and key.kind in WALL_TAIL:
        return label.side + WALL_TAIL[key.kind] + (at_garage if _told_cold(key) else "")
    return label.part + (at_garage if _told_cold(key) else "")


def _told_cold(key: Key) -> bool:
    """Whether the name says that a cold body stands against it; neighbor walls do so anyway."""
    return key.cold and key.kind not in NEIGHBOURED


def _letters(kind: FaceKind, key: Key) -> str:
    """Letters of a face in ids of joints: none for a plain wall."""
    letters = CODES[kind] + ("k" if _told_cold(key) else "")
    return f".{letters}" if letters else ""


def _azimuth(normal: Vector, north: float) -> float:
    if math.hypot(normal[0], normal[1]) < 1e-9:
        return math.nan
    bearing = (math.degrees(math.atan2(normal[0], normal[1])) + north) % 360.0
    return 0.0 if bearing > 360 - 1e-9 else bearing


def _substrate(kind: FaceKind, group: FaceGroup | str, building: Building) -> str:
    if kind in CONCRETE:
        return "concrete"
    for known, sheathing in building.sheathing.items():
        if known == (group or "wall"):
            return sheathing.substrate
    raise KeyError(group or "wall")
