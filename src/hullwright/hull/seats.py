"""From what openings and penetrations are measured: the seat on a wall, roof, bottom or ceiling."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hullwright.building.model import Building, Mass, Opening, Penetration, Point
from hullwright.errors import Problem, Where
from hullwright.hull.model import Face, FaceKind, Floats
from hullwright.units import Show

NEAR = 2e-3
"""A stated outline may lie this far off the plane that its wall was made flush with [m]."""


@dataclass(frozen=True, slots=True)
class Thing:
    """An opening or one penetration, as stated.

    Parameters
    ----------
    points : tuple of (x, y)
        Corners, or the middle of a round thing, measured from its seat [m].
    radius : float or None
        Of a round thing [m].
    """

    name: str
    mass: str
    face: str
    side: int | None
    storey: int | None
    points: tuple[Point, ...]
    radius: float | None
    size: tuple[float, float]
    where: Where


@dataclass(frozen=True, slots=True)
class Seat:
    """Where something is measured from: a point, the way to the right, the way up, the outward normal."""

    origin: Floats
    across: Floats
    up: Floats
    normal: Floats
    text: str


def opening_thing(opening: Opening) -> Thing:
    """Give an opening as a thing to be put on a face."""
    x, y, w, h = opening.offset, opening.sill, opening.width, opening.height
    face = "roof" if opening.storey is None else "wall"
    points = ((x, y), (x + w, y), (x + w, y + h), (x, y + h))
    name = f"{opening.kind} {opening.id}"
    return Thing(name, opening.mass, face, opening.side, opening.storey, points, None, (w, h), opening.where)


def penetration_thing(item: Penetration, number: int) -> Thing:
    """Give one of a row of penetrations as a thing to be put on a face."""
    x, y = item.places[number]
    a, b = item.width / 2, item.depth / 2
    name = f"{item.kind} {item.id}" + (f", number {number + 1}" if len(item.places) > 1 else "")
    points = ((x, y),) if item.round else ((x - a, y - b), (x + a, y - b), (x + a, y + b), (x - a, y + b))
    size = (item.width, item.width if item.round else item.depth)
    radius = a if item.round else None
    return Thing(name, item.mass, item.face, item.side, item.storey, points, radius, size, item.where)


def seat(thing: Thing, building: Building, faces: Sequence[Face]) -> Seat | Problem:
    """Find the seat of a thing, or say why there is none."""
    mass, show = building.mass(thing.mass), Show(building.system)
    if not min(thing.size) > 0:
        got = f"{show.size(thing.size[0])} by {show.size(thing.size[1])}"
        return Problem(f"{thing.name} has no size", thing.where, got, "sizes over 0", "state its size")
    if not mass.inside:
        return Problem(
            f"{thing.name} is on {mass.id}, which is outside the hull",
            thing.where,
            mass.id,
            "a mass inside the hull",
            "leave it out: it does not pass the layer",
        )
    barrier = "ceiling" if mass.top == "ceiling" else "roof"
    if thing.face in ("roof", "ceiling") and thing.face != barrier:
        return Problem(
            f"{thing.name} is on the {thing.face} of {mass.id}, where the layer does not run",
            thing.where,
            thing.face,
            barrier,
            f"put it on the {barrier}, where it passes the layer",
        )
    found = _wall_seat(mass, thing) if thing.face == "wall" else _other_seat(mass, thing, faces)
    return found or Problem(
        f"{thing.name} is on a {thing.face} of {mass.id} that is not there",
        thing.where,
        "" if thing.side is None else mass.sides[thing.side],
        "a wall with side and storey, or a side that a roof plane falls towards",
        "check side and roof",
    )


def _side(mass: Mass, side: int) -> tuple[Point, Floats]:
    p, q = mass.outline[side], mass.outline[(side + 1) % len(mass.outline)]
    way = np.array([q[0] - p[0], q[1] - p[1], 0.0])
    return p, way / np.linalg.norm(way)


def _wall_seat(mass: Mass, thing: Thing) -> Seat | None:
    if thing.side is None or thing.storey is None:
        return None
    p, along = _side(mass, thing.side)
    return Seat(
        np.array([*p, mass.floor(thing.storey)]),
        along,
        np.array([0.0, 0.0, 1.0]),
        np.array([along[1], -along[0], 0.0]),
        f"wall {mass.sides[thing.side]} of {mass.id}",
    )


def _other_seat(mass: Mass, thing: Thing, faces: Sequence[Face]) -> Seat | None:
    if thing.face == "roof" and thing.side is not None:
        return _roof_seat(mass, thing.side, faces)
    if thing.face == "roof" and mass.roof.form != "flat":
        return None
    z = mass.bottom.level if thing.face == "bottom" else mass.wall_top
    normal = np.array([0.0, 0.0, -1.0 if thing.face == "bottom" else 1.0])
    text = f"plan, {thing.face} of {mass.id}"
    return Seat(np.array([0.0, 0.0, z]), np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0]), normal, text)


def _roof_seat(mass: Mass, side: int, faces: Sequence[Face]) -> Seat | None:
    """Measure from the left end of the eave, up the slope."""
    p, along = _side(mass, side)
    outward = np.array([along[1], -along[0], 0.0])
    text = f"roof {mass.sides[side]} of {mass.id}"
    if mass.roof.form == "flat":
        up = np.array([0.0, 0.0, 1.0])
        return Seat(np.array([*p, mass.wall_top]), along, -outward, up, text)
    for face in faces:
        if face.kind is not FaceKind.ROOF or mass.id not in face.masses or face.normal @ outward < 1e-6:
            continue
        z = (face.offset - face.normal[0] * p[0] - face.normal[1] * p[1]) / face.normal[2]
        if abs(z - mass.wall_top) < 10 * NEAR and abs(face.normal @ along) < 1e-3:
            return Seat(np.array([*p, z]), face.frame.across, face.frame.up, face.normal, text)
    return None
