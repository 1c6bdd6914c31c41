"""The front door: one question, one plan with its proof."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

from hullwright.choice.instance import Answer, Goal, Instance, Limits
from hullwright.choice.solver.effort import Effort, Progress, effort_of
from hullwright.choice.solver.enumerate import allowed
from hullwright.choice.solver.infeasible import why_infeasible
from hullwright.choice.solver.ledger import Bill, bill
from hullwright.choice.solver.mip import Outcome, Start, solve_mip
from hullwright.choice.solver.own.engine import solve_own
from hullwright.errors import InfeasibleError, Problem

_UNSURE = Problem(
    "it is not proved that there is none",
    hint="raise the effort, or loosen the tightest limit",
)
# Where the own engine found no plan, the general solver is asked for one, so long and no longer.
_RESCUE_NODES, _RESCUE_SECONDS = 2000, 60.0

Engine = Literal["own", "mip", "both"]


def solve(
    instance: Instance,
    limits: Limits,
    goal: Goal,
    *,
    effort: Effort | str = "normal",
    engine: Engine = "own",
    start: Answer | None = None,
    progress: Progress | None = None,
) -> Answer:
    """Find the best plan and prove how good it is.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question.
    effort : Effort or {'quick', 'normal', 'thorough'}
        Counted work.
    engine : {'own', 'mip', 'both'}
        The own engine, the general MIP solver, or the latter started from the plan of the former.
    start : Answer or None
        A plan at hand; used where it is allowed.
    progress : callable or None
        Called with (value, bound, work) now and then; answers whether to go on.

    Returns
    -------
    Answer
        Plan, value and proven bound.

    Raises
    ------
    InfeasibleError
        Where no plan is allowed: which limit is in the way and by how much.
    """
    work = effort_of(effort)
    plan = _usable(instance, limits, start)
    if engine == "mip" or instance.runs == 0:
        outcome = solve_mip(instance, limits, goal, effort=work, start=Start(plan, progress))
        return _answer(instance, limits, goal, [outcome], plan)
    own = solve_own(instance, limits, goal, effort=work, start=plan, progress=progress)
    outcomes = [own]
    plan = min((p for p in (own.plan, plan) if p is not None), key=lambda p: p.value(goal), default=None)
    if plan is None:
        rescue = replace(work, mip_nodes=_RESCUE_NODES, seconds=min(work.seconds, _RESCUE_SECONDS))
        outcomes.append(solve_mip(instance, limits, goal, effort=rescue, start=Start(None, progress)))
    elif engine == "both" and own.bound < plan.value(goal) * (1.0 - work.gap):
        outcomes.append(solve_mip(instance, limits, goal, effort=work, start=Start(plan, progress)))
    return _answer(instance, limits, goal, outcomes, plan)


def _usable(instance: Instance, limits: Limits, start: Answer | None) -> Bill | None:
    if start is None:
        return None
    plan = bill(instance, start.pick)
    return plan if allowed(instance, limits, plan) else None


def _answer(
    instance: Instance, limits: Limits, goal: Goal, outcomes: list[Outcome], plan: Bill | None
) -> Answer:
    """Best plan against best bound of all engines."""
    plans = [p for p in (*(outcome.plan for outcome in outcomes), plan) if p is not None]
    if not plans:
        if any(o.bound == math.inf for o in outcomes):
            raise why_infeasible(instance, limits, goal)
        raise InfeasibleError("no plan was found with the work allowed", [_UNSURE])
    best = min(plans, key=lambda p: p.value(goal))
    bound = max((o.bound for o in outcomes if math.isfinite(o.bound)), default=0.0)
    return best.answer(goal, max(bound, 0.0), sum(outcome.nodes for outcome in outcomes))
