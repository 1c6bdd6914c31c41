"""Openings: placed one by one on their sides, named, checked against side and neighbours."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, Final, Protocol

from hullwright.building.bodies import Body
from hullwright.building.elsewhere import missing, point_elsewhere, top_of_wall
from hullwright.building.marks import stated
from hullwright.building.model import Opening
from hullwright.building.roofs import roof_plane
from hullwright.building.seen import Sight, Stretch
from hullwright.building.spec import Notes, Raw, nearest
from hullwright.errors import Where
from hullwright.evidence import STATED, Evidence, Figure, Mark
from hullwright.units import Show

_SLACK: Final = 1e-6  # [m]
_LOWEST_DOOR: Final = 1.2  # [m] estimate: hatches and crawl-space doors go below it
_COMMON: Final = Evidence(Mark.PRACTICE)


def find_body(raw: Raw, bodies: Mapping[str, Body], notes: Notes) -> Body | None:
    """Give the mass that a thing belongs to; left out it is the only one inside the hull."""
    name = raw["mass"]
    if name is None:
        if "mass" in raw:
            return None
        inside = [body for body in bodies.values() if body.inside]
        if len(inside) == 1:
            return inside[0]
        if not inside:
            return None
        notes.wrong(
            raw.where,
            "on which mass is this?",
            got="no key `mass`",
            allowed=", ".join(bodies),
            hint=missing(raw, bodies),
        )
        return None
    if name not in bodies:
        notes.wrong(
            raw.place("mass"),
            f"the house has no mass `{name}`",
            got=name,
            allowed=", ".join(bodies),
            hint=nearest(name, bodies),
        )
        return None
    return bodies[name]


def offsets(raw: Raw, width: float, room: tuple[Sequence[Stretch], str], notes: Notes) -> list[float] | None:
    """Left edges stated, or evenly spaced with equal clear distances in each stretch that can be seen [m].

    `room` is the stretches of the side that can be seen, and the names of the masses that cover others.
    """
    stated = [key for key in ("at", "center", "count") if key in raw]
    if len(stated) != 1:
        notes.wrong(
            raw.where,
            "state either `at`, `center` or `count`" + (", one of them only" if stated else ""),
            got=", ".join(stated) or "none of them",
            allowed="at: 4 ft, at: [4 ft, 12 ft], center: 6 ft, or count: 2",
        )
        return None
    if raw["count"]:
        return _counted(raw, width, *room, notes)
    value: Any = raw[stated[0]]
    if value is None:
        return None
    shift = width / 2 if stated == ["center"] else 0.0
    return [place - shift for place in (value if isinstance(value, list) else [value])]


def _counted(
    raw: Raw, width: float, stretches: Sequence[Stretch], over: str, notes: Notes
) -> list[float] | None:
    count: int = raw["count"]
    if not stretches:
        notes.wrong(
            raw.place("count"),
            f"no part of this side can be seen at this height: {over or 'another mass'} covers it",
            got=f"{count} of them",
            allowed="a side, or a height on it, that no other mass covers",
            hint="check mass, side and storey; what stands on a roof is seen only over that roof",
        )
        return None
    places = even([high - low for low, high in stretches], width, count)
    if places is None:
        show = Show(notes.system)
        parts = ", ".join(f"{show.size(low)} to {show.size(high)}" for low, high in stretches)
        notes.wrong(
            raw.place("count"),
            "so many do not fit side by side on the part of the side that can be seen",
            got=f"{count}, each {show.size(width)} wide" + (f"; {over} covers the rest" if over else ""),
            allowed=f"as many as fit from {parts} (from the left end of the side, seen from outside)",
            hint="lower the count or the width",
        )
        return None
    return [stretches[i][0] + left for i, left in places]


def even(lengths: Sequence[float], width: float, count: int) -> list[tuple[int, float]] | None:
    """Share things of one width among stretches so that the least clear distance stays as large as can be.

    Each goes, one after the other, to the stretch where the clear distances are largest with it in it (the left one of
    equals); in each stretch the clear distances are equal.

    Parameters
    ----------
    lengths : sequence of float
        Of the stretches, from left to right [m].
    width : float
        [m]
    count : int

    Returns
    -------
    list of (stretch, left edge from the stretch's left end) or None
        [m]; None where they do not fit.

    Examples
    --------
    >>> even([12.0, 12.0], 2.0, 2)
    [(0, 5.0), (1, 5.0)]
    >>> even([4.0], 2.0, 3) is None
    True
    """

    def clear(i: int, held: int) -> float:
        return (lengths[i] - held * width) / (held + 1)

    held = [0] * len(lengths)
    for _ in range(count):
        best = max(range(len(lengths)), key=lambda i: (round(clear(i, held[i] + 1), 6), -i))
        if clear(best, held[best] + 1) < -_SLACK:
            return None
        held[best] += 1
    return [(i, clear(i, n) + k * (clear(i, n) + width)) for i, n in enumerate(held) for k in range(n)]


def read_openings(root: Raw, bodies: Mapping[str, Body], sight: Sight, notes: Notes) -> tuple[Opening, ...]:
    """Read all openings, sorted by mass, side, storey and place."""
    rows: list[Opening] = []
    for raw in root["openings"] or []:
        body = find_body(raw, bodies, notes)
        if body is not None:
            since = len(notes.problems)
            rows += _row(raw, body, sight, notes)
            point_elsewhere(raw, body, bodies, notes, since)
    named = _named(rows, bodies, notes)
    _check_overlaps(named, bodies, notes)
    return tuple(named)


def _row(raw: Raw, body: Body, sight: Sight, notes: Notes) -> list[Opening]:
    side = body.side(raw["side"], raw.place("side"), notes) if raw["side"] else None
    roofed = raw["kind"] == "skylight"
    storey = None
    if roofed:
        _check_skylight(raw, body, side, notes)
    else:
        storey = (
            body.storey(raw["storey"], raw.place("storey"), notes)
            if "storey" not in raw or raw["storey"]
            else None
        )
    sill = _sill(raw, notes)
    if side is None or not raw.ok or sill is None or (storey is None and not roofed):
        return []
    width, height = raw["size"]
    _doubt_door(raw, width, height, notes)
    stretches, over = [(0.0, body.length(side))], ""
    if body.mass is not None and raw["count"]:
        bottom = sill if storey is None else sill + body.mass.floor(storey)
        stretches = (sight.on_slope if storey is None else sight.on_wall)(body, side, bottom, bottom + height)
        over = "" if storey is None else ", ".join(sight.covering(body, side, bottom, bottom + height))
    places = offsets(raw, width, (stretches, over), notes)
    if places is None:
        return []
    leakage = Figure(raw["leakage"], "L/(s m2) at 75 Pa", STATED) if raw["leakage"] is not None else None
    first = Opening(
        raw["name"] or "",
        raw["kind"],
        body.name,
        side,
        storey,
        width,
        height,
        sill,
        0.0,
        raw["frame"],
        leakage,
        raw.where,
    )
    marks = stated(raw, len(places), notes) or ("",) * len(places)
    row = [
        replace(first, offset=place, mark=mark, order=order)
        for place, order, mark in sorted(zip(places, range(len(places)), marks, strict=True))
    ]
    return row if _fits(row, raw, body, notes) else []


def _doubt_door(raw: Raw, width: float, height: float, notes: Notes) -> None:
    """Ask about a door that nobody could walk through upright: width and height may be swapped."""
    if raw["kind"] != "door" or height >= _LOWEST_DOOR:
        return
    show = Show(notes.system)
    notes.doubt(
        raw,
        "size",
        "is this right? this door is lower than a person",
        got=f"{show.size(width)} wide, {show.size(height)} high",
        allowed=f"usually {show.size(_LOWEST_DOOR)} high or more",
        hint="size is [width, height]",
    )


def _check_skylight(raw: Raw, body: Body, side: int | None, notes: Notes) -> None:
    if "storey" in raw:
        notes.wrong(
            raw.place("storey"),
            "a skylight has no storey",
            hint="remove `storey`: it is placed up the slope by `sill`",
        )
    roof = body.roof
    if roof is None or side is None or roof_plane(body, side):
        return
    notes.wrong(
        raw.place("side"),
        f"mass `{body.name}` has no roof plane that falls towards {body.sides[side]}",
        got=f"a {roof.form} roof",
        allowed=", ".join(n for i, n in enumerate(body.sides) if roof_plane(body, i))
        or "no side: the roof is flat",
        hint="name the side that the roof plane falls towards",
    )


def _sill(raw: Raw, notes: Notes) -> float | None:
    if "sill" in raw and "head" in raw:
        notes.wrong(raw.place("head"), "state either `sill` or `head`, not both", hint="remove one")
        return None
    if "head" in raw:
        return _below_head(raw, notes)
    if "sill" in raw:
        sill: float | None = raw["sill"]
        return sill
    if raw["kind"] in {"door", "garage door"}:
        notes.assume("openings", "doors stand on the floor", _COMMON)
        return 0.0
    if raw["kind"]:
        notes.wrong(
            raw.where,
            f"how high does this {raw['kind']} sit?",
            got="neither sill nor head",
            allowed="sill: 3 ft, or head: 6 ft 8 in",
            hint="add the height above the storey's floor (skylight: up the slope from the eave)",
        )
    return None


def _below_head(raw: Raw, notes: Notes) -> float | None:
    if raw["head"] is None or not raw["size"]:
        return None
    sill: float = raw["head"] - raw["size"][1]
    if sill >= -_SLACK:
        return max(sill, 0.0) if abs(sill) <= _SLACK else sill
    show = Show(notes.system)
    notes.wrong(
        raw.place("head"),
        "the opening is taller than its head is high",
        got=f"head {show.size(raw['head'])}, height {show.size(raw['size'][1])}",
        allowed="a head at least as high as the opening",
    )
    return None


def _fits(row: list[Opening], raw: Raw, body: Body, notes: Notes) -> bool:
    """Check against the ends of the side and, where no gable can rise above, the wall top."""
    first = row[0]
    length = body.length(first.side)
    show = Show(notes.system)
    name = f"{first.kind} on {body.name}, {body.sides[first.side]}"
    before = len(notes.problems)
    if first.width > length + _SLACK:
        notes.wrong(
            raw.place("size"),
            f"this {name}, is wider than its side",
            got=show.size(first.width),
            allowed=f"at most {show.size(length)}",
        )
        return False
    if row[0].offset < -_SLACK or row[-1].offset + first.width > length + _SLACK:
        notes.wrong(
            raw.place("center" if "center" in raw else "at"),
            f"this {name}, runs past the end of its side",
            got=f"from {show.size(row[0].offset)} to {show.size(row[-1].offset + first.width)}",
            allowed=f"at most {show.size(length)}, the length of the side",
            hint="distances run from the left end of the side, seen from outside, to the left edge of the opening",
        )
    if first.storey is not None:
        room = top_of_wall(body, first.side, first.storey)
        if first.sill + first.height > room + _SLACK:
            notes.wrong(
                raw.place("size"),
                f"this {name}, rises above the wall",
                got=f"head at {show.size(first.sill + first.height)} above the floor",
                allowed=f"at most {show.size(room)}",
                hint="lower the sill or the height, or check the storey",
            )
    return len(notes.problems) == before


def _named(rows: list[Opening], bodies: Mapping[str, Body], notes: Notes) -> list[Opening]:
    rows = sorted(
        rows, key=lambda o: (o.mass, o.side, -1 if o.storey is None else o.storey, o.offset, o.sill, o.kind)
    )
    groups: defaultdict[str, list[int]] = defaultdict(list)
    for i, row in enumerate(rows):
        body = bodies[row.mass]
        place = "roof" if row.storey is None else body.storeys[row.storey].name
        groups[row.id or f"{row.mass}/{body.sides[row.side]}/{place}/{row.kind}"].append(i)
    out = list(rows)
    for name, members in groups.items():
        own = bool(rows[members[0]].id)
        wheres = {rows[i].where for i in members}
        if own and len(wheres) > 1:
            _same_name(name, list(wheres), notes)
        for number, i in enumerate(members, start=1):
            out[i] = replace(rows[i], id=name if own and len(members) == 1 else f"{name} {number}")
    check_ids(out, notes)
    return out


class _Named(Protocol):
    """Anything with an id and a place."""

    @property
    def id(self) -> str: ...
    @property
    def where(self) -> Where: ...


def check_ids(things: Iterable[_Named], notes: Notes) -> None:
    """Check that no two things of a kind go by one name: own names may meet made-up ones."""
    seen: dict[str, Where] = {}
    for thing in things:
        first = seen.setdefault(thing.id, thing.where)
        if first != thing.where:
            _same_name(thing.id, [first, thing.where], notes)


def _same_name(name: str, wheres: list[Where], notes: Notes) -> None:
    places = sorted({where.line or 0 for where in wheres})
    last = max(wheres, key=lambda where: where.line or 0)
    notes.wrong(
        last,
        f"`{name}` is the name of two things",
        got=f"lines {', '.join(map(str, places))}",
        allowed="each name once",
    )


def _check_overlaps(openings: list[Opening], bodies: Mapping[str, Body], notes: Notes) -> None:
    by_side: defaultdict[tuple[str, int, bool], list[Opening]] = defaultdict(list)
    for opening in openings:
        by_side[opening.mass, opening.side, opening.storey is None].append(opening)
    for (mass, _, _), members in by_side.items():
        body = bodies[mass]
        members.sort(key=lambda o: o.offset)
        for i, one in enumerate(members):
            for other in members[i + 1 :]:
                if other.offset >= one.offset + one.width - _SLACK:
                    break
                if _heights_meet(one, other, body):
                    _overlap(one, other, notes)


def _heights_meet(one: Opening, other: Opening, body: Body) -> bool:
    def low(opening: Opening) -> float:
        return opening.sill + sum(s.height for s in body.storeys[: opening.storey or 0])

    return low(one) < low(other) + other.height - _SLACK and low(other) < low(one) + one.height - _SLACK


def _overlap(one: Opening, other: Opening, notes: Notes) -> None:
    late, early = sorted((one, other), key=lambda o: (o.where.line or 0, o.offset), reverse=True)
    show = Show(notes.system)
    notes.wrong(
        late.where,
        f"opening `{late.id}` overlaps `{early.id}`",
        got=f"from {show.size(late.offset)} to {show.size(late.offset + late.width)}, the other from "
        f"{show.size(early.offset)} to {show.size(early.offset + early.width)} (line {early.where.line})",
        allowed="openings beside or above each other",
        hint="distances run from the left end of the side, seen from outside",
    )
