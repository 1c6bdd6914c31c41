"""Every plan of a small case, one by one: the truth that the solvers are tested against."""

from __future__ import annotations

import math

import numpy as np

from hullwright.choice.instance import Answer, Floats, Goal, Instance, Ints, Limits
from hullwright.choice.solver.ledger import PACK_TOLERANCE, Bill, bill, conflicts, harm_of, most_packs, within

_MOST = 2_000_000


def allowed(instance: Instance, limits: Limits, plan: Bill) -> bool:
    """Whether a plan keeps every limit, the stock, the coats and the meetings."""
    unknown = conflicts(instance.unknown, instance, plan.pick)
    return bool(
        within(plan.spent, limits.budget)
        and within(plan.hours, limits.hours)
        and within(plan.air, limits.air)
        and within(plan.water, limits.water)
        and np.all(plan.opened <= most_packs(instance))
        and (limits.products is None or np.count_nonzero(plan.opened) <= limits.products)
        and (limits.unknown_meetings is None or unknown <= limits.unknown_meetings)
        and conflicts(instance.clash, instance, plan.pick) == 0
        and coats_kept(instance, plan)
    )


def coats_kept(instance: Instance, plan: Bill) -> bool:
    """Whether each run that a taken coat covers takes it."""
    chosen = instance.coat[plan.pick]
    for coat in np.flatnonzero(plan.coats):
        rows = np.flatnonzero(instance.coat == coat)
        covered = np.unique(np.searchsorted(instance.first, rows, side="right") - 1)
        if np.any(chosen[covered] != coat):
            return False
    return True


def enumerate_plans(instance: Instance, limits: Limits, goal: Goal) -> Answer | None:
    """Try every plan.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question; at most two million plans.

    Returns
    -------
    Answer or None
        The best plan, proved; None where no plan is allowed.

    Raises
    ------
    ValueError
        Where there are too many plans to try.
    """
    sizes = [int(n) for n in np.diff(instance.first)]
    if math.prod(sizes) > _MOST:
        raise ValueError(f"more than {_MOST} plans: too many to try one by one")
    grid = np.indices(sizes).reshape(len(sizes), -1).T + instance.first[:-1]
    values = _money(instance, grid) if goal.money else harm_of(instance, goal)[grid].sum(axis=1)
    order = np.argsort(values, kind="stable")
    for pick in grid[order]:
        plan = bill(instance, pick)
        if allowed(instance, limits, plan):
            return plan.answer(goal, plan.value(goal), 0)
    return None


def _money(instance: Instance, grid: Ints) -> Floats:
    """Money of each plan of a grid (N, R)."""
    opened = instance.use[grid].sum(axis=1)
    money: Floats = instance.labour[grid].sum(axis=1)
    for number, coat in enumerate(instance.coats):
        on = (instance.coat[grid] == number).any(axis=1)
        opened, money = opened + on[:, None] * coat.use, money + on * coat.labour
    bought = np.maximum(np.ceil(opened - PACK_TOLERANCE) - np.floor(instance.owned + PACK_TOLERANCE), 0)
    money = money + bought @ instance.price
    for face, method in zip(*instance.setup_money.nonzero(), strict=True):
        here = grid[:, instance.face == face]
        money = money + (instance.method[here] == method).any(axis=1) * instance.setup_money[face, method]
    return money
