"""Bounds taken raw, before a plan's value could hide a wrong one.

# Source: full enumeration of small cases; hand sums. Tolerance: 1e-7 relative, rounding of sums.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from hullwright.choice.instance import Coat, Goal, Instance, Limits
from hullwright.choice.solver import solve
from hullwright.choice.solver.curve import archive
from hullwright.choice.solver.enumerate import enumerate_plans
from hullwright.choice.solver.own.grouped import GroupTree
from hullwright.choice.solver.own.tree import Work


def tied_case(seed: int) -> tuple[Instance, Limits, Goal]:
    """Five runs on two faces, three methods with set-ups, a coat, meetings, in either mode."""
    rng = np.random.default_rng(seed)
    first = np.arange(6) * 4
    coat = np.full(20, -1)
    coat[[3, 7]] = 0
    use = rng.uniform(0, 0.8, (20, 2)) * (coat < 0)[:, None]
    instance = Instance(
        first=first, air=rng.exponential(1.0, 20), water=np.zeros(20), labour=rng.exponential(4.0, 20),
        hours=rng.exponential(1.0, 20), use=use, price=np.array([6.0, 9.0]), stock=np.full(2, np.inf),
        owned=np.zeros(2), method=rng.integers(0, 3, 20), face=np.array([0, 0, 0, 1, 1]),
        setup_money=rng.exponential(8.0, (2, 3)), setup_hours=np.zeros((2, 3)), coat=coat,
        coats=(Coat(0, 3.0, 0.2, np.array([0.6, 0.0])),), meet=np.array([[0, 1], [2, 3]]),
        material=rng.integers(0, 3, 20), clash=np.eye(3, dtype=bool)[::-1].copy(), unknown=np.zeros((3, 3), bool),
    )  # fmt: skip
    money = bool(seed % 2)
    cheap = enumerate_plans(instance, Limits(), Goal(1.0, 0.0, money=True))
    assert cheap is not None
    limits = (
        Limits(air=float(instance.air[cheap.pick].sum() * 0.8)) if money else Limits(budget=cheap.spent * 1.2)
    )
    return instance, limits, Goal(1.0, 0.0, money=money)


@pytest.mark.parametrize("seed", range(24))
def test_no_multipliers_give_a_bound_above_the_best_plan(seed):
    instance, limits, goal = tied_case(seed)
    truth = enumerate_plans(instance, limits, goal)
    if truth is None:
        pytest.skip("no plan in this case")
    tree = GroupTree(instance, limits, goal, Work(20, 4, 1e-4))
    rng = np.random.default_rng(seed)
    box = tree._roots()[0]
    _, root = tree.master.solve(box, None)
    best = -np.inf
    for size in np.geomspace(0.01, 3.0, 25):
        price = root.price * rng.uniform(0.5, 1.5) + size * rng.exponential(
            0.05, len(root.price)
        ) * rng.integers(0, 2)
        best = max(best, tree.master.bound(price, box)[0])
    assert best <= root.bound * (1 + 1e-4) or len(instance.meet)
    assert best <= truth.value * (1 + 1e-7)
    assert root.bound <= truth.value * (1 + 1e-7)


def test_set_up_is_in_the_bound_once_and_whole():
    # Source: hand sum. One run, one option: labour 10 and set-up 5 in target mode make 15, and the bound is exact.
    instance = Instance(
        first=np.array([0, 1]), air=np.ones(1), water=np.zeros(1), labour=np.array([10.0]), hours=np.ones(1),
        use=np.zeros((1, 1)), price=np.ones(1), stock=np.full(1, np.inf), owned=np.zeros(1), method=np.zeros(1, int),
        face=np.zeros(1, int), setup_money=np.array([[5.0]]), setup_hours=np.zeros((1, 1)), coat=np.full(1, -1),
    )  # fmt: skip
    tree = GroupTree(instance, Limits(), Goal(1.0, 0.0, money=True), Work(5, 1, 1e-4))
    _, root = tree.master.solve(tree._roots()[0], None)
    assert root.bound == pytest.approx(15.0, rel=1e-12)


@pytest.mark.parametrize("engine", ["own", "mip", "both"])
@pytest.mark.parametrize(("most", "value"), [(0, 3.0), (1, 2.0), (None, 1.0)])
def test_unknown_meetings_are_counted_and_limited(engine, most, value):
    # Source: hand sum. Three runs in a row, tape (harm 1) or liquid (harm 0, 20 money); the middle one can only be
    # tape, harm 1. Liquid beside tape is unknown: harm 3 with no such meeting, 2 with one, 1 with two.
    instance = Instance(
        first=np.array([0, 2, 3, 5]), air=np.array([1.0, 0.0, 1.0, 1.0, 0.0]), water=np.zeros(5),
        labour=np.array([0.0, 20.0, 0.0, 0.0, 20.0]), hours=np.zeros(5), use=np.zeros((5, 0)), price=np.zeros(0),
        stock=np.zeros(0), owned=np.zeros(0), method=np.full(5, -1), face=np.zeros(3, int),
        setup_money=np.zeros((1, 1)), setup_hours=np.zeros((1, 1)), coat=np.full(5, -1),
        meet=np.array([[0, 1], [1, 2]]), material=np.array([0, 1, 0, 0, 1]), clash=np.zeros((2, 2), bool),
        unknown=np.array([[False, True], [True, False]]),
    )  # fmt: skip
    answer = solve(instance, Limits(budget=40.0, unknown_meetings=most), Goal(1.0, 0.0), engine=engine)
    assert answer.value == value


def test_archive_hands_plans_up_and_bounds_down_and_nothing_else():
    instance, _, goal = tied_case(0)
    free = enumerate_plans(instance, Limits(), replace(goal, money=True))
    best = enumerate_plans(instance, Limits(), goal)
    assert free is not None
    assert best is not None
    found = [
        (free.spent, replace(free, bound=best.value * 0.5)),
        (best.spent, replace(best, bound=best.value * 0.75)),
        (best.spent + 1.0, replace(free, bound=best.value * 0.25)),
    ]
    points = archive(instance, goal, found, [])
    assert [answer.bound / best.value for _, answer in points] == pytest.approx([0.75, 0.75, 0.25])
    assert points[2][1].value == pytest.approx(best.value)
