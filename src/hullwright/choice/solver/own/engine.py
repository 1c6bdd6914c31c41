"""The own engine: looks at what the question has in it and takes the way that fits."""

from __future__ import annotations

import numpy as np

from hullwright.choice.instance import Goal, Instance, Ints, Limits
from hullwright.choice.solver.effort import Effort, Progress
from hullwright.choice.solver.ledger import Bill, bill
from hullwright.choice.solver.mip import Outcome
from hullwright.choice.solver.own.form import Form, Part, make_form
from hullwright.choice.solver.own.grouped import solve_grouped
from hullwright.choice.solver.own.groups import TooTied
from hullwright.choice.solver.own.large import LARGE, solve_large
from hullwright.choice.solver.own.tree import Plan, Tree, Work, plan_of


def solve_own(
    instance: Instance,
    limits: Limits,
    goal: Goal,
    *,
    effort: Effort,
    start: Bill | None,
    progress: Progress | None,
) -> Outcome:
    """Solve with the own engine.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question; at least one run.
    effort : Effort
        Counted work.
    start : Bill or None
        A plan that is allowed.
    progress : callable or None
        Asked now and then whether to go on.

    Returns
    -------
    Outcome
        Plan (None where none was found) and bound (inf where there is none), as the search has them: to be checked.
    """
    work = Work(effort.nodes, effort.beams, effort.gap)
    if not plain(instance, limits):
        try:
            pick, bound = solve_grouped(
                instance, limits, goal, work, progress, start=None if start is None else start.pick
            )
        except TooTied:
            pick, bound = None, -np.inf
        return Outcome(None if pick is None else bill(instance, pick), bound, work.done)
    if instance.runs > LARGE and limits.products is None:
        pick, bound = solve_large(instance, limits, goal, work, progress)
        return Outcome(None if pick is None else bill(instance, pick), bound, work.done)
    form = make_form(instance, limits, goal, Part(np.arange(instance.runs, dtype=np.int64)))
    known = None if start is None else plan_of(form, _options(form, start.pick))
    tree = Tree(form, work, known)
    tree.progress = progress
    tree.run()
    plan = None if tree.plan is None else bill(instance, _pick(form, tree.plan))
    return Outcome(plan, tree.bound, tree.work.done)


def _pick(form: Form, plan: Plan) -> Ints:
    pick: Ints = form.rows[np.arange(form.runs), plan.option]
    return pick


def _options(form: Form, pick: Ints) -> Ints:
    option: Ints = pick - form.rows[:, 0]
    return option


def plain(instance: Instance, limits: Limits) -> bool:
    """Whether runs are tied together by nothing but the rows: no set-ups, coats or meetings that matter."""
    setup = bool((instance.setup_money > 0).any() or (instance.setup_hours > 0).any())
    tied = len(instance.meet) > 0 and bool(instance.clash.any())
    counted = limits.unknown_meetings is not None and len(instance.meet) > 0 and bool(instance.unknown.any())
    return not (setup or tied or counted or len(instance.coats))
