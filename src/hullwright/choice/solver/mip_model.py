"""The exact model: one binary for each option, whole packs, set-ups, coats, meetings; rows for every limit.

Columns stand in this order: options x (M), packs bought y (P), set-ups s (one for each face and method that costs
something), coats z, products used u (P, only under a limit on products), unknown meetings w (J, only under a limit
on them).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.instance import Floats, Goal, Instance, Ints, Limits
from hullwright.choice.solver.ledger import PACK_TOLERANCE, Bill, harm_of, most_packs, run_of, widest

AIMS = ("value", "money", "hours", "air", "water", "products", "unknown")


@dataclass(frozen=True, slots=True)
class Columns:
    """Where each kind of column starts, and which set-ups and products have one."""

    y: int
    s: int
    z: int
    u: int
    w: int
    count: int
    pairs: Ints  # (S,) set-ups as face * K + method


@dataclass(slots=True)
class Rows:
    """Sparse rows under construction."""

    row: list[Ints] = field(default_factory=list[Ints])
    col: list[Ints] = field(default_factory=list[Ints])
    val: list[Floats] = field(default_factory=list[Floats])
    low: list[Floats] = field(default_factory=list[Floats])
    high: list[Floats] = field(default_factory=list[Floats])
    count: int = 0

    def add(self, row: Ints, col: Ints, val: Floats | float, bounds: Sequence[Floats | float]) -> None:
        """Add rows; `row` is counted from 0 within this block, `bounds` are (low, high) of each."""
        low, high = bounds
        size = int(row.max()) + 1 if len(row) else 0
        self.row.append(row + self.count)
        self.col.append(col)
        self.val.append(np.broadcast_to(np.asarray(val, dtype=np.float64), col.shape))
        self.low.append(np.broadcast_to(np.asarray(low, dtype=np.float64), (size,)))
        self.high.append(np.broadcast_to(np.asarray(high, dtype=np.float64), (size,)))
        self.count += size

    def dense(self, weights: Floats, high: float) -> None:
        """Add one row ``weights · columns ≤ high``."""
        col = np.flatnonzero(weights)
        if len(col):
            self.add(np.zeros(len(col), dtype=np.int64), col, weights[col], (-np.inf, high))


@dataclass(frozen=True, slots=True)
class Model:
    """The model as arrays, ready for any MIP solver."""

    columns: Columns
    cost: Floats
    upper: Floats
    row: Ints
    col: Ints
    val: Floats
    low: Floats
    high: Floats


def columns_of(instance: Instance, limits: Limits) -> Columns:
    """Lay out the columns."""
    k = instance.setup_money.shape[1]
    costs = (instance.setup_money > 0) | (instance.setup_hours > 0)
    method, face = instance.method, instance.face[run_of(instance)]
    real = method >= 0
    pairs = np.unique(face[real] * k + method[real])
    pairs = pairs[costs.ravel()[pairs]] if len(pairs) else pairs
    y = instance.options
    s = y + len(instance.price)
    z = s + len(pairs)
    u = z + len(instance.coats)
    w = u + (0 if limits.products is None else len(instance.price))
    count = w + (0 if limits.unknown_meetings is None else len(instance.meet))
    return Columns(y, s, z, u, w, count, pairs)


def build(instance: Instance, limits: Limits, goal: Goal, aim: str = "value") -> Model:
    """Write the model down.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question.
    aim : str
        What is made small: the goal's value, or one of the amounts that limits are on.

    Returns
    -------
    Model
        Minimise ``cost · columns`` with ``low ≤ rows ≤ high``, every column a whole number in [0, upper].
    """
    columns = columns_of(instance, limits)
    weights = _weights(instance, columns, goal)
    rows = Rows()
    _add_limits(rows, weights, limits)
    _add_runs(rows, instance)
    _add_packs(rows, instance, columns)
    _add_setups(rows, instance, columns)
    _add_coats(rows, instance, columns)
    _add_meetings(rows, instance, columns, limits)
    if limits.products is not None:
        _add_products(rows, instance, columns)
    upper = np.ones(columns.count)
    upper[columns.y : columns.s] = most_packs(instance) - np.floor(instance.owned + PACK_TOLERANCE)
    joined = [np.concatenate(part) if part else np.zeros(0) for part in (rows.val, rows.low, rows.high)]
    return Model(
        columns,
        weights[aim],
        upper,
        np.concatenate([np.zeros(0, dtype=np.int64), *rows.row]),
        np.concatenate([np.zeros(0, dtype=np.int64), *rows.col]),
        *joined,
    )


def _weights(instance: Instance, columns: Columns, goal: Goal) -> dict[str, Floats]:
    m, c = instance.options, columns
    zero = np.zeros(c.count)
    money, hours, air, water, harm, products, unknown = (zero.copy() for _ in range(7))
    money[:m], money[c.y : c.s] = instance.labour, instance.price
    money[c.s : c.z] = instance.setup_money.ravel()[c.pairs]
    money[c.z : c.u] = [coat.labour for coat in instance.coats]
    hours[:m], hours[c.s : c.z] = instance.hours, instance.setup_hours.ravel()[c.pairs]
    hours[c.z : c.u] = [coat.hours for coat in instance.coats]
    air[:m], water[:m], harm[:m] = instance.air, instance.water, harm_of(instance, goal)
    products[c.u : c.w], unknown[c.w :] = 1, 1
    value = money if goal.money else harm
    return dict(zip(AIMS, (value, money, hours, air, water, products, unknown), strict=True))


def _add_limits(rows: Rows, weights: dict[str, Floats], limits: Limits) -> None:
    ends = {
        "money": limits.budget,
        "hours": limits.hours,
        "air": limits.air,
        "water": limits.water,
        "products": limits.products,
        "unknown": limits.unknown_meetings,
    }
    for name, end in ends.items():
        if end is not None and np.isfinite(end):
            rows.dense(weights[name], widest(float(end)))


def _add_runs(rows: Rows, instance: Instance) -> None:
    rows.add(run_of(instance), np.arange(instance.options, dtype=np.int64), 1.0, (1.0, 1.0))


def _add_packs(rows: Rows, instance: Instance, c: Columns) -> None:
    for p in range(len(instance.price)):
        use = np.zeros(c.count)
        use[: c.y] = instance.use[:, p]
        use[c.z : c.u] = [coat.use[p] for coat in instance.coats]
        if use.any():
            use[c.y + p] = -1.0
            rows.dense(use, float(np.floor(instance.owned[p] + PACK_TOLERANCE)) + PACK_TOLERANCE)


def _add_setups(rows: Rows, instance: Instance, c: Columns) -> None:
    if not len(c.pairs):
        return
    k = instance.setup_money.shape[1]
    runs = run_of(instance)
    pair = instance.face[runs] * k + instance.method
    spot = np.searchsorted(c.pairs, pair).clip(max=len(c.pairs) - 1)
    rows_in = np.flatnonzero((instance.method >= 0) & (c.pairs[spot] == pair))
    keys, row = np.unique(runs[rows_in] * len(c.pairs) + spot[rows_in], return_inverse=True)
    ends = np.arange(len(keys), dtype=np.int64)
    col = np.concatenate([rows_in, c.s + keys % len(c.pairs)])
    val = np.concatenate([np.ones(len(rows_in)), -np.ones(len(keys))])
    rows.add(np.concatenate([row.ravel(), ends]), col, val, (-np.inf, 0.0))


def _add_coats(rows: Rows, instance: Instance, c: Columns) -> None:
    inside = np.flatnonzero(instance.coat >= 0)
    if not len(inside):
        return
    count = len(instance.coats)
    keys, row = np.unique(run_of(instance)[inside] * count + instance.coat[inside], return_inverse=True)
    col = np.concatenate([inside, c.z + keys % count])
    val = np.concatenate([np.ones(len(inside)), -np.ones(len(keys))])
    rows.add(np.concatenate([row.ravel(), np.arange(len(keys), dtype=np.int64)]), col, val, (0.0, 0.0))


def _add_meetings(rows: Rows, instance: Instance, c: Columns, limits: Limits) -> None:
    clash, unknown = instance.clash | instance.clash.T, instance.unknown | instance.unknown.T
    for j, (a, b) in enumerate(instance.meet.tolist()):
        _add_meeting(rows, instance, (a, b), clash, -1)
        if limits.unknown_meetings is not None:
            _add_meeting(rows, instance, (a, b), unknown, c.w + j)


def _add_meeting(
    rows: Rows, instance: Instance, pair: tuple[int, int], matrix: NDArray[np.bool_], mark: int
) -> None:
    """Bar each marked pair of materials, or let it through where the column `mark` counts it."""
    for one, other in (pair, pair[::-1]):
        here, there = (np.arange(instance.first[r], instance.first[r + 1]) for r in (one, other))
        for kind in np.unique(instance.material[here]):
            far = there[instance.material[there] >= 0]
            far = far[matrix[kind, instance.material[far]]] if kind >= 0 else far[:0]
            if len(far):
                col = np.concatenate([here[instance.material[here] == kind], far])
                val = np.ones(len(col))
                if mark >= 0:
                    col, val = np.append(col, mark), np.append(val, -1.0)
                rows.add(np.zeros(len(col), dtype=np.int64), col, val, (-np.inf, 1.0))


def _add_products(rows: Rows, instance: Instance, c: Columns) -> None:
    runs = run_of(instance)
    for p in range(len(instance.price)):
        inside = np.flatnonzero(instance.use[:, p] > 0)
        keys, row = np.unique(runs[inside], return_inverse=True)
        ends = np.arange(len(keys), dtype=np.int64)
        col = np.concatenate([inside, np.full(len(keys), c.u + p, dtype=np.int64)])
        val = np.concatenate([np.ones(len(inside)), -np.ones(len(keys))])
        if len(inside):
            rows.add(np.concatenate([row.ravel(), ends]), col, val, (-np.inf, 0.0))
    for n, coat in enumerate(instance.coats):
        for p in np.flatnonzero(coat.use > 0).tolist():
            col = np.array([c.z + n, c.u + p], dtype=np.int64)
            rows.add(np.zeros(2, dtype=np.int64), col, np.array([1.0, -1.0]), (-np.inf, 0.0))


def start_columns(instance: Instance, columns: Columns, plan: Bill) -> Floats:
    """Give a plan as values of the columns (unknown meetings all marked as counted)."""
    values = np.zeros(columns.count)
    values[plan.pick] = 1
    values[columns.y : columns.s] = plan.packs
    values[columns.s : columns.z] = plan.taken.ravel()[columns.pairs]
    values[columns.z : columns.u] = plan.coats
    if columns.w > columns.u:
        values[columns.u : columns.w] = plan.opened > 0
    if columns.count > columns.w:
        values[columns.w :] = _unknown_marks(instance, plan)
    return values


def _unknown_marks(instance: Instance, plan: Bill) -> Floats:
    a, b = (instance.material[plan.pick[instance.meet[:, side]]] for side in (0, 1))
    marks = (instance.unknown | instance.unknown.T)[a, b] & (a >= 0) & (b >= 0)
    return marks.astype(np.float64)


def without(limits: Limits, name: str) -> Limits:
    """Limits with one of them lifted ('money', 'hours', 'air', 'water', 'products', 'unknown')."""
    ways: dict[str, dict[str, Any]] = {
        "money": {"budget": float("inf")},
        "hours": {"hours": float("inf")},
        "air": {"air": float("inf")},
        "water": {"water": float("inf")},
        "products": {"products": None},
        "unknown": {"unknown_meetings": None},
    }
    return replace(limits, **ways[name])
