"""A question at which a search failed a check, whole and by itself, so that it can be asked again elsewhere.

It holds figures only: no name of a house, a face, a product or a person.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from hullwright.choice.instance import Coat, Goal, Instance, Ints, Limits
from hullwright.choice.solver.effort import Effort

_WHOLE: Final = ("first", "method", "face", "coat", "meet", "material")
_MARKS: Final = ("clash", "unknown")
_FRACTIONS: Final = (
    "air",
    "water",
    "labour",
    "hours",
    "use",
    "price",
    "stock",
    "owned",
    "setup_money",
    "setup_hours",
)


@dataclass(frozen=True, slots=True)
class Case:
    """A question, and what went wrong with it.

    Parameters
    ----------
    why : str
        The check that failed.
    instance, limits, goal : Instance, Limits, Goal
    effort : Effort
    start : ndarray (R,) or None
        Picks of the plan that was at hand.
    """

    why: str
    instance: Instance
    limits: Limits
    goal: Goal
    effort: Effort
    start: Ints | None = None

    def to_json(self) -> dict[str, Any]:
        """Case as JSON: every number to its last digit, no limit as null."""
        one, limits, goal, effort = self.instance, self.limits, self.goal, self.effort
        columns = {name: _told(getattr(one, name)) for name in (*_WHOLE, *_FRACTIONS, *_MARKS)}
        columns["coats"] = [
            {"face": c.face, "labour": c.labour, "hours": c.hours, "use": _told(c.use)} for c in one.coats
        ]
        # the numbers of columns that may have no rows
        shape = {"products": len(one.price), "methods": int(one.setup_money.shape[1])}
        return {
            "schema": {"name": "solver case", "version": 1},
            "why": self.why,
            "instance": shape | columns,
            "limits": {
                "budget": _end(limits.budget),
                "hours": _end(limits.hours),
                "products": limits.products,
                "unknown_meetings": limits.unknown_meetings,
                "air": _end(limits.air),
                "water": _end(limits.water),
            },
            "goal": {"air_weight": goal.air_weight, "water_weight": goal.water_weight, "money": goal.money},
            "effort": {
                "nodes": effort.nodes,
                "beams": effort.beams,
                "mip_nodes": effort.mip_nodes,
                "gap": effort.gap,
                "seconds": _end(effort.seconds),
            },
            "start": None if self.start is None else self.start.tolist(),
        }


Keep = Callable[[Case], object]
"""Told each case; the search goes on by other means."""


def keep_none(_case: Case) -> None:
    """Keep nothing."""


def case_of(told: Mapping[str, Any]) -> Case:
    """Read a case that was written by :meth:`Case.to_json`.

    Parameters
    ----------
    told : mapping

    Returns
    -------
    Case
        The same question to the last digit.
    """
    columns, limits, effort = told["instance"], told["limits"], told["effort"]
    width = {
        "use": columns["products"],
        "setup_money": columns["methods"],
        "setup_hours": columns["methods"],
        "meet": 2,
        "clash": len(columns["clash"]),
        "unknown": len(columns["unknown"]),
    }
    kinds: tuple[tuple[Any, tuple[str, ...]], ...] = (
        (np.int64, _WHOLE),
        (np.float64, _FRACTIONS),
        (np.bool_, _MARKS),
    )
    arrays: dict[str, Any] = {
        name: _read(columns[name], kind, width.get(name)) for kind, names in kinds for name in names
    }
    coats = tuple(
        Coat(c["face"], c["labour"], c["hours"], _read(c["use"], np.float64, None)) for c in columns["coats"]
    )
    return Case(
        told["why"],
        Instance(**arrays, coats=coats),
        Limits(
            budget=_no_end(limits["budget"]),
            hours=_no_end(limits["hours"]),
            products=limits["products"],
            unknown_meetings=limits["unknown_meetings"],
            air=_no_end(limits["air"]),
            water=_no_end(limits["water"]),
        ),
        Goal(**told["goal"]),
        Effort(
            nodes=effort["nodes"],
            beams=effort["beams"],
            mip_nodes=effort["mip_nodes"],
            gap=effort["gap"],
            seconds=_no_end(effort["seconds"]),
        ),
        None if told["start"] is None else np.array(told["start"], dtype=np.int64),
    )


def _told(column: Any) -> Any:
    """Column as lists; what has no end as null."""
    if column.ndim == 1 and column.dtype == np.float64:
        return [_end(value) for value in column.tolist()]
    return column.tolist()


def _read(column: Any, kind: Any, width: int | None) -> Any:
    """Lists as a column, or as a table of so many columns."""
    if width is None:
        return np.array([math.inf if value is None else value for value in column], dtype=kind)
    return np.array(column, dtype=kind).reshape(len(column), width)


def _end(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _no_end(value: float | None) -> float:
    return math.inf if value is None else float(value)
