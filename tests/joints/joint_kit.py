"""Houses for the joint tests, made by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from hullwright import hull, joints
from hullwright.building.model import (
    Aim,
    Bottom,
    Building,
    BuildUp,
    Ceiling,
    Crew,
    Fasteners,
    FixedOver,
    Mass,
    Neighbour,
    Opening,
    Penetration,
    Roof,
    Sheathing,
    Site,
    Storey,
    Through,
)
from hullwright.evidence import ESTIMATE, Figure
from hullwright.hull.model import Face, FaceKind, FloorLine, Frame, Hull, PlacedOpening
from hullwright.joints.model import JointKind
from hullwright.units import INCH

FLAT = Roof("flat")
SIDES = ("south", "east", "north", "west")


def gable(pitch, ridge=90.0):
    return Roof("gable", pitch=pitch, ridge=ridge)


def rect(x0, y0, x1, y1):
    return ((float(x0), float(y0)), (float(x1), float(y0)), (float(x1), float(y1)), (float(x0), float(y1)))


def mass(
    name="main",
    outline=None,
    *,
    base=0.0,
    storeys=(3.0,),
    roof=FLAT,
    inside=True,
    top="roof deck",
    bottom="slab",
    level=None,
    ground=0.0,
    sides=SIDES,
):
    outline = outline or rect(0, 0, 10, 8)
    return Mass(
        id=name,
        outline=outline,
        sides=sides,
        base=base,
        storeys=tuple(Storey(str(i + 1), h) for i, h in enumerate(storeys)),
        roof=roof,
        inside=inside,
        top=top,
        bottom=Bottom(bottom, base if level is None else level),
        ground=ground,
    )  # fmt: skip


def sheathing(
    lay="level",
    *,
    framing=16 * INCH,
    edge=6 * INCH,
    field=12 * INCH,
    overdriven=0.2,
    substrate="coated panel",
    **more,
):
    base = Sheathing(
        substrate=substrate,
        panel_width=48 * INCH,
        panel_length=96 * INCH,
        lay=lay,
        gap=INCH / 8,
        stagger=48 * INCH,
        framing=framing,
        blocking=False,
        least_offcut=12 * INCH,
        fasteners=Fasteners(edge, field, Figure(overdriven, "", ESTIMATE)),
    )
    return replace(base, **more)


def house(*masses, **more):
    base = Building(
        name="test",
        system="metric",
        currency="EUR",
        masses=masses or (mass(),),
        neighbours=(),
        through=(),
        openings=(),
        penetrations=(),
        fixed_over=(),
        sheathing={
            "wall": sheathing(),
            "roof": sheathing(framing=24 * INCH, substrate="wood panel"),
            "floor": sheathing(substrate="plywood"),
            "ceiling": sheathing("upright", substrate="gypsum board"),
        },
        surfaces={},
        build_up=BuildUp(0.2, 0.3, 0.25, 0.15, None, None),
        ceiling=Ceiling(0.0),
        site=Site(30.0, Figure(90.0, "mm", ESTIMATE)),
        crew=Crew(2, 50.0, math.inf, 8.0),
        aim=Aim(math.inf, None, 0.9, 1.0, 1.0, 1.0, None, None, None, math.inf),
    )
    return replace(base, **more)


def window(
    name="w",
    mass="main",
    side=0,
    *,
    storey=0,
    width=1.2,
    height=1.4,
    sill=0.9,
    offset=1.0,
    kind="window",
    frame="vinyl flange",
):
    return Opening(name, kind, mass, side, storey, width, height, sill, offset, frame)


def passing(
    kind="pipe",
    name="p",
    mass="main",
    face="wall",
    side=0,
    *,
    storey=0,
    width=0.1,
    depth=0.0,
    places=((1.0, 1.0),),
    rigid=True,
    stage="services",
):
    return Penetration(
        name, kind, mass, face, side, storey, width, depth, tuple(places), rigid=rigid, stage=stage
    )


def neighbour(kind, side, mass="main", storeys=(), *, rated=True):
    return Neighbour(kind, mass, side, tuple(storeys), rated)


def tails(side=0, mass="main", *, kind="rafter tails", spacing=0.6, count=None):
    return Through(kind, mass, side, 0.038, 0.184, spacing, count)


def ledger(name="deck", side=0, *, storey=0, offset=1.0, width=3.0, height=0.5):
    return FixedOver(name, "ledger", "main", side, storey, offset, width, height, 0.2)


def site(days, rain):
    """Days exposed and rain a month [mm]."""
    return Site(days, Figure(rain, "mm", ESTIMATE))


def found(building):
    """Hull and joints of a building."""
    body = hull.build(building)
    return body, joints.find(building, body)


def length(found_joints, kind):
    return sum(j.length for j in found_joints.joints if j.kind is JointKind(kind))


def count(found_joints, kind):
    return sum(j.count for j in found_joints.joints if j.kind is JointKind(kind))


def number(found_joints, kind):
    return sum(j.kind is JointKind(kind) for j in found_joints.joints)


def lone_face(points, *, kind=FaceKind.WALL, group="wall", openings=(), floor_heights=()):
    """A hull of a single upright face in the plane y = 0, for panel sums."""
    loop = np.array([[x, 0.0, z] for x, z in points])
    frame = Frame(np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 0, 1.0]))
    placed = tuple(
        PlacedOpening(window(f"w{i}"), np.array(polygon, dtype=float)) for i, polygon in enumerate(openings)
    )
    x, z = loop[:, 0], loop[:, 2]
    area = abs(x @ np.roll(z, -1) - z @ np.roll(x, -1)) / 2
    rated = False
    face = Face(
        "main/south", kind, "main", ("main",), "south", np.array([0, -1.0, 0]), 0.0, (loop,), frame, 180.0, 90.0,
        group, "coated panel", rated, placed, (), float(area),
    )  # fmt: skip
    lines = tuple(
        FloorLine(0, np.array([x.min(), 0, z]), np.array([x.max(), 0, z]), "main", i + 1)
        for i, z in enumerate(floor_heights)
    )
    return Hull(
        (face,), loop, (), lines, (), 0.0, loop, np.empty((0, 3), int), np.empty(0, int), {"main": 0.0}
    )
