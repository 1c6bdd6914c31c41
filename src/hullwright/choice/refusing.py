"""Why there is no plan, in the units of the reader."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from hullwright.building.model import Building
from hullwright.choice.solver.infeasible import ShortError, worded
from hullwright.errors import InfeasibleError, Problem, Where
from hullwright.units import GALLON, INCH


def told(error: InfeasibleError, building: Building) -> list[Problem]:
    """Give the problems of the solver, its figures in the units of the reader."""
    if not isinstance(error, ShortError) or not error.shortfalls:
        return list(error.problems)
    return [worded(short, amounts(building, abs(short.reached - short.limit))) for short in error.shortfalls]


def amounts(building: Building, apart: float = math.inf) -> Callable[[str, float], str]:
    """Say amounts of money, hours, leakage [cm2] and water [L] as the reader does.

    Parameters
    ----------
    building : Building
    apart : float
        How far the amounts that are compared lie apart: so many digits are said that it shows.
    """
    us = building.system == "us"
    units = {
        "money": (1.0, f" {building.currency}", 0),
        "hours": (1.0, " h", 1),
        "air": (1e-4 / INCH**2, " in2", 1) if us else (1.0, " cm2", 1),
        "water": (1e-3 / GALLON, " gal", 1) if us else (1.0, " L", 1),
    }

    def say(name: str, value: float) -> str:
        if name not in units:
            return f"{value:,.0f}"
        factor, word, digits = units[name]
        if 0 < apart < math.inf:
            digits = min(max(digits, 1 - math.floor(math.log10(apart * factor))), 6)
        up = math.ceil(value * factor * 10**digits - 1e-6) / 10**digits  # what is said to be enough is enough
        return f"{up:,.{digits}f}{word}"

    return say


@dataclass(frozen=True, slots=True)
class Reached:
    """What a budget and a target that do not go together reach.

    Parameters
    ----------
    target, confidence : float
        As asked [1/h], [-].
    budget : float
        As stated.
    best : float or None
        ACH50 that the tightest plan for the budget keeps with that confidence; None where the budget buys no plan.
    needed : float or None
        Money of the cheapest plan that keeps the target; None where none does.
    """

    target: float
    confidence: float
    budget: float
    best: float | None
    needed: float | None


def both(found: Reached, building: Building, more: list[Problem]) -> InfeasibleError:
    """Say what money and target reach where both are stated and do not go together.

    Parameters
    ----------
    found : Reached
    building : Building
    more : list of Problem
        What else is to be told.
    """
    say = amounts(building)
    budget, sure = say("money", found.budget), f"with {found.confidence:.0%} confidence"
    parts, allowed = [], []
    if found.best is None:
        parts.append(f"{budget} buys no allowed plan")
    else:
        best = f"{math.ceil(found.best * 100) / 100:g}"
        parts.append(f"for {budget} the best is ACH50 {best} {sure}")
        allowed.append(f"a target of {best} or more")
    if found.needed is None:
        parts.append(f"no money reaches {found.target:g}")
    else:
        needed = float(math.ceil(found.needed))
        parts.append(
            f"for {found.target:g} you need about {say('money', needed)}, {say('money', needed - math.floor(found.budget))} more"
        )
        allowed.append(f"a budget of {say('money', needed)} or more")
    problem = Problem(
        "; ".join(parts),
        Where(building.file or None, key="aim"),
        f"budget {budget}, target {found.target:g}",
        ", or ".join(allowed),
        "raise the budget or loosen the target; a budget alone gives the tightest and driest plan for the money, "
        "a target alone the cheapest that keeps it",
    )
    return InfeasibleError("budget and target do not go together", [problem, *more])
