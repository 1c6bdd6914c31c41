"""The layer itself: sheathing, state of the surfaces, build-up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from hullwright.building import defaults as d
from hullwright.building.bodies import Body
from hullwright.building.keys_work import BUILD_UP, GROUPS, NAILS, SHEATHING
from hullwright.building.masses import GROUP_WORDS
from hullwright.building.model import BuildUp, FaceGroup, Fasteners, Sheathing, Surface
from hullwright.building.nodes import Node
from hullwright.building.sides import find_side
from hullwright.building.spec import Notes, Raw, Table, nearest
from hullwright.errors import Where
from hullwright.evidence import STATED, Evidence, Figure, Mark
from hullwright.units import Show

_MEASURED: Final = Evidence(Mark.MEASURED)


def section(root: Raw, key: str, table: Table, notes: Notes, path: str = "") -> Raw:
    """Give a section, all defaults where it is absent."""
    stated = root[key]
    if isinstance(stated, Raw):
        return stated
    quiet = notes if key not in root else Notes(notes.file)
    raw: Raw = table.read(Node("map", 0, 0), quiet, path or key)
    return raw


def _used(bodies: Mapping[str, Body]) -> set[str]:
    """Groups of faces that this house has: the defaults of the others are nobody's business."""
    masses = [body.mass for body in bodies.values() if body.mass and body.inside]
    used = {"wall", "roof"}
    if any(mass.bottom.kind in {"outside air", "on mass"} for mass in masses):
        used.add("floor")
    if any(mass.top == "ceiling" for mass in masses):
        used.add("ceiling")
    return used


def read_sheathing(root: Raw, bodies: Mapping[str, Body], notes: Notes) -> dict[FaceGroup, Sheathing]:
    """Read the sheathing of wall, roof, floor and ceiling."""
    used = _used(bodies)
    house = section(root, "sheathing", Table("the sheathing", {}), notes)
    out: dict[FaceGroup, Sheathing] = {}
    for group in GROUPS:
        told = notes if group in used else Notes(notes.file, notes.bare, notes.system, notes.problems)
        raw = section(house, group, SHEATHING[group], told, f"sheathing.{group}")
        out[group] = _sheathing(raw, group, told)
    return out


def _sheathing(raw: Raw, group: str, notes: Notes) -> Sheathing:
    nails = section(raw, "nails", NAILS, notes, f"sheathing.{group}.nails")
    values = raw.values
    width, length = values.get("panel_width", 1.0), values.get("panel_length", 1.0)
    if width > length:
        show = Show(notes.system)
        notes.wrong(
            raw.place("panel_width"),
            "the panel is wider than long",
            got=f"{show.size(width)} by {show.size(length)}",
            allowed="panel_width at most panel_length",
            hint="swap the two; say how it lies by `lay: level` or `lay: upright`",
        )
    _doubt_sheathing(raw, nails, notes)
    fasteners = Fasteners(nails["edge"] or 0.0, nails["field"] or 0.0, _overdriven(nails, notes))
    return Sheathing(
        values.get("substrate", ""),
        width,
        length,
        values.get("lay", "level"),
        values.get("gap", 0.0),
        values.get("stagger", 0.0),
        values.get("framing", 0.0),
        values.get("blocking", False),
        values.get("least_offcut", 0.0),
        fasteners,
    )


def _doubt_sheathing(raw: Raw, nails: Raw, notes: Notes) -> None:
    """Ask about sizes of panels, framing and nails that go badly together."""
    show, length = Show(notes.system), raw["panel_length"]
    for key, words in (
        ("stagger", "stagger"),
        ("framing", "framing spacing"),
        ("least_offcut", "narrowest strip"),
    ):
        value = raw[key]
        if key in raw and value is not None and length and value > length:
            notes.doubt(
                raw,
                key,
                f"is this right? the {words} is larger than a panel is long",
                got=show.size(value),
                allowed=f"usually at most {show.size(length)}, the length of a panel",
                hint="check its unit",
            )
    edge, field = nails["edge"], nails["field"]
    if "edge" in nails and edge is not None and field is not None and edge > field:
        notes.doubt(
            nails,
            "edge",
            "is this right? nails stand wider along the panel edges than in the field",
            got=f"{show.size(edge)} along edges, {show.size(field)} in the field",
            allowed="usually edge at most field",
            hint="swap the two",
        )


def _overdriven(nails: Raw, notes: Notes) -> Figure:
    value = nails["overdriven"]
    if isinstance(value, Raw):
        if value.ok and ("found" in value) == ("expected" in value):
            notes.wrong(
                value.where, "state either `found` or `expected`", allowed="{found: 12 %} or {expected: 20 %}"
            )
        if "found" in value:
            return Figure(value["found"] or 0.0, "", _MEASURED)
        return Figure(value["expected"] or 0.0, "", STATED)
    evidence = STATED if "overdriven" in nails else d.OVERDRIVEN.evidence
    return Figure(value or 0.0, "", evidence)


def read_surfaces(root: Raw, bodies: Mapping[str, Body], notes: Notes) -> dict[str, tuple[Surface, ...]]:
    """Read the state of the surfaces; keys come out as group, mass or mass/side."""
    stated: Mapping[str, tuple[Any, Where]] = root["surfaces"] or {}
    out: dict[str, tuple[Surface, ...]] = {}
    for text, (value, where) in stated.items():
        key = _surface_key(text, where, bodies, notes)
        states: list[Surface] = value if isinstance(value, list) else [value]
        if "clean" in states and len(set(states)) > 1:
            notes.wrong(
                where,
                "a clean surface has no other state",
                got=", ".join(states),
                allowed="clean alone, or the others",
            )
        if key in out:
            notes.wrong(where, f"`{key}` is stated twice", got=text, allowed="each once")
        if key is not None:
            out[key] = tuple(sorted(set(states)))
    if not all(word in out for word in (*_used(bodies), "foundation")):
        notes.assume("surfaces", "clean where not stated", d.SURFACE.evidence)
    return dict(sorted(out.items()))


def _surface_key(text: str, where: Where, bodies: Mapping[str, Body], notes: Notes) -> str | None:
    if text in GROUP_WORDS or text in bodies:
        return text
    mass, slash, side = text.partition("/")
    if slash and mass in bodies:
        body = bodies[mass]
        if not body.sides:
            return None
        found = find_side(side, body.sides, body.numbers)
        if found is not None:
            return f"{mass}/{body.sides[found]}"
        allowed = ", ".join(f"{mass}/{name}" for name in body.sides)
    else:
        allowed = ", ".join([*GROUP_WORDS, *bodies, "mass/side such as main/south"])
    notes.wrong(
        where, "no such faces", got=text, allowed=allowed, hint=nearest(text, [*GROUP_WORDS, *bodies])
    )
    return None


def read_build_up(root: Raw, notes: Notes) -> BuildUp:
    """Read thicknesses and inner volume."""
    raw = section(root, "build_up", BUILD_UP, notes)
    return BuildUp(
        wall=raw["wall"] or 0.0,
        roof=raw["roof"] or 0.0,
        floor=raw["floor"] or 0.0,
        ceiling=raw["ceiling"] or 0.0,
        inner_volume=raw["inner_volume"],
        floor_area=raw["floor_area"],
        inside_vapour_class=raw["inside_vapour_class"],
        sure=raw.sure,
        places=raw.places,
    )
