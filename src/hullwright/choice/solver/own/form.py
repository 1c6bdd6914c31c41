"""The choice in the form the own engine works on: one block of options a run, a dozen rows of limits.

Minimise  Σ cost[r, o] + Σ pack_cost[p] · y[p]  with one option a run, whole packs y in [low, high] and
Σ need[r, o, :] + Σ pack_need[p, :] · y[p] ≤ room.  Rows: one for each product, then the limits there are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from hullwright.choice.instance import Floats, Goal, Instance, Ints, Limits
from hullwright.choice.solver.ledger import PACK_TOLERANCE, harm_of, most_packs, widest

# Stands for "not an option": larger than any harm or money, small enough to add and subtract.
NEVER = 1e30
_SOME_PACK = 0.5


@dataclass(frozen=True, slots=True)
class Form:
    """One question in rows.

    Parameters
    ----------
    cost : ndarray (R, O)
        Cost of each option, NEVER where a run has fewer options.
    need : ndarray (R, O, m)
        What it takes of each row.
    rows : ndarray (R, O)
        Option row in the instance, -1 where there is none.
    pack_cost : ndarray (P,)
        Cost of a pack.
    pack_need : ndarray (P, m)
        What a pack takes of each row (-1: it gives one).
    low, high : ndarray (P,)
        Packs that are bought at least and at most.
    room : ndarray (m,)
        What there is, with the rounding within which a limit counts as kept and a pack as filled: a bound holds for
        every plan that is allowed.
    names : tuple of str
        Names of the rows after those of the products.
    fixed : float
        Cost that is there anyway.
    most : int or None
        Most different products.
    used : frozenset of int
        Products that are used anyway.
    """

    cost: Floats
    need: Floats
    rows: Ints
    pack_cost: Floats
    pack_need: Floats
    low: Floats
    high: Floats
    room: Floats
    names: tuple[str, ...]
    fixed: float = 0.0
    most: int | None = None
    used: frozenset[int] = frozenset()

    @property
    def runs(self) -> int:
        """Number of runs."""
        return len(self.cost)

    @property
    def products(self) -> int:
        """Number of products."""
        return len(self.pack_cost)

    @property
    def there(self) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Products of which packs are there without buying any (P,)."""
        there: np.ndarray[tuple[int], np.dtype[np.bool_]] = self.room[: self.products] > _SOME_PACK
        return there


@dataclass(frozen=True, slots=True)
class Part:
    """Which runs are put in the form, and what the others take already.

    Parameters
    ----------
    runs : ndarray (R',)
        Runs that are still open.
    cost : float
        Cost of all others.
    taken : ndarray (m,)
        What they take of each row.
    ban : ndarray (M,) of bool or None
        Options that are not to be used.
    """

    runs: Ints
    cost: float = 0.0
    taken: Floats | None = None
    ban: np.ndarray[tuple[int], np.dtype[np.bool_]] | None = None


def limit_rows(instance: Instance, limits: Limits, goal: Goal) -> list[tuple[str, Floats, float]]:
    """Rows beside those of the products: name, need of each option, room."""
    ends = [
        ("money", instance.labour, limits.budget),
        ("hours", instance.hours, limits.hours),
        ("air", instance.air, limits.air),
        ("water", instance.water, limits.water),
    ]
    del goal
    return [(name, column, widest(end)) for name, column, end in ends if np.isfinite(end)]


def as_stated(form: Form, limits: Limits) -> Form:
    """Give the same form with what there is to the letter, without the rounding that is allowed: for what people read."""
    ends = {"money": limits.budget, "hours": limits.hours, "air": limits.air, "water": limits.water}
    whole = np.round(form.room[: form.products])
    return replace(form, room=np.concatenate([whole, [ends[name] for name in form.names]]))


def cost_of(instance: Instance, goal: Goal) -> Floats:
    """Cost of each option (M,): labour in target mode, else harm."""
    return instance.labour if goal.money else harm_of(instance, goal)


