"""Openings and penetrations put on the face they are on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from hullwright.building.model import Building, Mass, Point
from hullwright.errors import Problem
from hullwright.hull.model import Face, Hull, PlacedOpening, PlacedPenetration
from hullwright.hull.plane_shapes import (
    Box,
    Disc,
    Loop,
    Patch,
    Shape2,
    box,
    boxes_meet,
    overlap,
    touches,
    within,
)
from hullwright.hull.seats import NEAR, Seat, Thing, opening_thing, penetration_thing, seat
from hullwright.units import Show


class _Placer:
    def __init__(self, hull: Hull, building: Building) -> None:
        self.faces, self.building, self.show = hull.faces, building, Show(building.system)
        self.normals = np.array([face.normal for face in hull.faces])
        self.offsets = np.array([face.offset for face in hull.faces])
        self.flat: dict[int, list[Loop]] = {}
        self.seats: dict[tuple[object, ...], tuple[Seat, list[int]]] = {}
        self.taken: dict[int, list[tuple[str, Shape2, Box]]] = defaultdict(list)
        self.problems: list[Problem] = []

    def put(self, thing: Thing) -> tuple[int, Shape2] | None:
        """Give the face number and the shape in face coordinates; None (and a problem) where it fits on none."""
        seated = self._seated(thing)
        if seated is None:
            return None
        found, coplanar = seated
        spots = found.origin + np.array(thing.points) @ np.array([found.across, found.up])
        met: list[int] = []
        for number in coplanar:
            shape = _shape(self.faces[number], spots, thing.radius)
            loops = self._loops(number)
            if within(shape, loops):
                self._against_others(thing, number, shape)
                return number, shape
            if touches(shape, loops):
                met.append(number)
        self.problems.append(self._misplaced(thing, found, met, met or coplanar))
        return None

    def _seated(self, thing: Thing) -> tuple[Seat, list[int]] | None:
        """Give the seat of a thing and the faces in its plane; None (and a problem) where it has none."""
        key = (thing.mass, thing.face, thing.side, thing.storey)
        if key not in self.seats or not min(thing.size) > 0:
            found = seat(thing, self.building, self.faces)
            if isinstance(found, Problem):
                self.problems.append(found)
                return None
            self.seats[key] = found, self._coplanar(found)
        return self.seats[key]

    def _coplanar(self, found: Seat) -> list[int]:
        same = self.normals @ found.normal > 1 - 1e-4
        near = np.abs(self.normals @ found.origin - self.offsets) < NEAR
        return [int(i) for i in np.flatnonzero(same & near)]

    def _loops(self, number: int) -> list[Loop]:
        if number not in self.flat:
            face = self.faces[number]
            self.flat[number] = [[(x, y) for x, y in face.frame.drop(loop).tolist()] for loop in face.loops]
        return self.flat[number]

    def _against_others(self, thing: Thing, number: int, shape: Shape2) -> None:
        around = box(shape)
        for name, other, room in self.taken[number]:
            if boxes_meet(around, room) and overlap(shape, other):
                text = f"{thing.name} overlaps {name} on {self.faces[number].id}"
                self.problems.append(Problem(text, thing.where, hint="move one of them"))
        self.taken[number].append((thing.name, shape, around))

    def _misplaced(self, thing: Thing, found: Seat, met: Sequence[int], faces: Sequence[int]) -> Problem:
        x0, y0, x1, y1 = (self.show.place(v) for v in _span(thing))
        got = f"{x0} to {x1} across and {y0} to {y1} up"
        if not faces:
            text = f"{thing.name} is not on the hull: {found.text} is covered by other masses"
            return Problem(text, thing.where, got, hint=self._hint(thing, "check mass and side"))
        ids = ", ".join(self.faces[i].id for i in faces)
        allowed = "; ".join(self._room(self.faces[i], found) for i in faces)
        if len(met) > 1:
            text = f"{thing.name} crosses the line between faces ({ids})"
            hint = "move it so that it lies on one"
        else:
            text = f"{thing.name} does not lie wholly on its face ({found.text}; {ids})"
            hint = "move it or make it smaller"
            if any(_gabled(self.faces[i]) for i in faces):
                hint += "; mind that the wall's top follows the roof"
        return Problem(text, thing.where, got, allowed, self._hint(thing, hint))

    def _hint(self, thing: Thing, hint: str) -> str:
        """Add the masses on which a thing would fit as stated."""
        names = [f"`{mass.id}`" for mass in self.building.masses if self._fits_on(thing, mass)]
        more = f"; as stated it fits on {' or '.join(names)}: is `mass: {thing.mass}` right?"
        return hint + (more if names else "")

    def _fits_on(self, thing: Thing, mass: Mass) -> bool:
        if mass.id == thing.mass or not mass.inside:
            return False
        own = self.building.mass(thing.mass)
        side = None if thing.side is None else _same(mass.sides, own.sides[thing.side])
        names = [storey.name for storey in mass.storeys]
        storey = None if thing.storey is None else _same(names, own.storeys[thing.storey].name)
        if storey is None and thing.storey is not None and len(names) == 1:
            storey = 0
        if (side is None) != (thing.side is None) or (storey is None) != (thing.storey is None):
            return False
        other = replace(thing, mass=mass.id, side=side, storey=storey)
        found = seat(other, self.building, self.faces)
        if isinstance(found, Problem):
            return False
        spots = found.origin + np.array(thing.points) @ np.array([found.across, found.up])
        return any(
            within(_shape(self.faces[i], spots, thing.radius), self._loops(i)) for i in self._coplanar(found)
        )

    def _room(self, face: Face, found: Seat) -> str:
        rel = face.loops[0] - found.origin
        x, y = rel @ found.across, rel @ found.up
        x0, x1, y0, y1 = (self.show.place(float(v)) for v in (x.min(), x.max(), y.min(), y.max()))
        return f"{face.id}: {x0} to {x1} across, {y0} to {y1} up"


def _same(names: Sequence[str], name: str) -> int | None:
    return names.index(name) if name in names else None


def _gabled(face: Face) -> bool:
    """Whether a wall's upper border is not level."""
    heights = face.loops[0][:, 2]
    return abs(face.tilt - 90) < 1 and len({round(float(z), 3) for z in heights}) > 2


