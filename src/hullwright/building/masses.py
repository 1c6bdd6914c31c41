"""Masses: from what is stated to outlines with named sides, storeys, roofs, tops and bottoms."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, Final

from shapely import STRtree
from shapely.geometry import Polygon

from hullwright.building.bodies import Body
from hullwright.building.model import Bottom, Mass, Point, Storey
from hullwright.building.roofs import read_roof
from hullwright.building.sides import normalised, outline_fault, side_names
from hullwright.building.spec import Notes, Raw
from hullwright.errors import Where
from hullwright.evidence import Evidence, Mark
from hullwright.units import Show

_COMMON: Final = Evidence(Mark.PRACTICE)
_SLACK: Final = 1e-6  # [m], [m2]
_DEEPEST: Final = {"slab": 1.5, "crawl space": 3.0, "basement": 12.0, "outside air": 0.0, "on mass": 0.0}
"""How far a bottom usually lies below the base [m]; estimate."""
GROUP_WORDS: Final = ("wall", "roof", "floor", "ceiling", "foundation")


def read_masses(root: Raw, notes: Notes) -> dict[str, Body]:
    """Read all masses; keys are their names in order of the name."""
    raws: list[Raw] = root["masses"] or []
    bodies: dict[str, Body] = {}
    places: dict[str, Where] = {}
    for raw in raws:
        name = raw["name"]
        if name is None:
            continue
        if name in bodies:
            notes.wrong(
                raw.place("name"),
                f"two masses are called `{name}`",
                got=f"first on line {places[name].line}",
                allowed="each name once",
            )
            continue
        if name in GROUP_WORDS or "/" in name:
            notes.wrong(
                raw.place("name"),
                "this can't be the name of a mass",
                got=name,
                allowed=f"a name without `/` other than {', '.join(GROUP_WORDS)}",
            )
        places[name] = raw.place("name")
        bodies[name] = _body(raw, root, notes)
    if bodies and not any(body.inside for body in bodies.values()):
        notes.wrong(
            root.place("masses"),
            "no mass is inside the hull",
            got="inside: no everywhere",
            allowed="at least one mass inside",
        )
    _check_nested(bodies, notes)
    return dict(sorted(bodies.items()))


def _body(raw: Raw, root: Raw, notes: Notes) -> Body:
    corners = _corners(raw, notes)
    outline: tuple[Point, ...] = ()
    numbers: tuple[int, ...] = ()
    if corners:
        outline, numbers = normalised(corners)
    sides = side_names(outline) if outline else ()
    storeys = _storeys(raw, notes)
    inside = raw["inside"] is not False
    body = Body(raw["name"], outline, sides, numbers, storeys, inside, None, None)
    top = _top(raw, root, notes, inside)
    roof = read_roof(raw, body, notes, free=inside and top == "ceiling")
    body = replace(body, roof=roof)
    bottom = _bottom(raw, root, notes, inside)
    if not (raw.ok and outline and storeys and roof and top and bottom):
        return body
    ground = raw["ground"] if "ground" in raw else root["ground"]
    mass = Mass(
        raw["name"], outline, sides, raw["base"], storeys, roof, inside, top, bottom, ground or 0.0, raw.where,
        raw["framing"] or "shared",
    )  # fmt: skip
    return replace(body, mass=mass)


def _corners(raw: Raw, notes: Notes) -> list[Point]:
    if ("size" in raw) == ("outline" in raw):
        both = "size" in raw
        notes.wrong(
            raw.place("outline") if both else raw.where,
            "a mass needs either `size` or `outline`" + (", not both" if both else ""),
            allowed="size: [40 ft, 28 ft], or outline: [[0, 0], [40 ft, 0], ...]",
        )
        return []
    if "outline" in raw and "at" in raw:
        notes.wrong(
            raw.place("at"),
            "`at` goes with `size` only",
            hint="give the corners of the outline where they stand",
        )
    if raw["size"]:
        x, y = _corner(raw, notes)
        width, depth = raw["size"]
        return [(x, y), (x + width, y), (x + width, y + depth), (x, y + depth)]
    if not raw["outline"]:
        return []
    corners = [(x, y) for x, y in raw["outline"]]
    fault = outline_fault(corners, Show(notes.system))
    if fault:
        notes.wrong(
            raw.place("outline"),
            f"this outline is not sound: {fault}",
            allowed="corners in order round the plan, no two the same, no sides that cross",
            hint="list the corners in the order you would walk round the house; the first is not repeated",
        )
        return []
    return corners


def _corner(raw: Raw, notes: Notes) -> Point:
    if raw["at"]:
        return raw["at"][0], raw["at"][1]
    if "at" not in raw:
        notes.assume("masses", "at [0, 0]", _COMMON)
    return 0.0, 0.0


def _storeys(raw: Raw, notes: Notes) -> tuple[Storey, ...]:
    out: list[Storey] = []
    for number, stated in enumerate(raw["storeys"] or [], start=1):
        if isinstance(stated, Raw):
            if not stated.ok:
                raw.broken.add("storeys")
                return ()
            out.append(Storey(stated["name"] or str(number), stated["height"]))
        else:
            out.append(Storey(str(number), stated))
    names = [storey.name for storey in out]
    for name in {name for name in names if names.count(name) > 1}:
        notes.wrong(raw.place("storeys"), f"two storeys are called `{name}`", allowed="each name once")
        raw.broken.add("storeys")
    return tuple(out)


def _barrier(raw: Raw, root: Raw, key: str, notes: Notes) -> Any:
    """Stated at the mass, else for the house; else noted as missing."""
    if key in raw:
        return raw[key]
    house = root["barrier"]
    if isinstance(house, Raw) and (key in house or house.broken):
        return house[key]  # None where it was told already that it is wrong
    allowed = {"top": "roof deck, ceiling", "bottom": "slab, crawl space, basement, outside air, on mass"}[
        key
    ]
    notes.wrong(
        raw.where,
        f"where does the barrier run at the {key} of mass `{raw['name']}`?",
        got="nothing stated",
        allowed=allowed,
        hint=f"state barrier.{key} for the house, or {key} at this mass",
    )
    return None


def _top(raw: Raw, root: Raw, notes: Notes, inside: bool) -> Any:
    if not inside:
        return raw["top"] or "roof deck"
    return _barrier(raw, root, "top", notes)


def _bottom(raw: Raw, root: Raw, notes: Notes, inside: bool) -> Bottom | None:
    base = raw["base"]
    stated = raw["bottom"] or "slab" if not inside else _barrier(raw, root, "bottom", notes)
    if stated is None or base is None:
        return None
    if isinstance(stated, Raw):
        if not stated.ok:
            return None
        kind, level = stated["kind"], stated["level"]
        where = stated.place("level")
    else:
        kind, level, where = stated, None, raw.place("bottom")
    if kind in {"crawl space", "basement"} and level is None:
        notes.wrong(
            where,
            f"at which height is the {kind} floor of mass `{raw['name']}`?",
            got="no level",
            allowed="bottom: {kind: " + kind + ", level: -8 ft}",
            hint="state the height of its floor, in the same datum as base",
        )
        return None
    if kind in {"outside air", "on mass"} and level is not None and level != base:
        notes.wrong(where, f"a bottom `{kind}` lies at the base", hint="remove the level, or change the base")
        return None
    if level is None:
        if kind == "slab" and inside:
            notes.assume("masses", "bottom of a slab at the base (the layer ends at the sill plate)", _COMMON)
        level = base
    if level > base:
        show = Show(notes.system)
        notes.wrong(
            where,
            "the bottom lies above the base",
            got=show.place(level),
            allowed=f"at most the base, {show.place(base)}",
        )
        return None
    if isinstance(stated, Raw) and base - level > _DEEPEST[kind]:
        show = Show(notes.system)
        notes.doubt(
            stated,
            "level",
            f"is this right? the {kind} reaches far below the base",
            got=f"{show.place(base - level)} below it",
            allowed=f"usually at most {show.size(_DEEPEST[kind])}",
            hint="check its unit; it is a height in the datum of base, not a depth",
        )
    return Bottom(kind, level)


def _check_nested(bodies: dict[str, Body], notes: Notes) -> None:
    show = Show(notes.system)
    masses = [body.mass for body in bodies.values() if body.mass]
    shapes = [Polygon(mass.outline) for mass in masses]
    pairs = STRtree(shapes).query(shapes) if shapes else ()
    for i, k in zip(*pairs, strict=True):
        one, other = masses[i], masses[k]
        twins = one.outline == other.outline and _heights(one) == _heights(other)
        if one is other or (twins and one.id > other.id):
            continue
        low, high = _heights(one)
        outer_low, outer_high = _heights(other)
        if low < outer_low - _SLACK or high > outer_high + _SLACK:
            continue
        if shapes[i].difference(shapes[k]).area <= _SLACK:
            notes.wrong(
                one.where,
                f"mass `{one.id}` lies wholly inside mass `{other.id}`",
                got=f"heights {show.place(low)} to {show.place(high)} inside {show.place(outer_low)} to {show.place(outer_high)}, "
                "plan inside plan",
                allowed="masses that stick out of each other",
                hint="remove it; a room needs no mass, a dormer must rise above the wall top",
            )


def _heights(mass: Mass) -> tuple[float, float]:
    return min(mass.base, mass.bottom.level), mass.wall_top + mass.roof.parapet_height
