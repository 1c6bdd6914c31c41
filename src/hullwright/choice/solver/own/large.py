"""Many runs: multipliers from a sample, brought to the point on all runs; the undecided few go to the tree.

The bound is the one of all runs at these multipliers. All runs but a core of near-indifferent ones are settled at
their best option; the core's tree fills the packs.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from hullwright.choice.instance import Floats, Goal, Instance, Ints, Limits
from hullwright.choice.solver.effort import Progress
from hullwright.choice.solver.ledger import PACK_TOLERANCE
from hullwright.choice.solver.own.form import NEVER, Part, cost_of, limit_rows, make_form
from hullwright.choice.solver.own.simplex import Box, Program, first_basis
from hullwright.choice.solver.own.tree import Tree, Work

LARGE = 2500
_SAMPLE = 1200
_CORE = 1500
_HALVINGS = 40


@dataclass(frozen=True, slots=True)
class Settled:
    """Where all runs stand at some multipliers.

    Parameters
    ----------
    key : ndarray (R,)
        Best option of each run (counted within the run).
    core : ndarray
        Runs that are nearly indifferent.
    bound : float
        Valid bound of the whole question.
    """

    key: Ints
    core: Ints
    bound: float


class Table:
    """Columns of the options side by side (R, O), by run."""

    def __init__(self, instance: Instance) -> None:
        sizes = np.diff(instance.first)
        self.width = int(sizes.max())
        self.even = bool((sizes == self.width).all())
        self.first = instance.first[:-1]
        self.inside = np.arange(self.width) < sizes[:, None]

    def spread(self, column: Floats, empty: float) -> Floats:
        """Put a column (M,) side by side, `empty` behind the last option of a run."""
        if self.even:
            return column.reshape(len(self.first), self.width)
        table = np.full(self.inside.shape, empty)
        table[self.inside] = column
        return table


def solve_large(
    instance: Instance, limits: Limits, goal: Goal, work: Work, progress: Progress | None = None
) -> tuple[Ints | None, float]:
    """Solve a question of many runs.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question, without set-ups, coats, meetings and limit on products.
    work : Work
        Counted work of the core's tree.
    progress : callable or None
        Asked now and then whether to go on.

    Returns
    -------
    (ndarray (R,) or None, float)
        Picked option rows, and a valid bound.
    """
    every = np.arange(instance.runs, dtype=np.int64)
    price = _sampled(instance, limits, goal)
    settled = settle(instance, limits, goal, price)
    pick = instance.first[:-1] + settled.key
    rest = np.ones(instance.runs, dtype=np.bool_)
    rest[settled.core] = False
    frozen = pick[every[rest]]
    taken = [instance.use[frozen].sum(axis=0)]
    taken += [np.array([column[frozen].sum()]) for _, column, _ in limit_rows(instance, limits, goal)]
    cost = float(cost_of(instance, goal)[frozen].sum())
    form = make_form(instance, limits, goal, Part(settled.core, cost, np.concatenate(taken)))
    tree = Tree(form, work)
    tree.least = settled.bound
    if progress is not None:  # the core's tree knows its part only: the bound is that of all runs
        tree.progress = lambda value, _, done: progress(value, min(settled.bound, value), done)
    tree.run()
    if tree.plan is None:
        return None, settled.bound
    pick[settled.core] = form.rows[np.arange(form.runs), tree.plan.option]
    return pick, settled.bound


def _sampled(instance: Instance, limits: Limits, goal: Goal) -> Floats:
    """Multipliers of the rows from a sample of the runs, its room scaled down."""
    runs = np.arange(instance.runs, dtype=np.int64)[:: max(1, instance.runs // _SAMPLE)]
    share = len(runs) / instance.runs
    form = make_form(instance, limits, goal, Part(runs))
    form = replace(form, room=form.room * share, high=np.maximum(form.high, 1.0))
    if np.isfinite(instance.stock).any():
        stock = np.maximum(instance.stock - instance.owned, 0.0) * share
        form = replace(form, high=np.minimum(form.high, stock))
    relaxed = Program(form, first_basis(form), Box(form.low, form.high)).solve()
    return np.maximum(relaxed.price, 0.0)


def settle(instance: Instance, limits: Limits, goal: Goal, price: Floats) -> Settled:
    """Scale sampled multipliers until all runs together just fill the rows, then split settled from undecided.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question.
    price : ndarray (m,)
        Multipliers of the rows.

    Returns
    -------
    Settled
        Best options, core and bound.
    """
    base, pull, fill = _parts(instance, limits, goal, price)
    table = Table(instance)
    low_cost, high_pull = table.spread(base, NEVER), table.spread(pull, 0.0)
    scale = _scale(low_cost, high_pull, fill[0])
    value = low_cost + scale * high_pull
    key = value.argmin(axis=1)
    every = np.arange(len(key))
    least = value[every, key]
    bound = float(least.sum()) - scale * fill[0] - fill[1]
    return Settled(key, _undecided(value, least), bound)


def _parts(
    instance: Instance, limits: Limits, goal: Goal, price: Floats
) -> tuple[Floats, Floats, tuple[float, float]]:
    """Value of each option as base + scale · pull, and what is taken off the sum: scale · fill[0] + fill[1]."""
    rows = limit_rows(instance, limits, goal)
    p = len(instance.price)
    pack = instance.price if goal.money else np.zeros(p)
    owned = np.floor(instance.owned + PACK_TOLERANCE) + PACK_TOLERANCE
    base, pull = cost_of(instance, goal).astype(np.float64), np.zeros(instance.options)
    if pack.any():
        base = base + instance.use @ pack
    if p:
        pull = pull + instance.use @ (price[:p] - pack)
    room = float((price[:p] - pack) @ owned)
    free = np.zeros(p)
    for n, (name, column, end) in enumerate(rows):
        if price[p + n] > 0:
            pull = pull + price[p + n] * column
            room += float(price[p + n]) * end
        if name == "money":
            free = price[p + n] * instance.price
    excess = price[:p] - pack - free
    # dearer than its free price: all packs that can be had are bought; cheaper: none is
    high = make_high(instance)
    room += float(np.where(excess > 0, excess * high, 0.0).sum())
    return base, pull, (room, float(pack @ owned))


def make_high(instance: Instance) -> Floats:
    """Most packs that can be bought and used at all (P,)."""
    most = np.zeros(len(instance.price))
    for p in range(len(most)):
        if np.isfinite(instance.stock[p]):
            most[p] = max(np.floor(instance.stock[p]) - instance.owned[p], 0.0)
        else:
            most[p] = np.ceil(np.maximum.reduceat(instance.use[:, p], instance.first[:-1]).sum())
    return most


def _scale(base: Floats, pull: Floats, fill: float) -> float:
    """Scale at which the sum of pulls of the best options passes `fill`."""
    if not pull.any():
        return 1.0
    low, high, width = 1.0, 1.0, 0.04
    while _filled(base, pull, low) <= fill and low > 1e-6:
        low, width = max(low * (1.0 - width), 0.0), min(2.0 * width, 0.9)
    while _filled(base, pull, high) > fill and high < 1e12:
        high, width = high * (1.0 + width), 2.0 * width
    every = np.arange(len(base))
    for _ in range(_HALVINGS):
        at_low, at_high = (base + low * pull).argmin(axis=1), (base + high * pull).argmin(axis=1)
        open_runs = np.flatnonzero(at_low != at_high)
        # a run with the same option at both ends keeps it in between: it leaves the search
        if len(open_runs) < len(base):
            same = at_low == at_high
            fill -= float(pull[every[same], at_low[same]].sum())
            base, pull = base[open_runs], pull[open_runs]
            every = np.arange(len(base))
        if len(base) <= 2:
            break
        middle = 0.5 * (low + high)
        if _filled(base, pull, middle) > fill:
            low = middle
        else:
            high = middle
    return high


def _filled(base: Floats, pull: Floats, scale: float) -> float:
    key = (base + scale * pull).argmin(axis=1)
    return float(pull[np.arange(len(key)), key].sum())


def _undecided(value: Floats, least: Floats) -> Ints:
    """Runs whose second best option is nearly as good as the best."""
    step = max(1, len(value) // (8 * _SAMPLE))
    some = np.sort(value[::step], axis=1)
    if some.shape[1] < 2:
        return np.zeros(0, dtype=np.int64)
    second = some[:, 1] - some[:, 0]
    share = min(1.0, _CORE / len(value))
    limit = float(np.quantile(second, share)) if share < 1.0 else np.inf
    close = np.count_nonzero(value <= (least + limit)[:, None], axis=1) > 1
    return np.flatnonzero(close).astype(np.int64)
