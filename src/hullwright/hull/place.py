"""Openings and penetrations put on the face they are on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from hullwright.building.model import Building, Mass, Opening, Penetration, Point
from hullwright.errors import Problem, Where
from hullwright.hull.model import Face, FaceKind, Floats, Hull, PlacedOpening, PlacedPenetration
from hullwright.hull.plane_shapes import Disc, Loop, Patch, Shape2, box, overlap, touches, within

_UPRIGHT = 1e-6
_NEAR = 2e-3  # a stated outline may lie this far off the merged plane [m]


@dataclass(frozen=True, slots=True)
class Seat:
    """Where something is measured from: a point, the way to the right, the way up, the outward normal."""

    origin: Floats
    across: Floats
    up: Floats
    normal: Floats
    text: str


@dataclass(slots=True)
class _Taken:
    name: str
    shape: Shape2


class _Placer:
    def __init__(self, hull: Hull, building: Building) -> None:
        self.faces = hull.faces
        self.building = building
        self.masses = {m.id: m for m in building.masses}
        self.flat: list[list[list[Point]]] = [
            [[(x, y) for x, y in face.frame.drop(loop).tolist()] for loop in face.loops]
            for face in hull.faces
        ]
        self.taken: dict[int, list[_Taken]] = defaultdict(list)
        self.openings: dict[int, list[PlacedOpening]] = defaultdict(list)
        self.penetrations: dict[int, list[PlacedPenetration]] = defaultdict(list)
        self.problems: list[Problem] = []

    def opening(self, opening: Opening) -> None:
        mass = self.masses[opening.mass]
        name = f"{opening.kind} {opening.id}"
        seat = self._seat(
            mass,
            "roof" if opening.storey is None else "wall",
            opening.side,
            opening.storey,
            name,
            opening.where,
        )
        if seat is None:
            return
        x, y, w, h = opening.offset, opening.sill, opening.width, opening.height
        if not self._sized(name, opening.where, w, h):
            return
        number, shape = self._put(
            name, seat, [(x, y), (x + w, y), (x + w, y + h), (x, y + h)], None, opening.where
        )
        if number is not None and isinstance(shape, Patch):
            self.openings[number].append(PlacedOpening(opening, np.array(_lower_left_first(shape.points))))

    def penetration(self, item: Penetration) -> None:
        mass = self.masses[item.mass]
        for number, (x, y) in enumerate(item.places):
            name = f"{item.kind} {item.id}" + (f", number {number + 1}" if len(item.places) > 1 else "")
            seat = self._seat(mass, item.face, item.side, item.storey, name, item.where)
            if seat is None or not self._sized(
                name, item.where, item.width, item.width if item.round else item.depth
            ):
                return
            a, b = item.width / 2, item.depth / 2
            points = (
                [(x, y)] if item.round else [(x - a, y - b), (x + a, y - b), (x + a, y + b), (x - a, y + b)]
            )
            face, shape = self._put(name, seat, points, a if item.round else None, item.where)
            if face is not None and shape is not None:
                at = shape.at if isinstance(shape, Disc) else _middle(shape.points)
                self.penetrations[face].append(PlacedPenetration(item, number, np.array(at)))

    def _sized(self, name: str, where: Where, width: float, height: float) -> bool:
        if width > 0 and height > 0:
            return True
        self.problems.append(
            Problem(
                f"{name} has no size", where, f"{width:g} by {height:g} m", "sizes over 0", "state its size"
            )
        )
        return False

    def _seat(
        self, mass: Mass, face: str, side: int | None, storey: int | None, name: str, where: Where
    ) -> Seat | None:
        if not mass.inside:
            self.problems.append(
                Problem(
                    f"{name} is on {mass.id}, which is outside the hull",
                    where,
                    mass.id,
                    "a mass inside the hull",
                    "leave it out: it does not pass the layer",
                )
            )
            return None
        barrier = "ceiling" if mass.top == "ceiling" else "roof"
        if face in ("roof", "ceiling") and face != barrier:
            self.problems.append(
                Problem(
                    f"{name} is on the {face} of {mass.id}, where the layer does not run",
                    where,
                    face,
                    barrier,
                    f"put it on the {barrier}, where it passes the layer",
                )
            )
            return None
        seat = _wall_seat(mass, side, storey) if face == "wall" else self._other_seat(mass, face, side)
        if seat is None:
            self.problems.append(
                Problem(
                    f"{name} is on a {face} of {mass.id} that is not there",
                    where,
                    "" if side is None else mass.sides[side],
                    "a side with a roof plane that falls towards it, on masses whose hull has one",
                    "check side and roof",
                )
            )
        return seat

    def _other_seat(self, mass: Mass, face: str, side: int | None) -> Seat | None:
        if face in ("bottom", "ceiling") or side is None:
            z = {"bottom": mass.bottom.level, "ceiling": mass.wall_top, "roof": mass.wall_top}[face]
            if face == "roof" and mass.roof.form != "flat":
                return None
            up = np.array([0.0, 0.0, -1.0 if face == "bottom" else 1.0])
            return Seat(
                np.array([0.0, 0.0, z]),
                np.array([1.0, 0, 0]),
                np.array([0, 1.0, 0]),
                up,
                f"plan, {face} of {mass.id}",
            )
        return self._roof_seat(mass, side)

    def _roof_seat(self, mass: Mass, side: int) -> Seat | None:
        p, along = _side(mass, side)
        if mass.roof.form == "flat":
            n = np.array([0.0, 0.0, 1.0])
            return Seat(
                np.array([*p, mass.wall_top]),
                along,
                np.cross(n, along),
                n,
                f"roof of {mass.id}, from {mass.sides[side]}",
            )
        for face in self.faces:
            if (
                face.kind is FaceKind.ROOF
                and mass.id in face.masses
                and face.normal @ np.array([along[1], -along[0], 0]) > _UPRIGHT
            ):
                z = (face.offset - face.normal[0] * p[0] - face.normal[1] * p[1]) / face.normal[2]
                if abs(z - mass.wall_top) < 10 * _NEAR and abs(face.normal @ along) < 1e-3:
                    return Seat(
                        np.array([*p, z]),
                        face.frame.across,
                        face.frame.up,
                        face.normal,
                        f"roof {mass.sides[side]} of {mass.id}",
                    )
        return None

    def _put(
        self, name: str, seat: Seat, points: Sequence[Point], radius: float | None, where: Where
    ) -> tuple[int | None, Shape2 | None]:
        spots = seat.origin + np.array(points) @ np.stack([seat.across, seat.up])
        met: list[int] = []
        for number, face in enumerate(self.faces):
            if (
                face.normal @ seat.normal < 1 - 1e-4
                or abs(float(face.normal @ seat.origin) - face.offset) > _NEAR
            ):
                continue
            flat = [(float(x), float(y)) for x, y in face.frame.drop(spots)]
            shape: Shape2 = Patch(_counter_clockwise(flat)) if radius is None else Disc(flat[0], radius)
            if within(shape, self.flat[number]):
                self._against_others(name, number, shape, where)
                return number, shape
            if touches(shape, self.flat[number]):
                met.append(number)
        self.problems.append(self._misplaced(name, seat, points, radius or 0.0, met, where))
        return None, None

    def _against_others(self, name: str, number: int, shape: Shape2, where: Where) -> None:
        for other in self.taken[number]:
            if overlap(shape, other.shape):
                self.problems.append(
                    Problem(
                        f"{name} overlaps {other.name} on {self.faces[number].id}",
                        where,
                        hint="move one of them",
                    )
                )
        self.taken[number].append(_Taken(name, shape))

    def _misplaced(
        self, name: str, seat: Seat, points: Sequence[Point], radius: float, met: Sequence[int], where: Where
    ) -> Problem:
        x0, y0, x1, y1 = _span(points, radius)
        got = f"{x0:.3f} to {x1:.3f} m across and {y0:.3f} to {y1:.3f} m up"
        faces = met or [
            i
            for i, f in enumerate(self.faces)
            if f.normal @ seat.normal > 1 - 1e-4 and abs(float(f.normal @ seat.origin) - f.offset) < _NEAR
        ]
        if not faces:
            return Problem(
                f"{name} is not on the hull: {seat.text} is covered by other masses",
                where,
                got,
                hint="check mass and side",
            )
        ids = ", ".join(self.faces[i].id for i in faces)
        allowed = "; ".join(self._room(i, seat) for i in faces)
        if len(met) > 1:
            return Problem(
                f"{name} crosses the line between faces ({ids})",
                where,
                got,
                allowed,
                "move it so that it lies on one of them",
            )
        return Problem(
            f"{name} does not lie wholly on its face ({seat.text}; {ids})",
            where,
            got,
            allowed,
            "move it or make it smaller; at a gable the wall ends at the roof",
        )

    def _room(self, number: int, seat: Seat) -> str:
        face = self.faces[number]
        rel = face.loops[0] - seat.origin
        x, y = rel @ seat.across, rel @ seat.up
        return f"{face.id}: {x.min():.3f} to {x.max():.3f} m across, {y.min():.3f} to {y.max():.3f} m up"


def placed(hull: Hull, building: Building) -> tuple[list[Face], list[Problem]]:
    """Put each opening and penetration on the face that holds it.

    Returns
    -------
    tuple of (list of Face, list of Problem)
        The faces of the hull with what is on them, and everything that is on no face or overlaps.
    """
    placer = _Placer(hull, building)
    for opening in sorted(building.openings, key=lambda o: o.id):
        placer.opening(opening)
    for item in sorted(building.penetrations, key=lambda p: p.id):
        placer.penetration(item)
    faces = [
        replace(face, openings=tuple(placer.openings[i]), penetrations=tuple(placer.penetrations[i]))
        if i in placer.openings or i in placer.penetrations
        else face
        for i, face in enumerate(hull.faces)
    ]
    return faces, placer.problems


def _side(mass: Mass, side: int) -> tuple[Point, Floats]:
    p, q = mass.outline[side], mass.outline[(side + 1) % len(mass.outline)]
    way = np.array([q[0] - p[0], q[1] - p[1], 0.0])
    return p, way / np.linalg.norm(way)


def _wall_seat(mass: Mass, side: int | None, storey: int | None) -> Seat | None:
    if side is None or storey is None:
        return None
    p, along = _side(mass, side)
    origin = np.array([*p, mass.floor(storey)])
    normal = np.array([along[1], -along[0], 0.0])
    return Seat(origin, along, np.array([0.0, 0.0, 1.0]), normal, f"wall {mass.sides[side]} of {mass.id}")


def _counter_clockwise(points: Sequence[Point]) -> tuple[Point, ...]:
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, (*points[1:], points[0]), strict=True))
    return tuple(points) if twice > 0 else tuple(reversed(points))


def _lower_left_first(points: Sequence[Point]) -> list[Point]:
    start = min(range(len(points)), key=lambda i: (round(points[i][0] + points[i][1], 6), points[i]))
    return [*points[start:], *points[:start]]


def _middle(points: Loop) -> Point:
    return sum(p[0] for p in points) / len(points), sum(p[1] for p in points) / len(points)


def _span(points: Sequence[Point], radius: float) -> tuple[float, float, float, float]:
    if len(points) == 1:
        return box(Disc(points[0], radius))
    return box(Patch(tuple(points)))
