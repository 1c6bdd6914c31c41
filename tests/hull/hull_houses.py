"""Buildings for the hull tests, made by hand."""

from __future__ import annotations

import math
from dataclasses import replace

from hullwright.building.model import (
    Aim,
    Bottom,
    Building,
    BuildUp,
    Ceiling,
    Crew,
    Fasteners,
    Mass,
    Neighbour,
    Opening,
    Penetration,
    Roof,
    Sheathing,
    Site,
    Storey,
)
from hullwright.evidence import ESTIMATE, Figure

FLAT = Roof("flat")


def gable(pitch: float, ridge: float = 90.0) -> Roof:
    return Roof("gable", pitch=pitch, ridge=ridge)


def rect(x0: float, y0: float, x1: float, y1: float) -> tuple[tuple[float, float], ...]:
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def compass(outline) -> tuple[str, ...]:
    """Name sides as the reader does: by the nearest of the four bearings, numbered where several."""
    names = []
    for (x0, y0), (x1, y1) in zip(outline, outline[1:] + outline[:1], strict=True):
        bearing = math.degrees(math.atan2(y1 - y0, -(x1 - x0))) % 360
        names.append(("north", "east", "south", "west")[round(bearing / 90) % 4])
    return tuple(
        name if names.count(name) == 1 else f"{name} {names[: i + 1].count(name)}"
        for i, name in enumerate(names)
    )


def mass(
    name="main",
    outline=((0.0, 0.0), (10.0, 0.0), (10.0, 8.0), (0.0, 8.0)),
    *,
    base=0.0,
    storeys=(3.0,),
    roof=FLAT,
    inside=True,
    top="roof deck",
    bottom="slab",
    level=None,
    ground=0.0,
) -> Mass:
    outline = tuple((float(x), float(y)) for x, y in outline)
    return Mass(
        id=name,
        outline=outline,
        sides=compass(outline),
        base=base,
        storeys=tuple(Storey(str(i + 1), h) for i, h in enumerate(storeys)),
        roof=roof,
        inside=inside,
        top=top,
        bottom=Bottom(bottom, base if level is None else level),
        ground=ground,
    )


def sheathing(substrate: str = "plywood") -> Sheathing:
    nails = Fasteners(0.15, 0.3, Figure(0.05, "", ESTIMATE))
    return Sheathing(
        substrate, 1.22, 2.44, "level", 0.003, 0.61, 0.4, blocking=True, least_offcut=0.2, fasteners=nails
    )


def house(*masses: Mass, **more) -> Building:
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
            "wall": sheathing("osb"),
            "roof": sheathing("plywood"),
            "floor": sheathing("floor osb"),
            "ceiling": sheathing("gypsum"),
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
    name="w", mass="main", side=0, *, storey=0, width=1.2, height=1.4, sill=0.9, offset=1.0, kind="window"
) -> Opening:
    return Opening(name, kind, mass, side, storey, width, height, sill, offset, "vinyl flange")


def pipe(
    name="p",
    mass="main",
    face="wall",
    side=0,
    *,
    storey=0,
    width=0.1,
    depth=0.0,
    places=((1.0, 1.0),),
    kind="pipe",
) -> Penetration:
    return Penetration(
        name, kind, mass, face, side, storey, width, depth, tuple(places), rigid=True, stage="services"
    )


def neighbour(kind="party wall", mass="main", side=0, storeys=(), *, rated=True) -> Neighbour:
    return Neighbour(kind, mass, side, tuple(storeys), rated)
