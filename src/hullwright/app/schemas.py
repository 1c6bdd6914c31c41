"""JSON Schema (draft 2020-12) of every answer. A test holds each command's real output against it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from hullwright.errors import InputError, Problem

Schema = dict[str, Any]

NUMBER: Final[Schema] = {"type": "number"}
COUNT: Final[Schema] = {"type": "number", "minimum": 0}
SHARE: Final[Schema] = {"type": "number", "minimum": 0, "maximum": 1}
TEXT: Final[Schema] = {"type": "string"}
YES: Final[Schema] = {"type": "boolean"}
WHOLE: Final[Schema] = {"type": "integer"}
PLACE: Final[Schema] = {
    "type": "array",
    "items": NUMBER,
    "minItems": 3,
    "maxItems": 3,
    "description": "x, y, z [m]",
}


def thing(needed: Schema, also: Schema | None = None) -> Schema:
    """Object with keys that must be there and keys that may; new keys may be added later."""
    return {"type": "object", "required": sorted(needed), "properties": needed | (also or {})}


def many(item: Schema) -> Schema:
    """Array of one kind of thing."""
    return {"type": "array", "items": item}


def maybe(item: Schema) -> Schema:
    """Something or null."""
    return {"anyOf": [item, {"type": "null"}]}


EVIDENCE: Final = thing({"mark": TEXT, "source": TEXT})
FIGURE: Final = thing({"value": NUMBER, "unit": TEXT, "evidence": EVIDENCE}, {"gsd": NUMBER})
CAUTION: Final = thing({"text": TEXT, "source": TEXT}, {"mark": TEXT})
SPREAD: Final = thing({"value": NUMBER, "low": NUMBER, "high": NUMBER, "level": SHARE})
PERCENTILES: Final = thing({"p10": NUMBER, "p50": NUMBER, "p90": NUMBER})
SIZE: Final[Schema] = {"anyOf": [{"required": ["length_m"]}, {"required": ["count"]}]}


def aim_shape(also: Schema | None = None) -> Schema:
    """Least, aim and greatest of a film, dry and wet, with the readings that prove it."""
    instead = thing({"readings": maybe(WHOLE), "spread_um": maybe(NUMBER), "step_um": maybe(NUMBER)})
    return thing(
        {
            "least_um": COUNT, "aim_um": COUNT, "greatest_um": maybe(COUNT), "least_wet_um": COUNT, "aim_wet_um": COUNT,
            "greatest_wet_um": maybe(COUNT), "readings": WHOLE, "spread_um": COUNT, "step_um": COUNT, "pooled": COUNT, "needed_um": COUNT,
            "chance": SHARE, "rule": {"enum": ["readings", "sheet", "greatest"]}, "provable": YES, "evidence": EVIDENCE,
            "instead": maybe(instead),
        },
        also,
    )  # fmt: skip


def film_shape() -> Schema:
    """Aim, readings and extra film of a product, with their money."""
    other = thing({"aim_um": COUNT, "money": NUMBER})
    money = {
        "product": TEXT,
        "area_m2": COUNT,
        "added_money": COUNT,
        "steadier": other,
        "pooled_spread": other,
    }
    shape = aim_shape(money)
    return shape | {"required": sorted([*shape["required"], *money])}


def answer(name: str, needed: Schema, also: Schema | None = None) -> Schema:
    """Schema of one command's answer."""
    head = {"schema": thing({"name": {"const": name}, "version": WHOLE}), "cautions": many(CAUTION)}
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": f"hullwright {name}"} | thing(
        head | needed, also
    )


def _error() -> Schema:
    where = thing({"file": maybe(TEXT), "line": maybe(WHOLE), "column": maybe(WHOLE), "key": maybe(TEXT)})
    problem = thing({"where": where, "got": TEXT, "allowed": TEXT, "hint": TEXT}, {"message": TEXT})
    return answer("error", {"error": thing({"kind": TEXT, "message": TEXT, "problems": many(problem)})})


_LENGTHS: Schema = {"type": "object", "additionalProperties": COUNT}


def _check() -> Schema:
    face = thing(
        {
            "id": TEXT, "kind": TEXT, "area_m2": COUNT, "net_area_m2": COUNT, "perimeter_m": COUNT,
            "azimuth_deg": maybe(NUMBER), "tilt_deg": NUMBER,
        },
        {"substrate": TEXT, "rated": YES, "openings": WHOLE, "penetrations": WHOLE},
    )  # fmt: skip
    end = thing(
        {"where": thing({"face": TEXT, "from": PLACE, "to": PLACE}), "length_m": COUNT}, {"note": TEXT}
    )
    return answer(
        "check",
        {
            "closed": YES,
            "volume_m3": COUNT,
            "area_m2": COUNT,
            "joint_share": SHARE,
            "open_ends": many(end),
            "faces": many(face),
        },
        {
            "name": TEXT, "inner_volume_m3": FIGURE, "floor_lines": _LENGTHS, "assumed": many(TEXT), "remarks": many(TEXT), "open_holes": maybe(WHOLE), "holes": many({"type": "object"}),
        },
    )  # fmt: skip


