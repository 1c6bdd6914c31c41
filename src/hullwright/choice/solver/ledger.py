"""What a plan costs and does: sums over the picked options, whole packs, set-ups and coats."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.instance import Answer, Coat, Floats, Goal, Instance, Ints

# A millionth of a pack is no pack: keeps rounding errors of sums and of solvers from opening one more.
PACK_TOLERANCE = 1e-6
# Relative and absolute slack within which a limit counts as kept (money, hours, air, water).
LIMIT_TOLERANCE = 1e-7


def within(amount: float, limit: float) -> bool:
    """Whether an amount keeps to a limit, within rounding.

    Parameters
    ----------
    amount, limit : float
        In the same unit.

    Returns
    -------
    bool
        True where amount ≤ limit within 1e-7 of it.

    Examples
    --------
    >>> within(100.000001, 100.0), within(100.1, 100.0)
    (True, False)
    """
    return amount <= widest(limit)


def widest(limit: float) -> float:
    """Give the largest amount that still keeps a limit: what a bound must hold for.

    Parameters
    ----------
    limit : float

    Returns
    -------
    float
        In the same unit.

    Examples
    --------
    >>> f"{widest(100.0):.5f}"
    '100.00001'
    """
    return limit + LIMIT_TOLERANCE * max(1.0, abs(limit))


def run_of(instance: Instance) -> Ints:
    """Run number of each option row (M,)."""
    return np.repeat(np.arange(instance.runs, dtype=np.int64), np.diff(instance.first))


def harm_of(instance: Instance, goal: Goal) -> Floats:
    """Weighted harm of each option (M,): ``air_weight * air + water_weight * water``."""
    return goal.air_weight * instance.air + goal.water_weight * instance.water


def most_packs(instance: Instance) -> Floats:
    """Most packs of each product that can be opened (P,): the stock, and never fewer than are owned."""
    return np.maximum(np.floor(instance.stock + PACK_TOLERANCE), np.floor(instance.owned + PACK_TOLERANCE))


def conflicts(matrix: NDArray[np.bool_], instance: Instance, pick: Ints) -> int:
    """Count the meetings whose picked materials are marked in a pair matrix (either way round)."""
    if not len(instance.meet) or not matrix.size:
        return 0
    a = instance.material[pick[instance.meet[:, 0]]]
    b = instance.material[pick[instance.meet[:, 1]]]
    real = (a >= 0) & (b >= 0)
    return int(np.count_nonzero((matrix | matrix.T)[a[real], b[real]]))


@dataclass(frozen=True, slots=True)
class Bill:
    """All totals of one plan.

    Parameters
    ----------
    pick : ndarray (R,)
        Chosen option rows.
    opened, packs : ndarray (P,)
        Whole packs opened and, of these, bought.
    taken : ndarray (F, K) of bool
        Set-ups paid.
    coats : ndarray of bool
        Coats taken.
    spent, hours, air, water : float
        Money, hours [h], leakage area [cm2], water [L].
    """

    pick: Ints
    opened: Ints
    packs: Ints
    taken: NDArray[np.bool_]
    coats: NDArray[np.bool_]
    spent: float
    hours: float
    air: float
    water: float

    def value(self, goal: Goal) -> float:
        """Value of the goal: money in target mode, else weighted harm."""
        if goal.money:
            return self.spent
        return goal.air_weight * self.air + goal.water_weight * self.water

    def answer(self, goal: Goal, bound: float, work: int) -> Answer:
        """Make the answer of this plan with a proven bound."""
        value = self.value(goal)
        return Answer(
            pick=self.pick,
            packs=self.packs,
            taken=self.taken,
            coats=self.coats,
            value=value,
            bound=min(bound, value),
            spent=self.spent,
            hours=self.hours,
            work=work,
        )


def taken_coats(instance: Instance, pick: Ints) -> NDArray[np.bool_]:
    """Coats that the picked options belong to (number of coats,)."""
    coats = np.zeros(len(instance.coats), dtype=np.bool_)
    numbers = instance.coat[pick]
    coats[numbers[numbers >= 0]] = True
    return coats


def taken_setups(instance: Instance, pick: Ints) -> NDArray[np.bool_]:
    """Set-ups that the picked options need (F, K)."""
    taken = np.zeros(instance.setup_money.shape, dtype=np.bool_)
    methods = instance.method[pick]
    real = methods >= 0
    taken[instance.face[real], methods[real]] = True
    return taken


def bill(instance: Instance, pick: Ints) -> Bill:
    """Add up a plan.

    Parameters
    ----------
    instance : Instance
        The choice.
    pick : ndarray (R,)
        Chosen option row of each run.

    Returns
    -------
    Bill
        Whole packs, set-ups, coats, money, hours, air and water.
    """
    coats, taken = taken_coats(instance, pick), taken_setups(instance, pick)
    chosen: list[Coat] = [coat for coat, on in zip(instance.coats, coats, strict=True) if on]
    use = instance.use[pick].sum(axis=0)
    for coat in chosen:
        use = use + coat.use
    opened = np.ceil(use - PACK_TOLERANCE).astype(np.int64)
    packs = np.maximum(opened - np.floor(instance.owned + PACK_TOLERANCE).astype(np.int64), 0)
    money = instance.labour[pick].sum() + packs @ instance.price + instance.setup_money[taken].sum()
    hours = instance.hours[pick].sum() + instance.setup_hours[taken].sum()
    return Bill(
        pick=pick,
        opened=opened,
        packs=packs,
        taken=taken,
        coats=coats,
        spent=float(money + sum(coat.labour for coat in chosen)),
        hours=float(hours + sum(coat.hours for coat in chosen)),
        air=float(instance.air[pick].sum()),
        water=float(instance.water[pick].sum()),
    )
