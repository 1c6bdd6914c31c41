"""Site, crew, aim, money, own figures."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from hullwright.building import defaults as d
from hullwright.building.keys_work import AIM, CREW, METHODS, METHODS_BEFORE, PHOTOS, SITE
from hullwright.building.layer import section
from hullwright.building.model import Aim, Crew, Fixed, Site
from hullwright.building.spec import Notes, Raw, nearest, take_default
from hullwright.errors import Where
from hullwright.evidence import STATED, Evidence, Figure, Mark


def read_site(root: Raw, notes: Notes) -> Site:
    """Read bare days, rain and north."""
    raw = section(root, "site", SITE, notes)
    evidence = STATED if "monthly_rain" in raw else d.MONTHLY_RAIN.evidence
    rain = Figure((raw["monthly_rain"] or 0.0) * 1000.0, "mm a month", evidence)
    return Site(raw["bare_days"] or 0.0, rain, (raw["north"] or 0.0) % 360.0)


def read_crew(root: Raw, notes: Notes) -> Crew:
    """Read who works at what rate."""
    raw = section(root, "crew", CREW, notes)
    _doubt_set_ups(raw, notes)
    return Crew(
        raw["people"] or 1,
        raw["rate"] or 0.0,
        raw["hours"] or math.inf,
        raw["day"] or 0.0,
        tuple(sorted(raw["practised"] or [])),
    )


def read_photos(root: Raw, notes: Notes) -> dict[str, int]:
    """Read how many photos are asked for of what; what is not stated is left out."""
    raw = section(root, "photos", PHOTOS, notes)
    return {name: int(raw[name]) for name in PHOTOS.keys if raw[name] is not None}


def _doubt_set_ups(raw: Raw, notes: Notes) -> None:
    """Ask about a set-up that takes the whole crew more than a day."""
    stated: Mapping[str, tuple[Any, Where]] = raw["set_up"] or {}
    day = (raw["people"] or 1) * (raw["day"] or 24.0)
    for method, (one, _) in stated.items():
        if isinstance(one, Raw) and one["hours"] is not None and one["hours"] > day:
            notes.doubt(
                one,
                "hours",
                f"is this right? to set up {method} on one face takes the crew more than a day",
                got=f"{one['hours']:g} h",
                allowed=f"usually less than {day:g} h, a day of the crew",
                hint="hours on each face and visit, not of the whole job",
            )


def read_aim(root: Raw, notes: Notes) -> Aim:
    """Read what the plan is made for."""
    raw = section(root, "aim", AIM, notes)
    weights = raw["weights"]
    air = (
        weights["air"] if isinstance(weights, Raw) else take_default(_weight("air"), notes, "aim.weights.air")
    )
    water = (
        weights["water"]
        if isinstance(weights, Raw)
        else take_default(_weight("water"), notes, "aim.weights.water")
    )
    if air == 0 and water == 0:
        notes.wrong(
            raw.place("weights"),
            "both weights are 0: the plan would aim at nothing",
            allowed="one of them above 0",
        )
    water_limit = raw["water_limit"]
    worst = raw["worst_piece"]
    return Aim(
        budget=math.inf if raw["budget"] is None else raw["budget"],
        target_ach50=raw["target"],
        confidence=raw["confidence"] or 0.0,
        air_weight=air or 0.0,
        water_weight=water or 0.0,
        air_target=raw["air_target"] or 0.0,
        water_limit=None if water_limit is None else water_limit * 1000.0,
        most_products=raw["most_products"],
        most_unknown_meetings=raw["most_unknown_meetings"],
        worst_piece=math.inf if worst is None else worst * 1e4,
        fixed=tuple(_fixed(item) for item in raw["fixed"] or [] if item.ok),
    )


def _weight(name: str) -> Any:
    weights: Any = AIM.keys["weights"].kind
    return weights.keys[name]


def _fixed(raw: Raw) -> Fixed:
    text = {key: raw[key] or "" for key in ("product", "face", "kind", "run", "primer", "filler")}
    return Fixed(raw["method"], **text, where=raw.where)


def plain_map(root: Raw, key: str) -> dict[str, Any]:
    """Give a table of the user's own words without its places, sorted."""
    stated: Mapping[str, tuple[Any, Where]] = root[key] or {}
    return {name: value for name, (value, _) in sorted(stated.items())}


def read_figures(root: Raw, notes: Notes) -> dict[str, Figure]:
    """Read own figures: a bare number is stated by the user; a table says unit, source, and whether it was measured.

    The crew's set-ups are figures too: ``setup_money.tape``, ``setup_hours.tape``.
    """
    figures = {name: _figure(value) for name, value in plain_map(root, "figures").items()}
    crew = root["crew"]
    stated: Mapping[str, tuple[Any, Where]] = (crew["set_up"] if isinstance(crew, Raw) else None) or {}
    for text, (raw, where) in stated.items():
        method = METHODS_BEFORE.get(text, text)
        if method not in METHODS:
            allowed = ", ".join(METHODS)
            notes.wrong(where, "no such method", got=method, allowed=allowed, hint=nearest(method, METHODS))
            continue
        for key, unit in (("money", "money"), ("hours", "h")):
            name = f"setup_{key}.{method}"
            if raw[key] is None:
                continue
            if name in figures:
                notes.wrong(
                    where,
                    f"the set-up of {method} is stated twice",
                    got=f"also figures.{name}",
                    hint="remove one",
                )
            figures[name] = Figure(raw[key], unit, STATED)
    _film_figures(crew, figures, notes)
    return dict(sorted(figures.items()))


def _film_figures(crew: Any, figures: dict[str, Figure], notes: Notes) -> None:
    """The crew's films are figures too: ``film.spread.any``; and so is what an hour of reading costs."""
    if not isinstance(crew, Raw):
        return
    if crew["rate"] is not None and "rate" in crew:
        figures.setdefault("film.hour", Figure(crew["rate"], "money/h", STATED))
    stated: Mapping[str, tuple[Any, Where]] = crew["film"] or {}
    for product, (raw, where) in stated.items():
        if raw["pooled"] is not None and raw["spread"] is None:
            notes.wrong(
                where,
                "a pooled spread without the spread",
                got=f"pooled {raw['pooled']}",
                allowed="spread and pooled together, as `film lots` prints them",
            )
        for key, unit in (("spread", "m"), ("gauge", "m"), ("readings", ""), ("pooled", "")):
            if raw[key] is not None:
                figures[f"film.{key}.{product}"] = Figure(float(raw[key]), unit, STATED)


def _figure(value: Any) -> Figure:
    if not isinstance(value, Raw):
        return Figure(float(value), "", STATED)
    mark = Mark.MEASURED if value["measured"] else Mark.STATED
    return Figure(
        value["value"] or 0.0, value["unit"] or "", Evidence(mark, value["source"] or ""), value["spread"]
    )


def read_other_leakage(root: Raw) -> dict[str, Figure]:
    """Read leakage that no sealing changes [m3/h at 50 Pa]."""
    return {
        name: Figure(value, "m3/h at 50 Pa", STATED)
        for name, value in plain_map(root, "other_leakage").items()
    }
