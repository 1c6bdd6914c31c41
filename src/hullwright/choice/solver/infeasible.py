"""Why there is no plan: which limit is in the way, and by how much."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from hullwright.choice.instance import Goal, Instance, Limits
from hullwright.choice.solver.effort import Effort
from hullwright.choice.solver.ledger import Bill, conflicts, within
from hullwright.choice.solver.mip import Outcome, solve_mip
from hullwright.choice.solver.mip_model import without
from hullwright.errors import InfeasibleError, Problem, Where

_FREE = Limits()
_EFFORT = Effort(mip_nodes=2000, gap=1e-4, seconds=20.0)

# limit, what is said where it alone is in the way, its unit, what to do
_WORDS = {
    "money": (
        "the cheapest allowed plan costs more than the budget",
        "",
        "raise the budget or allow cheaper methods",
    ),
    "hours": (
        "the quickest allowed plan takes longer than the hours",
        " h",
        "allow more hours or a larger crew",
    ),
    "air": (
        "the least reachable leakage is above its limit",
        " cm2",
        "loosen the target, or allow tighter methods",
    ),
    "water": (
        "the least reachable water is above its limit",
        " L",
        "loosen the limit, or shorten the bare days",
    ),
    "products": ("no allowed plan does with so few products", "", "allow more different products"),
    "unknown": ("no allowed plan has so few meetings of unknown materials", "", "test a pair, or allow more"),
}


@dataclass(frozen=True, slots=True)
class Shortfall:
    """One limit that is in the way.

    Parameters
    ----------
    name : str
        money, hours, air, water, products or unknown.
    limit, reached : float
        The limit, and the least amount there is [money, h, cm2, L or a count].
    rest : str
        What else was lifted, '' for nothing.
    """

    name: str
    limit: float
    reached: float
    rest: str = ""


class ShortError(InfeasibleError):
    """No allowed plan, with what is missing in figures.

    Parameters
    ----------
    message, problems
        As for :class:`InfeasibleError`.
    shortfalls : sequence of Shortfall
        Figures behind the first problems.
    """

    def __init__(
        self, message: str, problems: Sequence[Problem], shortfalls: Sequence[Shortfall] = ()
    ) -> None:
        super().__init__(message, problems)
        self.shortfalls = tuple(shortfalls)


def plain(name: str, value: float) -> str:
    """Say an amount in SI."""
    return f"{value:.6g}{_WORDS[name][1]}"


def worded(short: Shortfall, say: Callable[[str, float], str] = plain) -> Problem:
    """Put a shortfall into words.

    Parameters
    ----------
    short : Shortfall
    say : callable
        Name of the limit and an amount to text with its unit.

    Examples
    --------
    >>> worded(Shortfall("water", 5.0, 8.25)).message
    'the least reachable water is above its limit: 8.25 L against 5 L, 3.25 L too much'
    """
    message, _, hint = _WORDS[short.name]
    limit, reached, over = (
        say(short.name, v) for v in (short.limit, short.reached, short.reached - short.limit)
    )
    return Problem(
        f"{message}{short.rest}: {reached} against {limit}, {over} too much",
        Where(key=short.name),
        got=f"limit {limit}",
        allowed=f"at least {reached}",
        hint=hint,
    )


def _limit(limits: Limits, name: str) -> float:
    value = {
        "money": limits.budget,
        "hours": limits.hours,
        "air": limits.air,
        "water": limits.water,
        "products": limits.products,
        "unknown": limits.unknown_meetings,
    }[name]
    return math.inf if value is None else float(value)


def _amount(instance: Instance, plan: Bill, name: str) -> float:
    return {
        "money": plan.spent,
        "hours": plan.hours,
        "air": plan.air,
        "water": plan.water,
        "products": float(np.count_nonzero(plan.opened)),
        "unknown": float(conflicts(instance.unknown, instance, plan.pick)),
    }[name]


def _least(instance: Instance, limits: Limits, goal: Goal, name: str) -> Outcome:
    """Make one amount as small as it gets, its own limit lifted (a count only becomes a column under a limit)."""
    lifted = without(limits, name)
    if name == "products":
        lifted = replace(lifted, products=len(instance.price))
    if name == "unknown":
        lifted = replace(lifted, unknown_meetings=len(instance.meet))
    return solve_mip(instance, lifted, goal, effort=_EFFORT, aim=name)


def _in_the_way(
    instance: Instance, limits: Limits, goal: Goal, caps: Limits, rest: str = ""
) -> list[Shortfall]:
    """Find the limits of `caps` that fail when each is left out of `limits` and its amount made small instead."""
    found: list[Shortfall] = []
    for name in _WORDS:
        limit = _limit(caps, name)
        if math.isfinite(limit):
            outcome = _least(instance, limits, goal, name)
            if outcome.plan is not None:
                reached = _amount(instance, outcome.plan, name)
                if not within(reached, limit):
                    found.append(Shortfall(name, limit, reached, rest))
    return found


def _together(instance: Instance, limits: Limits, goal: Goal) -> Problem:
    free = solve_mip(instance, _FREE, goal, effort=_EFFORT, aim="money")
    if free.plan is None and math.isinf(free.bound):
        return Problem(
            "no plan exists at all: meetings known to fail, coats or stock exclude each other",
            hint="allow another material at the meetings, or raise the stock",
        )
    names = [name for name in _WORDS if math.isfinite(_limit(limits, name))]
    return Problem(
        f"each limit can be kept by itself, but not all together: {', '.join(names)}",
        hint="loosen one of them",
    )


def why_infeasible(instance: Instance, limits: Limits, goal: Goal) -> InfeasibleError:
    """Find out what is in the way.

    Each limit is lifted alone and its amount made small with the others kept: where that gives a plan, this limit is
    in the way and the plan says by how much. Where no single limit is, each is tried with the others lifted.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        A question without a plan.

    Returns
    -------
    InfeasibleError
        One problem for each limit that is in the way.
    """
    found = _in_the_way(instance, limits, goal, limits)
    if not found:
        found = _in_the_way(instance, _FREE, goal, limits, ", even with every other limit lifted")
    problems = [worded(short) for short in found] or [_together(instance, limits, goal)]
    return ShortError("no allowed plan", problems, found)
