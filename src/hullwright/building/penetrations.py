"""Penetrations: what passes the layer, placed one by one."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

from shapely.geometry import Point as PlanPoint
from shapely.geometry import Polygon

from hullwright.building.bodies import Body
from hullwright.building.defaults import RIGID, STAGE
from hullwright.building.elsewhere import point_elsewhere, top_of_wall
from hullwright.building.marks import stated as marked
from hullwright.building.model import Opening, Penetration, Point
from hullwright.building.openings import check_ids, find_body
from hullwright.building.roofs import roof_plane
from hullwright.building.seen import Sight, Stretch
from hullwright.building.sides import find_side
from hullwright.building.spec import Notes, Raw
from hullwright.building.spread import in_plan, on_side
from hullwright.evidence import ESTIMATE, Evidence, Mark
from hullwright.units import Show

_COMMON: Final = Evidence(Mark.PRACTICE)
_SLACK: Final = 1e-6  # [m]
_WALL_HEIGHT: Final = 0.3048  # [m] above the floor, where a row states a count only
_ROOF_HEIGHT: Final = 0.9144  # [m] up the slope
_OUTSIDE: Final = 0.01  # [m]
Face = Literal["wall", "roof", "bottom", "ceiling"]
_Walls = defaultdict[tuple[str, int, int | None], list[Opening]]


@dataclass(frozen=True, slots=True)
class _Row:
    """A row on its way: its penetration, and count and height where its places are to be spread."""

    item: Penetration
    raw: Raw
    count: int
    height: float

    @property
    def key(self) -> tuple[Any, ...]:
        """Order that does not depend on the order in the file."""
        item = self.item
        return (
            item.id,
            item.kind,
            item.width,
            item.depth,
            item.stage,
            item.rigid,
            item.clearance,
            self.count,
            item.places,
        )


@dataclass(frozen=True, slots=True)
class _Room:
    """What takes room on a face: other masses and openings."""

    sight: Sight
    walls: _Walls


def read_penetrations(
    root: Raw, bodies: Mapping[str, Body], sight: Sight, openings: Sequence[Opening], notes: Notes
) -> tuple[Penetration, ...]:
    """Read all penetrations, sorted by mass, face, side, storey, kind and size."""
    rows: list[_Row] = []
    for raw in root["penetrations"] or []:
        body = find_body(raw, bodies, notes)
        if body is not None:
            since = len(notes.problems)
            row = _row(raw, body, notes)
            point_elsewhere(raw, body, bodies, notes, since)
            rows += [row] if row is not None else []
    rows.sort(key=lambda row: row.key)
    groups: defaultdict[tuple[Any, ...], list[_Row]] = defaultdict(list)
    for row in rows:
        item = row.item
        height = row.height if row.count else None
        groups[item.mass, item.face, item.side, item.storey, height].append(row)
    walls: _Walls = defaultdict(list)
    for opening in openings:
        walls[opening.mass, opening.side, opening.storey].append(opening)
    placed: list[Penetration] = []
    for group in groups.values():
        placed += _spread(group, bodies, _Room(sight, walls), notes)
    _check_in_openings(placed, bodies, openings, notes)
    return tuple(_named(placed, bodies, notes))


def _row(raw: Raw, body: Body, notes: Notes) -> _Row | None:
    face, side = _face(raw, body, notes)
    storey = _storey(raw, face, body, notes)
    size = _size(raw, notes)
    stated = _check_keys(raw, notes)
    placeless = side is None and face is not None and not _in_plan(face, body)
    placeless = placeless or (face == "wall" and storey is None)
    if face is None or size is None or placeless or not stated or not raw.ok:
        return None
    spots = [(x, y) for x, y in raw["at"] or []]
    order = tuple(sorted(range(len(spots)), key=spots.__getitem__)) or tuple(range(raw["count"] or 0))
    places = tuple(spots[i] for i in order) if spots else ()
    marks = marked(raw, len(order), notes)
    marks = tuple(marks[i] for i in order) if marks else ()
    rigid, stage, clearance = _rigid(raw, notes), _stage(raw, notes), raw["clearance"] or 0.0
    name, kind = raw["name"] or "", raw["kind"]
    item = Penetration(
        name,
        kind,
        body.name,
        face,
        side,
        storey,
        *size,
        places,
        rigid,
        stage,
        clearance,
        raw.where,
        marks,
        order,
    )
    fits = [_place_fits(item, place, body, raw, notes) for place in places]
    if not all(fits):
        return None
    return _Row(item, raw, raw["count"] or 0, 0.0 if places else _height(raw, face, body, notes))


def _check_keys(raw: Raw, notes: Notes) -> bool:
    """Check which keys go together."""
    before = len(notes.problems)
    if raw["kind"] in {"flue", "chimney"} and "clearance" not in raw:
        notes.wrong(
            raw.where,
            f"a {raw['kind']} needs the key `clearance`",
            got="no clearance",
            allowed="clearance: the least distance of combustible material",
            hint="take it from the listing of the flue or from local code; nothing combustible comes nearer",
        )
    counted = "count" in raw
    if counted == ("at" in raw):
        notes.wrong(
            raw.where,
            "state either `at` or `count`" + (", not both" if counted else ""),
            allowed="at: [[x, y], ...] or count: 3",
        )
    elif "height" in raw and not counted:
        notes.wrong(
            raw.place("height"),
            "`height` goes with `count` only",
            hint="the height of a place is the second number of `at`",
        )
    return len(notes.problems) == before


def _face(raw: Raw, body: Body, notes: Notes) -> tuple[Face | None, int | None]:
    text = raw["through"]
    if text is None:
        return None, None
    word = " ".join(text.lower().split())
    if word in {"bottom", "ceiling"}:
        return _level_face("bottom" if word == "bottom" else "ceiling", raw, body, notes), None
    if word == "roof" and _in_plan("roof", body):
        return "roof", None
    if not word.startswith("roof"):
        return "wall", body.side(text, raw.place("through"), notes)
    return "roof", _plane(word, raw, body, notes)


def _level_face(face: Face, raw: Raw, body: Body, notes: Notes) -> Face | None:
    if face == "ceiling" and body.mass and body.mass.top != "ceiling":
        notes.wrong(
            raw.place("through"),
            f"mass `{body.name}` has no barrier at the ceiling",
            got="ceiling",
            allowed="a roof plane, such as `roof south`",
            hint="say which roof plane, or set the barrier's top to ceiling",
        )
        return None
    return face


def _plane(word: str, raw: Raw, body: Body, notes: Notes) -> int | None:
    name = word.removeprefix("roof").strip()
    if not body.sides or body.roof is None:
        return None
    planes = [i for i in range(len(body.sides)) if roof_plane(body, i)]
    if body.mass and body.mass.top == "ceiling":
        notes.wrong(
            raw.place("through"),
            f"the barrier of mass `{body.name}` runs at the ceiling, not at the roof",
            got=word,
            allowed="ceiling",
            hint="state `through: ceiling`: the hole that matters is there",
        )
        return None
    side = find_side(name, body.sides, body.numbers) if name else (planes[0] if len(planes) == 1 else None)
    if side in planes:
        return side
    notes.wrong(
        raw.place("through"),
        f"mass `{body.name}` has no such roof plane",
        got=word,
        allowed=", ".join(f"roof {body.sides[i]}" for i in planes) or "roof (it is flat)",
        hint="name the side that the roof plane falls towards",
    )
    return None


def _storey(raw: Raw, face: Face | None, body: Body, notes: Notes) -> int | None:
    if face == "wall":
        if "storey" in raw and raw["storey"] is None:
            return None
        return body.storey(raw["storey"], raw.place("storey"), notes)
    if "storey" in raw and face is not None:
        notes.wrong(
            raw.place("storey"), "`storey` goes with a wall only", hint=f"remove it: this passes the {face}"
        )
    return None


def _size(raw: Raw, notes: Notes) -> tuple[float, float] | None:
    if ("size" in raw) == ("diameter" in raw):
        both = "size" in raw
        notes.wrong(
            raw.where,
            "state either `diameter` or `size`" + (", not both" if both else ""),
            allowed="diameter: 2 in, or size: [4 in, 10 in]",
        )
        return None
    if raw["diameter"] is not None:
        return raw["diameter"], 0.0
    return (raw["size"][0], raw["size"][1]) if raw["size"] else None


def _rigid(raw: Raw, notes: Notes) -> bool:
    if raw["rigid"] is not None:
        return bool(raw["rigid"])
    rigid = RIGID.get(raw["kind"], True)
    notes.assume("penetrations", f"{raw['kind']} {'rigid' if rigid else 'moving'}", _COMMON)
    return rigid


def _stage(raw: Raw, notes: Notes) -> Any:
    if raw["stage"]:
        return raw["stage"]
    stage = STAGE.get(raw["kind"], "services")
    notes.assume("penetrations", f"{raw['kind']} at stage {stage}", _COMMON)
    return stage


def _in_plan(face: Face, body: Body) -> bool:
    """Whether places on this face are plan places: bottom, ceiling, flat roof."""
    return face in {"bottom", "ceiling"} or (
        face == "roof" and body.roof is not None and body.roof.form == "flat"
    )


def _height(raw: Raw, face: Face, body: Body, notes: Notes) -> float:
    if _in_plan(face, body):
        return 0.0
    if raw["height"] is not None:
        return float(raw["height"])
    if face == "wall":
        notes.assume("penetrations", "counted rows on walls 1 ft (305 mm) above the floor", ESTIMATE)
        return _WALL_HEIGHT
    notes.assume("penetrations", "counted rows on roofs 3 ft (914 mm) up the slope", ESTIMATE)
    return _ROOF_HEIGHT


def _place_fits(item: Penetration, place: Point, body: Body, raw: Raw, notes: Notes) -> bool:
    show = Show(notes.system)
    if _in_plan(item.face, body):
        if Polygon(body.outline).buffer(_SLACK).contains(PlanPoint(place)):
            return True
        allowed = f"a plan place inside mass `{body.name}`"
    else:
        length = body.length(item.side or 0)
        room = sum(s.height for s in body.storeys[item.storey or 0 :]) if _plain(item, body) else float("inf")
        if (
            0.0 <= place[0] <= length + _SLACK
            and (item.face == "wall" or place[1] >= 0.0)
            and place[1] <= room + _SLACK
        ):
            return True
        allowed = f"from 0 to {show.size(length)} along the side" + (
            f", up to {show.size(room)} above the floor" if room < float("inf") else ""
        )
    notes.wrong(
        raw.place("at"),
        f"this place of a {item.kind} lies outside its face",
        got=f"[{show.size(place[0])}, {show.size(place[1])}]",
        allowed=allowed,
    )
    return False


def _plain(item: Penetration, body: Body) -> bool:
    """Whether the wall ends at the wall top: no gable or shed rises above it."""
    return item.face == "wall" and math.isfinite(top_of_wall(body, item.side or 0, 0))


def _spread(group: list[_Row], bodies: Mapping[str, Body], room: _Room, notes: Notes) -> list[Penetration]:
    """Spread counted rows of one face and height over its free part, evenly and in a fixed order."""
    if not group[0].count:
        return [row.item for row in group]
    body = bodies[group[0].item.mass]
    if not body.outline:
        return []
    first, count = group[0].item, sum(row.count for row in group)
    half = max(max(row.item.width, row.item.depth) for row in group) / 2
    if _in_plan(first.face, body):
        spots = in_plan(body, _outside(first.face, body), count, room.sight)
    else:
        near = room.walls[first.mass, first.side or 0, first.storey]
        stretches = _stretches(first, group[0].height, half, body, room.sight)
        spots = on_side(stretches, group[0].height, half=half, count=count, openings=near)
    if spots is None:
        notes.wrong(
            group[-1].raw.place("count"),
            "there is no free place for this row: openings or other masses are there",
            allowed="a height at which part of the face is seen and left between the openings",
            hint="state `height`, or the places by `at`; check mass and side",
        )
        return []
    out: list[Penetration] = []
    start = 0
    for row in group:
        out.append(replace(row.item, places=tuple(spots[start : start + row.count])))
        start += row.count
    return out


def _outside(face: Face, body: Body) -> float:
    """Give a height just outside a level face [m]."""
    if body.mass is None:
        return 0.0
    return body.mass.bottom.level - _OUTSIDE if face == "bottom" else body.mass.wall_top + _OUTSIDE


def _stretches(first: Penetration, height: float, half: float, body: Body, sight: Sight) -> list[Stretch]:
    """Give the parts of the side that can be seen, from its left end [m]."""
    side = first.side or 0
    if body.mass is None:
        return [(0.0, body.length(side))]
    if first.face == "roof":
        return sight.on_slope(body, side, height - half, height + half)
    middle = body.mass.floor(first.storey or 0) + height
    return sight.on_wall(body, side, middle - half, middle + half)


def _check_in_openings(
    rows: Sequence[Penetration], bodies: Mapping[str, Body], openings: Sequence[Opening], notes: Notes
) -> None:
    walls: defaultdict[tuple[str, int | None], list[Opening]] = defaultdict(list)
    for opening in openings:
        if opening.storey is not None:
            walls[opening.mass, opening.side].append(opening)
    for row in rows:
        if row.face != "wall":
            continue
        floor = _floor(bodies[row.mass], row.storey)
        for x, y in row.places:
            for opening in walls[row.mass, row.side]:
                low = _floor(bodies[row.mass], opening.storey) + opening.sill - floor
                inside = (
                    opening.offset < x < opening.offset + opening.width and low < y < low + opening.height
                )
                if inside:
                    _in_opening(row, opening, (x, y), notes)


def _floor(body: Body, storey: int | None) -> float:
    return sum(s.height for s in body.storeys[: storey or 0])


def _in_opening(row: Penetration, opening: Opening, place: Point, notes: Notes) -> None:
    show = Show(notes.system)
    notes.wrong(
        row.where,
        f"this {row.kind} stands in the opening `{opening.id}`",
        got=f"[{show.size(place[0])}, {show.size(place[1])}]",
        allowed="a place beside, below or above it",
        hint=f"the opening runs from {show.size(opening.offset)} to {show.size(opening.offset + opening.width)}",
    )


def _named(rows: list[Penetration], bodies: Mapping[str, Body], notes: Notes) -> list[Penetration]:
    def order(row: Penetration) -> tuple[Any, ...]:
        return (
            row.mass,
            row.face,
            row.side or 0,
            row.storey or 0,
            row.kind,
            row.width,
            row.depth,
            row.places,
            row.stage,
            row.id,
        )

    numbers: defaultdict[str, int] = defaultdict(int)
    out: list[Penetration] = []
    for row in sorted(rows, key=order):
        if row.id:
            out.append(row)
            continue
        stem = f"{row.mass}/{_place_name(row, bodies[row.mass])}/{row.kind}"
        numbers[stem] += 1
        out.append(replace(row, id=f"{stem} {numbers[stem]}"))
    check_ids(out, notes)
    return out


def _place_name(row: Penetration, body: Body) -> str:
    if row.face in {"bottom", "ceiling"}:
        return row.face
    side = body.sides[row.side or 0]
    if row.face == "roof":
        return "roof" if row.side is None else f"roof {side}"
    return f"{side}/{body.storeys[row.storey or 0].name}"
