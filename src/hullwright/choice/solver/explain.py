"""Where a plan loses: the identity behind every plan, in amounts that can be said in words.

value = bound at the multipliers + Σ regret of the runs + multipliers · what is left over.  What is left over is idle
money (and hours), and what stays in packs that are not emptied.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hullwright.choice.instance import Answer, Floats, Goal, Instance, Ints, Limits
from hullwright.choice.solver.ledger import PACK_TOLERANCE, bill
from hullwright.choice.solver.own.form import Part, as_stated, make_form
from hullwright.choice.solver.own.simplex import Box, Program, first_basis


@dataclass(frozen=True, slots=True)
class Explanation:
    """The parts that a plan's value is made of.

    Parameters
    ----------
    multiplier : float
        What the last unit of money is worth, in goal a unit of money (0: money is no limit); 1 in target mode.
    base : float
        Bound at the multipliers, with fractional packs and without set-ups, coats and meetings.
    regret : ndarray (R,)
        What each run is worse than its best option at these multipliers.
    best : ndarray (R,)
        That best option (row).
    idle : float
        Worth of money, hours, air and water allowed and not used.
    left : ndarray (P,)
        Worth of what stays in opened packs of each product.
    fixed : float
        Worth of set-ups and coats.
    """

    multiplier: float
    base: float
    regret: Floats
    best: Ints
    idle: float
    left: Floats
    fixed: float

    @property
    def value(self) -> float:
        """Sum of all parts: the plan's value."""
        return self.base + float(self.regret.sum()) + self.idle + float(self.left.sum()) + self.fixed


def explain(instance: Instance, limits: Limits, goal: Goal, answer: Answer) -> Explanation:
    """Take a plan's value apart.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question.
    answer : Answer
        A plan for it.

    Returns
    -------
    Explanation
        Multiplier, regrets, idle money and left-over packs; they add up to the value.
    """
    form = make_form(instance, limits, goal, Part(np.arange(instance.runs, dtype=np.int64)))
    form = as_stated(form, limits)
    relaxed = Program(form, first_basis(form), Box(form.low, form.high)).solve()
    price = np.maximum(relaxed.price, 0.0) if np.isfinite(relaxed.bound) else np.zeros(len(form.room))
    value = form.cost + (form.need.reshape(form.cost.size, len(price)) @ price).reshape(form.cost.shape)
    every, option = np.arange(form.runs), answer.pick - form.rows[:, 0]
    best = value.argmin(axis=1)
    plan, p = bill(instance, answer.pick), form.products
    use = form.need[every, option].sum(axis=0)
    packs = plan.packs.astype(np.float64)
    pack = form.pack_cost + form.pack_need @ price
    ends = np.minimum(pack * form.low, pack * form.high)  # scarce packs are all bought at these multipliers
    base = float(value.min(axis=1).sum() - price @ form.room + ends.sum())
    spare = price[p:] * (form.room[p:] - use[p:] - form.pack_need[:, p:].T @ packs)
    left = price[:p] * (form.room[:p] + packs - use[:p]) + pack * packs - ends
    total = plan.value(goal)
    regret = value[every, option] - value[every, best]
    fixed = total - base - float(regret.sum() + spare.sum() + left.sum())
    money = (
        1.0 if goal.money else float(price[p + form.names.index("money")]) if "money" in form.names else 0.0
    )
    return Explanation(
        multiplier=money,
        base=base,
        regret=regret,
        best=form.rows[every, best],
        idle=float(spare.sum()),
        left=np.where(np.abs(left) < PACK_TOLERANCE * 1e-3, 0.0, left),
        fixed=fixed if abs(fixed) > 1e-9 * max(1.0, total) else 0.0,
    )