def _joints() -> Schema:
    joint = thing(
        {"id": TEXT, "kind": TEXT, "faces": many(TEXT), "points": many(PLACE), "run": TEXT},
        {"length_m": COUNT, "count": COUNT, "stage": TEXT, "substrates": many(TEXT), "gap_mm": COUNT, "backed": YES, "upslope_m": COUNT,
         "height_m": NUMBER, "mass": TEXT, "rated": YES, "floor_line": TEXT, "name": TEXT, "mark": TEXT, "part": WHOLE, "offset_m": NUMBER, "was": TEXT},
    ) | SIZE  # fmt: skip
    kinds: Schema = {"type": "object", "additionalProperties": thing({"count": COUNT, "length_m": COUNT})}
    return answer(
        "joints",
        {"joints": many(joint), "by_kind": kinds},
        {
            "name": TEXT,
            "joint_share": SHARE,
            "floor_lines": _LENGTHS,
            "panels": many({"type": "object"}),
            "assumed": many(TEXT),
        },
    )


def _marks() -> Schema:
    row = thing(
        {"mark": TEXT, "stated": YES, "what": TEXT, "name": TEXT, "body": TEXT, "where": TEXT, "across_m": NUMBER, "up_m": NUMBER, "line": maybe(WHOLE)}
    )  # fmt: skip
    return answer("marks", {"marks": many(row), "written": WHOLE}, {"name": TEXT, "file": TEXT})


def _plan() -> Schema:
    barred = thing({"option": TEXT, "rule": TEXT})
    run = (
        thing(
            {
                "id": TEXT,
                "kind": TEXT,
                "face": TEXT,
                "method": TEXT,
                "product": TEXT,
                "money": NUMBER,
                "hours": COUNT,
                "why": TEXT,
                "barred": many(barred),
            },
            {"length_m": COUNT, "count": COUNT},
        )
        | SIZE
    )
    return answer(
        "plan",
        {
            "spent": COUNT, "objective": NUMBER, "bound": NUMBER, "gap": COUNT, "proved": YES, "runs": many(run),
            "packs": many(thing({"product": TEXT, "count": WHOLE})), "ach50": PERCENTILES, "water_l": PERCENTILES,
            "unverified_meetings": COUNT, "currency": TEXT,
        },
        {"notes": many(TEXT), "films": many(film_shape()), "own_products": many(_own())},
    )  # fmt: skip


def _own() -> Schema:
    bar = thing(
        {
            "rule": TEXT,
            "text": TEXT,
            "state": TEXT,
            "kinds": many(TEXT),
            "faces": many(TEXT),
            "length_m": COUNT,
            "count": COUNT,
        }
    )
    return thing(
        {
            "product": TEXT,
            "name": TEXT,
            "used": YES,
            "packs": COUNT,
            "runs_allowed": WHOLE,
            "barred": many(bar),
        }
    )


def _order() -> Schema:
    line = thing(
        {
            "product": TEXT,
            "packs": WHOLE,
            "pack_size": NUMBER,
            "p50": NUMBER,
            "p90": NUMBER,
            "left_over": NUMBER,
            "money": COUNT,
        }
    )
    return answer(
        "order",
        {"lines": many(line), "hours": COUNT, "currency": TEXT},
        {"notes": many(TEXT), "films": many(film_shape()), "stand_ins": many(TEXT)},
    )


def _curve() -> Schema:
    point = thing(
        {
            "budget": COUNT,
            "spent": COUNT,
            "objective": NUMBER,
            "bound": NUMBER,
            "ach50": NUMBER,
            "water_l": COUNT,
        }
    )
    following = maybe(thing({"run": TEXT, "from": TEXT, "to": TEXT, "money": NUMBER, "gain": NUMBER}))
    return answer(
        "curve", {"points": many(point), "next": following, "currency": TEXT}, {"notes": many(TEXT)}
    )


def _figures() -> Schema:
    one = thing(
        {"name": TEXT, "value": maybe(NUMBER), "unit": TEXT, "stated": YES, "mark": TEXT, "source": TEXT}
    )
    return answer("figures", {"figures": many(one)})


def _film() -> Schema:
    return answer(
        "film",
        {
            "wet_um": COUNT,
            "dry_um": COUNT,
            "coverage_m2_l": COUNT,
            "length_per_pack_m": COUNT,
            "gap_share": SHARE,
            "bead_mm": COUNT,
        },
        {"packs": COUNT},
    )