def make_form(instance: Instance, limits: Limits, goal: Goal, part: Part) -> Form:
    """Put a question, or the open part of one, in rows.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question.
    part : Part
        Open runs, and what the rest takes.

    Returns
    -------
    Form
        The question in rows.
    """
    rows = limit_rows(instance, limits, goal)
    p = len(instance.price)
    grid = option_grid(instance, part.runs)
    at = np.maximum(grid, 0)
    cost = np.where(grid >= 0, cost_of(instance, goal)[at], NEVER)
    if part.ban is not None:
        cost = np.where(part.ban[at], NEVER, cost)
    need = np.empty((*grid.shape, p + len(rows)))
    need[:, :, :p] = instance.use[at]
    for n, (_, column, _) in enumerate(rows):
        need[:, :, p + n] = column[at]
    owned = np.floor(instance.owned + PACK_TOLERANCE)
    room = np.concatenate([owned + PACK_TOLERANCE, [end for _, _, end in rows]])
    pack_need = np.concatenate([-np.eye(p), np.zeros((p, len(rows)))], axis=1)
    for n, (name, _, _) in enumerate(rows):
        if name == "money":
            pack_need[:, p + n] = instance.price
    taken = np.zeros(len(room)) if part.taken is None else part.taken
    coats = sum((coat.use for coat in instance.coats), np.zeros(p))
    most = coats + need[:, :, :p].max(axis=1).sum(axis=0) + taken[:p] - owned
    high = np.minimum(most_packs(instance) - owned, np.ceil(np.maximum(most, 0)))
    return Form(
        cost=cost,
        need=need,
        rows=grid,
        pack_cost=instance.price.astype(np.float64) if goal.money else np.zeros(p),
        pack_need=pack_need,
        low=np.zeros(p),
        high=high,
        room=room - taken,
        names=tuple(name for name, _, _ in rows),
        fixed=part.cost,
        most=None if limits.products is None or limits.products >= p else limits.products,
    )


def option_grid(instance: Instance, runs: Ints) -> Ints:
    """Option rows of some runs side by side (R', O), -1 behind the last of each."""
    sizes = np.diff(instance.first)[runs]
    width = int(sizes.max()) if len(sizes) else 1
    grid = instance.first[runs][:, None] + np.arange(width)
    return np.where(np.arange(width) < sizes[:, None], grid, -1)


def with_row(form: Form, name: str, room: float, need: Floats | None = None) -> Form:
    """Form with one row more, of which single options take so much (R, O), or nothing."""
    taken = np.zeros(form.cost.shape) if need is None else need
    return replace(
        form,
        need=np.concatenate([form.need, taken[:, :, None]], axis=2),
        pack_need=np.concatenate([form.pack_need, np.zeros((form.products, 1))], axis=1),
        room=np.append(form.room, widest(room)),
        names=(*form.names, name),
    )


def without_dominated(form: Form, alike: Ints) -> Form:
    """Leave out options that no best plan needs: another of the run costs and takes no more and is alike in all else.

    Parameters
    ----------
    form : Form
        The question.
    alike : ndarray (R, O)
        A number for what two options must share to stand for each other.

    Returns
    -------
    Form
        The same question; of options that are equal in all the first stays.
    """
    cost, count = form.cost.copy(), form.cost.shape[1]
    for o in range(count):
        for other in range(count):
            if other == o:
                continue
            there = (cost[:, other] < NEVER / 2) & (cost[:, o] < NEVER / 2) & (alike[:, other] == alike[:, o])
            no_more = (cost[:, other] <= cost[:, o]) & (form.need[:, other] <= form.need[:, o]).all(axis=1)
            equal = (cost[:, other] == cost[:, o]) & (form.need[:, other] == form.need[:, o]).all(axis=1)
            cost[there & no_more & (~equal | (other < o)), o] = NEVER
    return replace(form, cost=cost)
