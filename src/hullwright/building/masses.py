"""Masses: from what is stated to outlines with named sides, storeys, roofs, tops and bottoms."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from shapely import STRtree
from shapely.geometry import Polygon

from hullwright.building.model import Bottom, Mass, Point, Roof, Storey
from hullwright.building.sides import bearing, find_side, normalised, outline_fault, side_names
from hullwright.building.spec import Notes, Raw, nearest
from hullwright.errors import Where
from hullwright.evidence import Evidence, Mark

_COMMON: Final = Evidence(Mark.PRACTICE)
_SLACK: Final = 1e-6  # [m], [m2]
GROUP_WORDS: Final = ("wall", "roof", "floor", "ceiling", "foundation")


@dataclass(frozen=True, slots=True)
class Body:
    """What other parts of the file need to know of a mass: it may be there although the mass has another fault.

    Parameters
    ----------
    outline, sides : tuple
        As in :class:`Mass`; empty where the outline is wrong.
    numbers : tuple of int
        Number of each side as listed.
    storeys : tuple of Storey
        Empty where they are wrong.
    roof : Roof or None
    mass : Mass or None
        The whole, where nothing is wrong.
    """

    name: str
    outline: tuple[Point, ...]
    sides: tuple[str, ...]
    numbers: tuple[int, ...]
    storeys: tuple[Storey, ...]
    inside: bool
    roof: Roof | None
    mass: Mass | None

    def side(self, text: str, where: Where, notes: Notes) -> int | None:
        """Index of a side, None where it is unknown (noted) or the outline is wrong."""
        if not self.sides:
            return None
        found = find_side(text, self.sides, self.numbers)
        if found is None:
            notes.wrong(
                where,
                f"mass `{self.name}` has no side `{text}`",
                got=text,
                allowed=", ".join(self.sides) + f", or side 1 to side {len(self.sides)}",
                hint=nearest(text, self.sides),
            )
        return found

    def length(self, side: int) -> float:
        """Length of a side [m]."""
        return math.dist(self.outline[side], self.outline[(side + 1) % len(self.outline)])

    def storey(self, text: str | None, where: Where, notes: Notes) -> int | None:
        """Index of a storey by name or number; left out it is the only one."""
        if not self.storeys:
            return None
        names = [storey.name for storey in self.storeys]
        if text is None:
            if len(names) == 1:
                return 0
            notes.wrong(
                where,
                f"mass `{self.name}` has {len(names)} storeys: say which",
                allowed=f"storey: {', '.join(names)}",
                hint="add the key `storey`",
            )
            return None
        if text in names:
            return names.index(text)
        if text.isdigit() and 1 <= int(text) <= len(names):
            return int(text) - 1
        notes.wrong(
            where,
            f"mass `{self.name}` has no storey `{text}`",
            got=text,
            allowed=", ".join(names),
            hint=nearest(text, names),
        )
        return None


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
    roof = _roof(raw, body, notes)
    body = replace(body, roof=roof)
    top = _top(raw, root, notes, inside)
    bottom = _bottom(raw, root, notes, inside)
    if not (raw.ok and outline and storeys and roof and top and bottom):
        return body
    ground = raw["ground"] if "ground" in raw else root["ground"]
    mass = Mass(
        raw["name"], outline, sides, raw["base"], storeys, roof, inside, top, bottom, ground or 0.0, raw.where
    )
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
    fault = outline_fault(corners)
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


def _roof(raw: Raw, body: Body, notes: Notes) -> Roof | None:
    stated = raw["roof"]
    if stated == "flat":
        return Roof("flat")
    if not isinstance(stated, Raw) or not stated["form"]:
        return None
    form = stated["form"]
    wanted = {"flat": (), "shed": ("pitch", "falls"), "gable": ("pitch", "ridge"), "hip": ("pitch",)}[form]
    sound = stated.ok
    for key in wanted:
        if key not in stated:
            sound = False
            notes.wrong(
                stated.where,
                f"a {form} roof needs the key `{key}`",
                allowed={
                    "pitch": "6:12 or 30 deg",
                    "falls": "south, 30 deg or a side",
                    "ridge": "east-west, north-south or a side",
                }[key],
            )
    for key in ("pitch", "ridge", "falls", "parapet"):
        fits = key in wanted or (key == "ridge" and form == "hip") or (key == "parapet" and form == "flat")
        if key in stated and not fits:
            sound = False
            notes.wrong(
                stated.place(key),
                f"a {form} roof takes no `{key}`",
                hint=f"remove it, or change the form from {form}",
            )
    if not sound or not body.outline:
        return None
    return _shaped(form, stated, body, notes)


def _shaped(form: Any, stated: Raw, body: Body, notes: Notes) -> Roof | None:
    if form == "flat":
        parapet = stated["parapet"]
        size = (parapet["height"], parapet["thickness"]) if parapet else (0.0, 0.0)
        return Roof("flat", 0.0, 0.0, *size)
    if form != "shed" and not _convex(body.outline):
        notes.wrong(
            stated.place("form"),
            f"a {form} roof needs a plan without inside corners",
            got=f"{len(body.outline)} corners, at least one an inside corner",
            allowed="a rectangle or another plan without inside corners",
            hint="make each wing a mass of its own with its own roof: they are joined by themselves",
        )
        return None
    if form == "shed":
        direction = _direction(stated, "falls", body, notes)
        return None if direction is None else Roof("shed", stated["pitch"], direction)
    if form == "hip" and "ridge" not in stated:
        return Roof("hip", stated["pitch"], _longest(body))
    direction = _direction(stated, "ridge", body, notes)
    if direction is None or not _along_a_side(direction, stated, body, notes):
        return None
    return Roof(form, stated["pitch"], direction % 180.0)


def _direction(stated: Raw, key: str, body: Body, notes: Notes) -> float | None:
    value = stated[key]
    if not isinstance(value, str):
        return None if value is None else float(value)
    side = body.side(value, stated.place(key), notes)
    if side is None:
        return None
    count = len(body.outline)
    outward = bearing(body.outline[side], body.outline[(side + 1) % count])
    return outward if key == "falls" else (outward + 90.0) % 360.0


def _along_a_side(direction: float, stated: Raw, body: Body, notes: Notes) -> bool:
    count = len(body.outline)
    runs = [(bearing(body.outline[i], body.outline[(i + 1) % count]) + 90.0) % 180.0 for i in range(count)]
    off = min(abs((run - direction + 90.0) % 180.0 - 90.0) for run in runs)
    if off <= 0.5:
        return True
    notes.wrong(
        stated.place("ridge"),
        "the ridge runs along no side of the mass",
        got=f"{direction:g} deg",
        allowed=", ".join(f"{run:.4g} deg" for run in sorted({round(run, 2) for run in runs})),
        hint="name the side it runs along: `ridge: south`",
    )
    return False


def _convex(outline: Sequence[Point]) -> bool:
    polygon = Polygon(outline)
    return bool(polygon.convex_hull.area - polygon.area <= 1e-6 * polygon.area)


def _longest(body: Body) -> float:
    longest = max(range(len(body.outline)), key=lambda i: (round(body.length(i), 6), -i))
    end = body.outline[(longest + 1) % len(body.outline)]
    return (bearing(body.outline[longest], end) + 90.0) % 180.0


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
        notes.wrong(
            where,
            "the bottom lies above the base",
            got=f"{level:g} m",
            allowed=f"at most the base, {base:g} m",
        )
        return None
    return Bottom(kind, level)


def _check_nested(bodies: dict[str, Body], notes: Notes) -> None:
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
                got=f"heights {low:g} to {high:g} m inside {outer_low:g} to {outer_high:g} m, plan inside plan",
                allowed="masses that stick out of each other",
                hint="remove it; a room needs no mass, a dormer must rise above the wall top",
            )


def _heights(mass: Mass) -> tuple[float, float]:
    return min(mass.base, mass.bottom.level), mass.wall_top + mass.roof.parapet_height
