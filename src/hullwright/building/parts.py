"""Neighbour walls, framing through the layer, things fixed later, ceiling."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import replace

from hullwright.building.bodies import Body
from hullwright.building.elsewhere import point_elsewhere
from hullwright.building.marks import stated
from hullwright.building.model import Ceiling, FixedOver, Neighbour, Through
from hullwright.building.openings import check_ids, find_body
from hullwright.building.spec import Notes, Raw
from hullwright.units import Show

_SLACK = 1e-6  # [m]


def read_neighbours(root: Raw, bodies: Mapping[str, Body], notes: Notes) -> tuple[Neighbour, ...]:
    """Read party, garage and shaft walls, sorted by mass and side."""
    out: list[Neighbour] = []
    for raw in root["neighbours"] or []:
        body = find_body(raw, bodies, notes)
        if body is None or not raw["side"]:
            continue
        since = len(notes.problems)
        side = body.side(raw["side"], raw.place("side"), notes)
        found = [body.storey(text, raw.place("storeys"), notes) for text in raw["storeys"] or []]
        point_elsewhere(raw, body, bodies, notes, since)
        if side is None or None in found or not raw.ok:
            continue
        storeys = tuple(sorted(i for i in found if i is not None))
        out.append(Neighbour(raw["kind"], body.name, side, storeys, raw["rated"], raw.where))
    seen: dict[tuple[str, int, int], Neighbour] = {}
    for item in out:
        for storey in item.storeys or range(len(bodies[item.mass].storeys)):
            first = seen.setdefault((item.mass, item.side, storey), item)
            if first is not item:
                notes.wrong(
                    item.where,
                    "this side is stated as a neighbour wall twice",
                    got=f"{first.kind} on line {first.where.line}, {item.kind} here",
                    allowed="each side and storey once",
                )
                break
    return tuple(sorted(out, key=lambda n: (n.mass, n.side, n.storeys, n.kind)))


def read_through(root: Raw, bodies: Mapping[str, Body], notes: Notes) -> tuple[Through, ...]:
    """Read framing through the layer, one entry for each side, sorted by mass and side."""
    stated = root["eaves"]
    if not isinstance(stated, list):
        return ()
    out = [item for raw in stated for item in _through(raw, bodies, notes)]
    double = [key for key, n in Counter((t.mass, t.side, t.kind) for t in out).items() if n > 1]
    for mass, side, kind in double:
        late = max(
            (t for t in out if (t.mass, t.side, t.kind) == (mass, side, kind)),
            key=lambda t: t.where.line or 0,
        )
        notes.wrong(
            late.where,
            f"{kind} are stated twice for {mass}, {bodies[mass].sides[side]}",
            allowed="each side once",
        )
    return tuple(sorted(out, key=lambda t: (t.mass, t.side, t.kind)))


def _through(raw: Raw, bodies: Mapping[str, Body], notes: Notes) -> list[Through]:
    body = find_body(raw, bodies, notes)
    if ("side" in raw) == ("sides" in raw):
        notes.wrong(
            raw.where, "state either `side` or `sides`", allowed="side: south, or sides: [south, north]"
        )
        return []
    if ("spacing" in raw) == ("count" in raw):
        notes.wrong(raw.where, "state either `spacing` or `count`", allowed="spacing: 24 in, or count: 12")
        return []
    if body is None:
        return []
    texts = raw["sides"] or ([raw["side"]] if raw["side"] else [])
    place = raw.place("sides" if "sides" in raw else "side")
    since = len(notes.problems)
    sides = [body.side(text, place, notes) for text in texts]
    point_elsewhere(raw, body, bodies, notes, since)
    if not raw.ok:
        return []
    width, depth = raw["section"]
    if raw["spacing"] is not None and raw["spacing"] <= width:
        show = Show(notes.system)
        notes.doubt(
            raw,
            "spacing",
            "is this right? the pieces stand closer than they are wide",
            got=f"spacing {show.size(raw['spacing'])}, width {show.size(width)}",
            allowed="usually a spacing larger than the width",
            hint="the section is [width, depth]",
        )
    return [
        Through(raw["kind"], body.name, side, width, depth, raw["spacing"], raw["count"], raw.where)
        for side in sides
        if side is not None
    ]


def read_later(root: Raw, bodies: Mapping[str, Body], notes: Notes) -> tuple[FixedOver, ...]:
    """Read things fixed over the layer later, sorted by mass, side, storey and place."""
    out: list[FixedOver] = []
    for raw in root["later"] or []:
        body = find_body(raw, bodies, notes)
        if body is not None:
            since = len(notes.problems)
            item = _later(raw, body, notes)
            point_elsewhere(raw, body, bodies, notes, since)
            out += [item] if item is not None else []
    out.sort(key=lambda f: (f.mass, f.side, f.storey, f.offset, f.height, f.kind))
    names: Counter[str] = Counter()
    named: list[FixedOver] = []
    for item in out:
        stem = item.id or f"{item.mass}/{bodies[item.mass].sides[item.side]}/{item.kind}"
        names[stem] += 1
        named.append(item if item.id else replace(item, id=f"{stem} {names[stem]}"))
    check_ids(named, notes)
    return tuple(named)


def _later(raw: Raw, body: Body, notes: Notes) -> FixedOver | None:
    side = body.side(raw["side"], raw.place("side"), notes) if raw["side"] else None
    storey = (
        None
        if "storey" in raw and not raw["storey"]
        else body.storey(raw["storey"], raw.place("storey"), notes)
    )
    if side is None or storey is None or not raw.ok:
        return None
    if raw["at"] + raw["width"] > body.length(side) + _SLACK:
        show = Show(notes.system)
        notes.wrong(
            raw.place("width"),
            f"this {raw['kind']} runs past the end of its side",
            got=f"right end at {show.size(raw['at'] + raw['width'])}",
            allowed=f"at most {show.size(body.length(side))}, the length of the side",
        )
        return None
    if raw["kind"] == "ledger" and raw["depth"] > raw["width"]:
        show = Show(notes.system)
        notes.doubt(
            raw,
            "depth",
            "is this right? this ledger is higher than it is long",
            got=f"{show.size(raw['depth'])} high, {show.size(raw['width'])} along the side",
            allowed="usually depth at most width",
            hint="width runs along the side, depth is its own height",
        )
    return FixedOver(
        raw["name"] or "",
        raw["kind"],
        body.name,
        side,
        storey,
        raw["at"],
        raw["width"],
        raw["top"],
        raw["depth"],
        raw.where,
        (stated(raw, 1, notes) or ("",))[0],
    )


def read_ceiling(root: Raw, bodies: Mapping[str, Body], notes: Notes) -> Ceiling:
    """Read what crosses the ceiling; it must be stated where the barrier runs there."""
    raw = root["ceiling"]
    if isinstance(raw, Raw):
        return Ceiling(raw["partition_plates"] or 0.0)
    needs = [
        body.name for body in bodies.values() if body.mass and body.inside and body.mass.top == "ceiling"
    ]
    if needs and "ceiling" not in root:
        notes.wrong(
            root.where,
            f"the barrier of mass `{needs[0]}` runs at the ceiling: how long are the partition top plates under it?",
            got="no key `ceiling`",
            allowed="ceiling: {partition_plates: 120 ft}",
            hint="add up the length of the partitions that meet that ceiling; 0 where there are none",
        )
    return Ceiling(0.0)
