"""The curve: the best result for each amount of money, never worse for more of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np

from hullwright.choice.instance import Answer, Goal, Instance, Limits
from hullwright.choice.solver.case import Keep, keep_none
from hullwright.choice.solver.effort import CURVE, Effort, Progress, effort_of
from hullwright.choice.solver.ledger import bill, within
from hullwright.choice.solver.solving import Engine, solve

Point = tuple[float, Answer]
Step = Callable[[int, int], None]
"""Told after each question that is answered: how many are, of how many."""
ENDS = 3
"""Questions before the first point: the cheapest plan, the best, and the cheapest as good."""
WIDE: Final = 0.02
"""Gap above which a point is searched a second time, from the best plan of all points."""
_MORE: Final = 4
"""Times the work of the first search that the second one may take."""


def _nobody(_done: int, _of: int) -> None:
    """Nobody watches."""


def curve(
    instance: Instance,
    limits: Limits,
    goal: Goal,
    *,
    points: int = 21,
    effort: Effort | str = CURVE,
    engine: Engine = "own",
    progress: Progress | None = None,
    step: Step = _nobody,
    keep: Keep = keep_none,
) -> list[Point]:
    """Best plan at budgets from the cheapest allowed plan to where nothing improves any more.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question in budget mode; a finite budget ends the curve there.
    points : int
        Number of budgets, evenly spaced (≥ 2).
    effort, engine : Effort or str, str
        As in :func:`hullwright.choice.solver.solve`.
    progress : callable or None
        Told how far each search is; a search that it ends gives the best so far.
    step : callable
        Told (done, of) after each search; what it raises ends the curve. `of` grows by the points searched twice.
    keep : callable
        As in :func:`hullwright.choice.solver.solve`.

    Returns
    -------
    list of (budget, Answer)
        Monotone: any plan serves all larger budgets, any bound holds for all smaller ones. A point whose gap is then
        still above :data:`WIDE` has been searched twice, by counted work and never by the clock.

    Raises
    ------
    ValueError
        Fewer than two points, or a goal in target mode.
    InfeasibleError
        Where no plan is allowed.
    """
    if points < 2 or goal.money:
        raise ValueError("a curve has two points or more and is drawn for a goal in harm, not in money")
    work, seen = effort_of(effort), [0, points + ENDS]

    def answered(limits: Limits, goal: Goal, start: Answer | None = None, times: int = 1) -> Answer:
        more = replace(work, nodes=times * work.nodes, beams=times * work.beams)
        found = solve(
            instance, limits, goal, effort=more, engine=engine, start=start, progress=progress, keep=keep
        )
        seen[0] += 1
        step(*seen)
        return found

    low, high = _ends(instance, limits, goal, answered)
    budgets = np.linspace(low.spent, max(high.spent, low.spent), points)
    # Each from scratch, for a start that is kept too fondly would hold the whole curve back; but the first, whose budget
    # is that of the cheapest plan, from that plan, as it may be the only one there is.
    found = [
        (budget, answered(replace(limits, budget=budget), goal, None if n else low))
        for n, budget in enumerate(budgets.tolist())
    ]
    drawn = archive(instance, goal, found, [low, high])
    wide = [(budget, answer) for budget, answer in drawn if answer.gap > WIDE]
    seen[1] += len(wide)
    again = {budget: answered(replace(limits, budget=budget), goal, answer, _MORE) for budget, answer in wide}
    return archive(instance, goal, [(b, _sharper(a, again.get(b, a))) for b, a in drawn], [low, high])


def _sharper(first: Answer, second: Answer) -> Answer:
    """Better plan and better bound of two answers to one question."""
    better = min(first, second, key=lambda answer: answer.value)
    return replace(better, bound=max(first.bound, second.bound), work=max(first.work, second.work))


def _ends(
    instance: Instance, limits: Limits, goal: Goal, answered: Callable[..., Answer]
) -> tuple[Answer, Answer]:
    """Cheapest allowed plan, and the cheapest of those plans that are as good as plans get."""
    least = replace(goal, money=True)
    low = answered(limits, least)
    best = answered(limits, goal)
    return low, min(best, answered(as_good(instance, limits, best), least, best), key=lambda a: a.spent)


def as_good(instance: Instance, limits: Limits, answer: Answer) -> Limits:
    """Give the limits that only plans as tight and as dry as one keep."""
    plan = bill(instance, answer.pick)
    return replace(limits, air=min(limits.air, plan.air), water=min(limits.water, plan.water))


def archive(instance: Instance, goal: Goal, found: list[Point], more: list[Answer]) -> list[Point]:
    """Let every plan serve all larger budgets and every bound all smaller ones.

    Parameters
    ----------
    instance, goal : Instance, Goal
        The question.
    found : list of (budget, Answer)
        Answers in budget mode by rising budget.
    more : list of Answer
        Further plans, whose bounds are not used.

    Returns
    -------
    list of (budget, Answer)
        The same budgets, values falling and bounds falling with money.
    """
    plans = [bill(instance, answer.pick) for answer in (*(a for _, a in found), *more)]
    result: list[Point] = []
    for n, (budget, answer) in enumerate(found):
        bound = max(a.bound for _, a in found[n:])
        plan = min((p for p in plans if within(p.spent, budget)), key=lambda p: p.value(goal))
        result.append((budget, plan.answer(goal, bound, answer.work)))
    return result
