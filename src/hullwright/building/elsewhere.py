"""On which other mass a thing would fit: the hint for a wrong or missing ``mass``."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from hullwright.building.bodies import Body
from hullwright.building.roofs import roof_plane
from hullwright.building.sides import find_side
from hullwright.building.spec import Notes, Raw

_SLACK: Final = 1e-6  # [m]


def could_be(raw: Raw, bodies: Mapping[str, Body]) -> list[str]:
    """Give the masses inside the hull that have side, storey, length and height for a thing as stated, by name."""
    return [name for name, body in bodies.items() if body.inside and _fits(raw, body)]


def point_elsewhere(raw: Raw, body: Body, bodies: Mapping[str, Body], notes: Notes, since: int) -> None:
    """Add to the problems noted since then where the thing would fit, if not on its own mass."""
    if len(notes.problems) == since or "mass" not in raw or _fits(raw, body):
        return
    names = [name for name in could_be(raw, bodies) if name != body.name]
    if not names:
        return
    mine = {raw.where, *raw.places.values()}
    for i in range(since, len(notes.problems)):
        problem = notes.problems[i]
        if problem.where in mine:
            more = f"it fits on {_either(names)}: is `mass: {body.name}` right?"
            notes.problems[i] = problem.hinted(more)


def missing(raw: Raw, bodies: Mapping[str, Body]) -> str:
    """Say what to do where several masses are inside the hull and none is named."""
    names = could_be(raw, bodies)
    fits = f"; as stated it fits on {_either(names)}" if names else ""
    return f"add the key `mass`: several masses are inside the hull{fits}"


def _either(names: list[str]) -> str:
    return " or ".join(f"`{name}`" for name in names)


def _fits(raw: Raw, body: Body) -> bool:
    if not body.sides or not body.storeys or body.roof is None or not raw.ok:
        return False
    sides = _sides(raw, body)
    if sides is None or not _has_storey(raw, body):
        return False
    far, high = _reach(raw)
    return all(far <= body.length(side) + _SLACK and _low_enough(raw, body, side, high) for side in sides)


def _sides(raw: Raw, body: Body) -> list[int] | None:
    """Give the sides that are named, None where one of them is not there."""
    through = raw["through"]
    word = " ".join(through.lower().split()) if isinstance(through, str) else ""
    if word == "bottom":
        return []
    if (
        body.mass is not None
        and (word == "ceiling") != (body.mass.top == "ceiling")
        and word.startswith(("ceiling", "roof"))
    ):
        return None
    if word in {"ceiling", "roof"}:
        return []
    texts = [*(raw["sides"] or []), raw["side"], word.removeprefix("roof").strip()]
    found = [find_side(text, body.sides, body.numbers) for text in texts if text]
    sides = [side for side in found if side is not None]
    sloped = word.startswith("roof") or raw["kind"] == "skylight"
    if len(sides) < len(found) or (sloped and not all(roof_plane(body, side) for side in sides)):
        return None
    return sides


def _has_storey(raw: Raw, body: Body) -> bool:
    names = {storey.name for storey in body.storeys} | {str(i + 1) for i in range(len(body.storeys))}
    stated = raw["storeys"] or [raw["storey"]]
    return all(text is None or text in names for text in stated)


def _reach(raw: Raw) -> tuple[float, float]:
    """Give how far along a side and how high over the storey's floor a thing reaches as stated [m]."""
    size: Any = raw["size"] or (0.0, 0.0)
    at: Any = raw["at"] if "at" in raw else raw["center"]
    if raw["through"] is not None:
        places = at if raw["through"] not in {"bottom", "ceiling"} else None
        return max((x for x, _ in places or ()), default=0.0), max((y for _, y in places or ()), default=0.0)
    width = raw["width"] if raw["width"] is not None else size[0] / (2 if "center" in raw else 1)
    lefts = at if isinstance(at, list) else [at or 0.0]
    wide = max(max(lefts, default=0.0) + width, (raw["count"] or 0) * size[0])
    high = raw["head"] if raw["head"] is not None else (raw["sill"] or 0.0) + size[1]
    return wide, high


def _low_enough(raw: Raw, body: Body, side: int, high: float) -> bool:
    if raw["kind"] == "skylight" or raw["through"] is not None or raw["size"] is None:
        return True
    return high <= top_of_wall(body, side, _storey(raw, body)) + _SLACK


def _storey(raw: Raw, body: Body) -> int:
    text = raw["storey"]
    names = [storey.name for storey in body.storeys]
    return 0 if text is None else names.index(text) if text in names else int(text) - 1


def top_of_wall(body: Body, side: int, storey: int) -> float:
    """Height from a storey's floor to the top of the plain wall [m], inf where a roof of the hull may rise above the side."""
    rest = sum(s.height for s in body.storeys[storey:])
    roof = body.roof
    if body.mass is not None and body.mass.inside and body.mass.top == "ceiling":
        return rest
    if roof is None or (roof.form in {"gable", "shed"} and not roof_plane(body, side)):
        return float("inf")
    return rest + roof.parapet_height
