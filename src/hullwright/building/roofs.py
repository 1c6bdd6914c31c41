"""Roofs: what is stated, checked against the plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from shapely.geometry import Polygon

from hullwright.building.bodies import Body
from hullwright.building.model import Point, Roof, RoofForm
from hullwright.building.sides import bearing
from hullwright.building.spec import Notes, Raw

_WANTED: Final[dict[RoofForm, tuple[str, ...]]] = {
    "flat": (),
    "shed": ("pitch", "falls"),
    "gable": ("pitch", "ridge"),
    "hip": ("pitch",),
    "other": (),
}


def read_roof(raw: Raw, body: Body, notes: Notes, *, free: bool) -> Roof | None:
    """Read the roof of a mass; None where something is wrong.

    Where the barrier runs at the ceiling (`free`) the roof is no part of the hull: any form over any plan, and slope and
    direction need not be stated.
    """
    stated = raw["roof"]
    if stated == "flat":
        return Roof("flat")
    if not isinstance(stated, Raw) or not stated["form"]:
        return None
    form = stated["form"]
    if form == "other" and not free:
        notes.wrong(
            stated.place("form"),
            "the layer runs on this roof: its form must be known",
            got=form,
            allowed="flat, shed, gable or hip; other where the barrier's top is the ceiling",
            hint="make it of several masses, each with one of these roofs",
        )
        return None
    wanted = _WANTED[form]
    sound = stated.ok
    for key in wanted:
        if key not in stated and not free:
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
        fits = fits or (form == "other" and key == "pitch")
        if key in stated and not fits:
            sound = False
            notes.wrong(
                stated.place(key),
                f"a {form} roof takes no `{key}`",
                hint=f"remove it, or change the form from {form}",
            )
    if not sound or not body.outline:
        return None
    return _over_ceiling(form, stated, body, notes) if free else _shaped(form, stated, body, notes)


def _over_ceiling(form: RoofForm, stated: Raw, body: Body, notes: Notes) -> Roof | None:
    """Take a roof that is no part of the hull as stated."""
    key = "falls" if form == "shed" else "ridge"
    direction = _direction(stated, key, body, notes) if key in stated else 0.0
    if direction is None:
        return None
    return Roof(form, stated["pitch"] or 0.0, direction if form == "shed" else direction % 180.0)


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


def roof_plane(body: Body, side: int) -> bool:
    """Whether a sloped plane of the roof falls towards a side."""
    roof = body.roof
    if roof is None or roof.form in {"flat", "other"}:
        return False
    if roof.form == "hip":
        return True
    outward = bearing(body.outline[side], body.outline[(side + 1) % len(body.outline)])
    falls = (roof.ridge,) if roof.form == "shed" else (roof.ridge + 90.0, roof.ridge - 90.0)
    return any(abs((outward - fall + 180.0) % 360.0 - 180.0) < 1.0 for fall in falls)