def placed(hull: Hull, building: Building) -> tuple[list[Face], list[Problem]]:
    """Put each opening and penetration on the face that holds it.

    Returns
    -------
    tuple of (list of Face, list of Problem)
        The faces of the hull with what is on them, and everything that is on no face or overlaps.
    """
    placer = _Placer(hull, building)
    openings: dict[int, list[PlacedOpening]] = defaultdict(list)
    penetrations: dict[int, list[PlacedPenetration]] = defaultdict(list)
    for opening in sorted(building.openings, key=lambda o: o.id):
        spot = placer.put(opening_thing(opening))
        if spot is not None and isinstance(spot[1], Patch):
            openings[spot[0]].append(PlacedOpening(opening, np.array(_lower_left_first(spot[1].points))))
    for item in sorted(building.penetrations, key=lambda p: p.id):
        for number in range(len(item.places)):
            spot = placer.put(penetration_thing(item, number))
            if spot is not None:
                penetrations[spot[0]].append(PlacedPenetration(item, number, np.array(_middle(spot[1]))))
    faces = list(hull.faces)
    for i in {*openings, *penetrations}:
        faces[i] = replace(faces[i], openings=tuple(openings[i]), penetrations=tuple(penetrations[i]))
    return faces, placer.problems


def _shape(
    face: Face, spots: np.ndarray[tuple[int, int], np.dtype[np.float64]], radius: float | None
) -> Shape2:
    flat = [(x, y) for x, y in face.frame.drop(spots).tolist()]
    return Patch(_counter_clockwise(flat)) if radius is None else Disc(flat[0], radius)


def _counter_clockwise(points: Sequence[Point]) -> tuple[Point, ...]:
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, (*points[1:], points[0]), strict=True))
    return tuple(points) if twice > 0 else tuple(reversed(points))


def _lower_left_first(points: Sequence[Point]) -> list[Point]:
    start = min(range(len(points)), key=lambda i: (round(points[i][0] + points[i][1], 6), points[i]))
    return [*points[start:], *points[:start]]


def _middle(shape: Shape2) -> Point:
    if isinstance(shape, Disc):
        return shape.at
    points = shape.points
    return sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)


def _span(thing: Thing) -> tuple[float, float, float, float]:
    return box(Patch(thing.points) if thing.radius is None else Disc(thing.points[0], thing.radius))
