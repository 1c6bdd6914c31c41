"""Are the masses, each by itself, what can be built."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from hullwright.building.model import Building, Mass, Point
from hullwright.errors import Problem
from hullwright.hull.outline import area, convex, crossing
from hullwright.hull.picture import THIN, Finding, stop
from hullwright.hull.shape import Parapet, Shape
from hullwright.hull.solid import GROWTH, unite
from hullwright.units import Show

if TYPE_CHECKING:
    from manifold3d import Manifold
else:
    Manifold = Any

STATED: Final = "the masses can't be built as stated"


def outlines(building: Building) -> None:
    """Check each mass by itself; raise MassingError with all that is wrong."""
    show = Show(building.system)
    findings = [finding for mass in building.masses for finding in _mass(mass, show)]
    if not any(mass.inside for mass in building.masses):
        problem = Problem(
            "no mass is inside the hull", allowed="one mass inside or more", hint="mark it inside"
        )
        findings.append((problem, []))
    stop(STATED, findings, building)


def _mass(mass: Mass, show: Show) -> list[Finding]:
    roof = mass.roof
    numbers = [c for p in mass.outline for c in p] + [s.height for s in mass.storeys]
    numbers += [mass.base, mass.bottom.level, mass.ground, roof.pitch, roof.ridge]
    numbers += [roof.parapet_height, roof.parapet_thickness]
    if not all(math.isfinite(n) for n in numbers):
        return [
            _finding(mass, [], "has a figure that is no number", "", "finite numbers", "state every figure")
        ]
    return list(_outline(mass, show)) or [*_heights(mass, show), *_roof(mass, show)]


def _finding(mass: Mass, spots: Sequence[Point], what: str, *more: str) -> Finding:
    """Make a finding; `more` is what was found, what is allowed and what to do."""
    return Problem(f"mass {mass.id} {what}", mass.where, *more), list(spots)


def _outline(mass: Mass, show: Show) -> Iterable[Finding]:
    """Give the first fault of an outline."""
    points = mass.outline
    if len(points) < 3:
        got = f"{len(points)} points"
        yield _finding(mass, points, "has no outline", got, "3 or more points", "add points")
        return
    lengths = [math.dist(p, q) for p, q in pairwise((*points, points[0]))]
    if min(lengths) < THIN:
        x, y = points[lengths.index(min(lengths))]
        got, least = f"{show.slit(min(lengths))} at {show.at(x, y)}", f"{show.slit(THIN)} or more"
        yield _finding(mass, [(x, y)], "has a side without length", got, least, "drop one of the points")
        return
    at, size = crossing(points), area(points)
    if at is not None:
        got, hint = f"at {show.at(*at)}", "put the points in order round the mass"
        text = "has an outline that crosses or touches itself"
        yield _finding(mass, [at], text, got, "a simple outline", hint)
    elif size < 0:
        text, allowed = "has its outline clockwise", "counter-clockwise"
        yield _finding(mass, points[:1], text, "clockwise", allowed, "turn the order round")
    elif 2 * size / sum(lengths) < THIN:
        got, least = f"{show.fine_area(size)} in plan", f"wider than {show.slit(THIN)}"
        yield _finding(mass, points[:1], "has no thickness", got, least, "check the outline")


def _heights(mass: Mass, show: Show) -> Iterable[Finding]:
    low = [s.name for s in mass.storeys if s.height <= THIN]
    spots = mass.outline[:1]
    if low or not mass.storeys:
        got = f"storeys without height: {', '.join(low)}" if low else "no storey"
        yield _finding(
            mass, spots, "has no height", got, "storeys higher than 0", "state each storey's height"
        )
    if mass.bottom.level > mass.base + THIN:
        got = f"{show.place(mass.bottom.level)} over {show.place(mass.base)}"
        text, allowed = "has its bottom above its base", "a level at or below the base"
        yield _finding(mass, spots, text, got, allowed, "lower the bottom's level, or raise the base")


def _roof(mass: Mass, show: Show) -> Iterable[Finding]:
    roof, spots = mass.roof, mass.outline[:1]
    if mass.inside and mass.top == "ceiling":
        return  # the hull ends at the ceiling: the roof over it is vented and outside
    if roof.form != "flat" and not 0 < roof.pitch < 85:
        text, allowed = f"has a {roof.form} roof without a usable pitch", "more than 0 and less than 85 deg"
        hint = "state the pitch, or make the roof flat"
        yield _finding(mass, spots, text, f"{roof.pitch:g} deg", allowed, hint)
    if roof.form == "hip" and not convex(mass.outline):
        text, allowed = "has a hip roof over an inside corner", "an outline without inside corners"
        hint = "split it into masses, one hip roof each"
        yield _finding(mass, spots, text, f"{len(mass.outline)} sides", allowed, hint)
    if roof.form == "flat" and roof.parapet_height > 0 and roof.parapet_thickness <= THIN:
        got, allowed = show.slit(roof.parapet_thickness), f"more than {show.slit(THIN)}"
        yield _finding(mass, spots, "has a parapet without thickness", got, allowed, "state its thickness")


def made(shapes: Sequence[Shape], building: Building) -> None:
    """Check what only shows once the masses are made: room inside the parapets."""
    findings = []
    show = Show(building.system)
    for shape in shapes:
        if shape.parapet is not None and not _room_inside(shape, shape.parapet):
            text, got = "has parapets that meet each other", show.place(shape.mass.roof.parapet_thickness)
            allowed, hint = "less than half the width of the roof", "make the parapet thinner"
            findings.append(_finding(shape.mass, shape.mass.outline[:1], text, got, allowed, hint))
    stop(STATED, findings, building)


def _room_inside(shape: Shape, parapet: Parapet) -> bool:
    outer, inner = shape.outline(), shape.hollow(parapet)
    n = len(outer)
    same_way = all(
        (outer[(i + 1) % n][0] - outer[i][0]) * (inner[(i + 1) % n][0] - inner[i][0])
        + (outer[(i + 1) % n][1] - outer[i][1]) * (inner[(i + 1) % n][1] - inner[i][1])
        > THIN**2
        for i in range(n)
    )
    return same_way and crossing(inner) is None


def swallowed(shapes: Sequence[Shape], solids: Mapping[str, Manifold], building: Building) -> None:
    """Find masses that lie wholly inside others: they add nothing to the hull."""
    findings = []
    for shape in shapes:
        body = solids[shape.mass.id]
        box = body.bounding_box()
        others = [solids[s.mass.id] for s in shapes if s is not shape and s.mass.inside]
        near = [other for other in others if _boxes_meet(other.bounding_box(), box)]
        if near and (body - unite(near)).volume() < 4 * GROWTH * body.surface_area():
            outline, hint = shape.mass.outline, "drop it, or move it out"
            middle = (sum(p[0] for p in outline) / len(outline), sum(p[1] for p in outline) / len(outline))
            text, allowed = "lies wholly inside other masses", "a mass that adds to the hull"
            findings.append(_finding(shape.mass, [middle], text, "", allowed, hint))
    stop("a mass adds nothing to the hull", findings, building)


def _boxes_meet(one: Sequence[float], two: Sequence[float]) -> bool:
    return all(one[k] <= two[k + 3] and two[k] <= one[k + 3] for k in range(3))


def notes(shapes: Sequence[Shape], solids: Mapping[str, Manifold], whole: Manifold, show: Show) -> list[str]:
    """Say where masses outside the hull run into it."""
    said = []
    for shape in shapes:
        body = solids[shape.mass.id]
        if not shape.mass.inside:
            shared = (body ^ whole).volume()
            if shared > 4 * GROWTH * body.surface_area():
                text = f"{shape.mass.id} is outside the hull and runs {show.fine_volume(shared)} into it"
                said.append(f"{text}: what lies in both counts as inside")
    return said
