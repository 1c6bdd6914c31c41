"""The answer object of a fan test, by the keys that other programs read."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from hullwright.fantest.areas import leakage_class
from hullwright.fantest.direction import Direction
from hullwright.fantest.raw import Building, ZeroFlow
from hullwright.fantest.reduce import to_reference
from hullwright.fantest.scales import (
    PRESSURES,
    Scale,
    area_scales,
    flow_scales,
    nl_scale,
    nl_scale_119,
    us_scales,
)
from hullwright.fantest.terms import Terms

if TYPE_CHECKING:
    from hullwright.fantest.analysis import TestResult
    from hullwright.fantest.limits import Against

VERSION = 1


def answer_json(result: TestResult, against: Sequence[Against] = ()) -> dict[str, Any]:
    """Give the answer object.

    Parameters
    ----------
    result : TestResult
        The test.
    against : sequence of Against
        Answers to limits.

    Returns
    -------
    dict
        Fixed keys are plain numbers; ``intervals`` beside them has the same names with ``value``, ``low``, ``high``,
        ``level`` of the total, ``intervals_of_fit`` the scatter of the fit alone, as the standards print it.
    """
    from hullwright.fantest.analysis import caution_list  # noqa: PLC0415 - that module reads this one

    building = result.raw.building
    envelope = area_scales(building.envelope_m2, building.envelope_accuracy)
    floor = area_scales(building.floor_m2, building.floor_accuracy)
    return {
        "schema": {"name": "fantest", "version": VERSION},
        "house": result.raw.house,
        "date": result.raw.date,
        "stage": result.raw.stage,
        "standard": result.standard.to_json() | {"procedure": result.raw.procedure.value},
        "preparation": result.raw.preparation,
        "level": result.level,
        "directions": [_direction(result, direction) for direction in result.directions],
        "mean": _mean(result),
        "per_envelope": _per_area(result, envelope, building.envelope_m2, building.envelope_basis),
        "per_floor": _per_area(result, floor, building.floor_m2, ""),
        **_nl(result, building),
        "flags": [flag.to_json() for flag in result.flags],
        "valid": not result.void,
        "against": [one.to_json() for one in against],
        "accuracy": {
            "flow_share": result.accuracy.flow_share,
            "pressure_share": result.accuracy.pressure_share,
            "pressure_pa": result.accuracy.pressure_pa,
            "wind_share": result.accuracy.wind_share,
        },
        "cautions": caution_list(),
        "raw": result.raw.to_json(),
    }


def _values(
    result: TestResult, scales: Mapping[str, Scale | None], direction: Direction | None
) -> dict[str, float | None]:
    return {
        key: result.spread(scale, direction=direction).value if scale else None
        for key, scale in scales.items()
    }


def _intervals(
    result: TestResult, scales: Mapping[str, Scale | None], direction: Direction | None, *, fit_only: bool
) -> dict[str, Any]:
    return {
        key: result.spread(scale, direction=direction, fit_only=fit_only).to_json()
        for key, scale in scales.items()
        if scale
    }


def _terms(terms: Mapping[float, Terms]) -> dict[str, dict[str, float]]:
    return {f"{pressure:g}": term.to_json() for pressure, term in terms.items()}


def _band(value: float, low: float, high: float, level: float) -> dict[str, float]:
    return {"value": value, "low": low, "high": high, "level": level}


def _fit_bands(direction: Direction) -> dict[str, Any]:
    out: dict[str, Any] = {}
    n_half, c_half = direction.n_half(), direction.c_half()
    if n_half is not None:
        out["n"] = _band(direction.n, direction.n - n_half, direction.n + n_half, direction.level)
    if c_half is not None:
        spread = math.exp(c_half)
        for key, value in (
            ("c_m3_h_pan", direction.c_m3_h_pan),
            ("cl_m3_h_pan", direction.cl_m3_h_pan),
        ):
            out[key] = _band(value, value / spread, value * spread, direction.level)
    return out


def _zero(zero: ZeroFlow | None) -> dict[str, Any] | None:
    if zero is None:
        return None
    return {
        "mean_pa": zero.mean,
        "mean_positive_pa": zero.positive,
        "mean_negative_pa": zero.negative,
        "readings": 0 if zero.mean_only else len(zero.readings_pa),
    }


def _direction(result: TestResult, direction: Direction) -> dict[str, Any]:
    scales = flow_scales(result.raw.building)
    bands = _fit_bands(direction)
    air = direction.reduced
    whole = direction.without_exclusion
    return {
        "sign": direction.sense.sign,
        "name": direction.sense.value,
        "stations": int(direction.used.sum()),
        "bias_pa": float(air.bias_pa[0]),
        "zero_before": _zero(direction.run.before),
        "zero_after": _zero(direction.run.after),
        "n": direction.n,
        "c_m3_h_pan": direction.c_m3_h_pan,
        "cl_m3_h_pan": direction.cl_m3_h_pan,
        "cl_iso_m3_h_pan": direction.cl_iso_m3_h_pan,
        "co_e779_m3_h_pan": direction.co_e779_m3_h_pan,
        "r2": direction.r2,
        **_values(result, scales, direction),
        "us": _values(result, us_scales(), direction),
        "intervals": bands | _intervals(result, scales, direction, fit_only=False),
        "intervals_of_fit": bands | _intervals(result, scales, direction, fit_only=True),
        "terms": _terms(direction.terms),
        "scatter_known": direction.scatter_known,
        "air": {
            "inside_kg_m3": float(air.rho_inside[0]),
            "outside_kg_m3": float(air.rho_outside[0]),
            "leak_kg_m3": float(air.rho_leak[0]),
            "leak_viscosity_pa_s": float(air.mu_leak[0]),
            "envelope_over_device_flow": float(air.factor[0]),
        },
        "others": _others(direction),
        "points": _points(direction),
        "excluded": [
            {"station": number, "reason": station.exclude}
            for number, station in enumerate(direction.run.stations, start=1)
            if station.exclude is not None
        ],
        "all_stations": None
        if whole is None
        else {
            "stations": int(whole.used.sum()),
            "n": whole.n,
            "c_m3_h_pan": whole.c_m3_h_pan,
            "cl_m3_h_pan": whole.cl_m3_h_pan,
            "r2": whole.r2,
            **_values(result, scales, whole),
        },
    }


def _others(direction: Direction) -> list[dict[str, Any]]:
    out: list[dict[str, Any]] = []
    for other in direction.others:
        by_n = float(
            to_reference(direction.reduced, direction.line.slope * 0 + other.n, viscous=direction.viscous)[0]
        )
        out.append(
            {
                "label": other.label,
                "n": other.n,
                "c_m3_h_pan": other.c_m3_h_pan,
                "cl_m3_h_pan": other.c_m3_h_pan * by_n,
                "q50_m3_h": other.at(50.0) * by_n,
                "q75_m3_h": other.at(75.0) * by_n,
            }
        )
    return out


def _points(direction: Direction) -> list[dict[str, Any]]:
    out: list[dict[str, Any]] = []
    for index, station in enumerate(direction.run.stations):
        dp, flow = float(direction.dp_pa[index]), float(direction.flow_m3_h[index])
        fitted = direction.c_m3_h_pan * dp**direction.n if dp > 0 else None
        out.append(
            {
                "station": index + 1,
                "measured_pa": station.pressure_pa,
                "dp_pa": dp,
                "flow_m3_h": flow,
                "off_the_line": flow / fitted - 1.0 if fitted else None,
                "counts": bool(direction.used[index]),
            }
        )
    return out


def _mean(result: TestResult) -> dict[str, Any]:
    """Results averaged; C, n and r2 of one direction stand, of two they are never averaged."""
    scales = flow_scales(result.raw.building)
    only = result.directions[0] if len(result.directions) == 1 else None
    bands = _fit_bands(only) if only else {}
    return {
        "sign": None if only is None else only.sense.sign,
        "directions": len(result.directions),
        "stations": sum(int(direction.used.sum()) for direction in result.directions),
        "bias_pa": None if only is None else float(only.reduced.bias_pa[0]),
        "n": None if only is None else only.n,
        "c_m3_h_pan": None if only is None else only.c_m3_h_pan,
        "cl_m3_h_pan": None if only is None else only.cl_m3_h_pan,
        "r2": None if only is None else only.r2,
        **_values(result, scales, None),
        "us": _values(result, us_scales(), None),
        "intervals": bands | _intervals(result, scales, None, fit_only=False),
        "intervals_of_fit": bands | _intervals(result, scales, None, fit_only=True),
        "terms": _terms({pressure: result.terms(pressure) for pressure in PRESSURES}),
    }


def _per_area(
    result: TestResult, scales: dict[str, Scale] | None, area_m2: float | None, basis: str
) -> dict[str, Any] | None:
    if scales is None:
        return None
    return {
        "area_m2": area_m2,
        "basis": basis,
        **_values(result, scales, None),
        "intervals": _intervals(result, scales, None, fit_only=False),
    }


def _nl(result: TestResult, building: Building) -> dict[str, Any]:
    scale, old = nl_scale(building), nl_scale_119(building)
    floor = area_scales(building.floor_m2, building.floor_accuracy)
    sla = result.spread(floor["ela_cm2_m2"]) if floor else None
    nl = result.spread(scale) if scale else None
    nl_old = result.spread(old) if old else None
    return {
        "nl": nl.value if nl else None,
        "nl_interval": nl.to_json() if nl else None,
        "nl_ashrae_119": nl_old.value if nl_old else None,
        "leakage_class": leakage_class(nl_old.value) if nl_old else None,
        "sla_cm2_m2": sla.value if sla else None,
        "sla_interval": sla.to_json() if sla else None,
    }