def _new() -> Schema:
    return answer("new", {"file": maybe(TEXT), "text": TEXT})


def _fantest() -> Schema:
    results = dict.fromkeys(
        (
            "n",
            "c_m3_h_pan",
            "cl_m3_h_pan",
            "r2",
            "q4_m3_h",
            "q10_m3_h",
            "q50_m3_h",
            "q75_m3_h",
            "ach50",
            "ela_cm2",
            "eqla_cm2",
        ),
        NUMBER,
    )
    mean_keys = {
        key: maybe(NUMBER)
        for key in ("q4_m3_h", "q10_m3_h", "q50_m3_h", "q75_m3_h", "ach50", "ela_cm2", "eqla_cm2")
    }
    direction = thing(
        {"sign": {}, "stations": {}, "bias_pa": NUMBER} | {key: maybe(NUMBER) for key in results}
    )
    flag = thing({"text": TEXT, "clause": TEXT, "mark": TEXT})
    against = thing(
        {
            "limit": TEXT,
            "answer": {"enum": ["met", "not met", "not decided by this test"]},
            "margin": maybe(NUMBER),
        }
    )
    return answer(
        "fantest",
        {"directions": many(direction), "mean": thing(mean_keys), "per_envelope": {"type": ["object", "null"]}, "per_floor": {"type": ["object", "null"]},
         "nl": {}, "flags": many(flag), "against": many(against)},
        {"from_house": many(TEXT)},
    )  # fmt: skip


def _worth() -> Schema:
    infiltration = thing({"basic_m3_h": maybe(NUMBER), "enhanced_m3_h": maybe(NUMBER), "ach": maybe(NUMBER)})
    return answer(
        "worth",
        {
            "infiltration": infiltration,
            "ventilation_need_m3_h": maybe(NUMBER),
            "energy_kwh": maybe(NUMBER),
            "money": maybe(NUMBER),
        },
        {
            "inner_volume_m3": FIGURE,
            "floor_area_m2": FIGURE,
            "height_m": COUNT,
            "curve": many(thing({"ach50": NUMBER, "energy_kwh": NUMBER, "fans_m3_h": NUMBER})),
        },
    )


def _leak(name: str, extra: Schema) -> Schema:
    joint = thing(
        {"id": TEXT, "ela_cm2": SPREAD, "share": SHARE, "chance_first": SHARE, "spread_factor": NUMBER}
    )
    return answer(name, {"joints": many(joint), "ach50": {}} | extra)


def _hunt() -> Schema:
    stop = thing(
        {
            "stop": {},
            "joints": many(TEXT),
            "minutes": COUNT,
            "expected_cm2": COUNT,
            "method": TEXT,
            "bring": {},
        }
    )
    return _leak("hunt", {"walk": many(stop)})


def _building() -> Schema:
    from hullwright.building import schema  # noqa: PLC0415 - heavy, only when asked

    return schema()


def _price_list() -> Schema:
    priced = thing({"product": TEXT, "line": WHOLE, "as": TEXT, "money": COUNT, "by": TEXT})
    left = thing({"line": WHOLE, "as": TEXT, "why": TEXT, "near": TEXT})
    return answer(
        "price-list",
        {
            "file": TEXT,
            "currency": TEXT,
            "priced": many(priced),
            "unmatched": many(left),
            "without_price_on_list": many(TEXT),
            "written": YES,
        },
    )


MAKERS: Final[dict[str, Callable[[], Schema]]] = {
    "building": _building,
    "error": _error,
    "check": _check,
    "joints": _joints,
    "marks": _marks,
    "plan": _plan,
    "order": _order,
    "curve": _curve,
    "price-list": _price_list,
    "figures": _figures,
    "film": _film,
    "new": _new,
    "fantest": _fantest,
    "worth": _worth,
    "leaks": lambda: _leak("leaks", {}),
    "hunt": _hunt,
}


def makers() -> dict[str, Callable[[], Schema]]:
    """Give every maker by name: the house's answers and those of its log."""
    from hullwright.app.log_schemas import LOG_MAKERS  # noqa: PLC0415 - it is built of the parts above

    return MAKERS | LOG_MAKERS


def names() -> tuple[str, ...]:
    """Give the names of all schemas."""
    return (*makers(), "schema")


def schema(name: str) -> Schema:
    """Give one JSON Schema.

    Parameters
    ----------
    name : str
        ``building`` or a command's name.

    Raises
    ------
    InputError
        Where there is no such name.
    """
    if name == "schema":
        return answer("schema", {"names": many(TEXT)})
    if name not in makers():
        raise InputError(
            "there is no schema of that name",
            [Problem("unknown schema", got=name, allowed=", ".join(names()))],
        )
    return makers()[name]()
