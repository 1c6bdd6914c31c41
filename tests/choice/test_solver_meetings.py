"""Meetings in bound and plan: trees of meetings, rows between groups, and who gives way, against every plan.

# Source: full enumeration (every plan, every assignment of states added up and compared); hand sums where said.
# Tolerance: 1e-7 relative, rounding of sums.
"""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from hullwright.choice.instance import Coat, Goal, Instance, Limits
from hullwright.choice.solver import check
from hullwright.choice.solver.enumerate import allowed, enumerate_plans
from hullwright.choice.solver.ledger import bill
from hullwright.choice.solver.own.forest import Forest, states_of
from hullwright.choice.solver.own.form import NEVER, Part, make_form
from hullwright.choice.solver.own.giveway import GiveWay
from hullwright.choice.solver.own.grouped import GroupTree
from hullwright.choice.solver.own.meetings import Meetings
from hullwright.choice.solver.own.tree import Work

EDGES = [
    [(0, 1), (1, 2), (2, 3), (3, 4)],  # a chain over both faces
    [(0, 1), (1, 2), (0, 2), (3, 4)],  # a ring within a face
    [(0, 3), (1, 4), (0, 4), (2, 3)],  # nearly all between faces
    [(0, 1), (0, 2), (0, 3), (0, 4)],  # a star
]


def meeting_case(seed: int) -> tuple[Instance, Limits, Goal]:
    """Five runs on two faces with set-ups, now and then a coat, and meetings that fail or are unknown."""
    rng = np.random.default_rng([seed, 99])
    runs, options = 5, 4
    m = runs * options
    coat = np.full((runs, options), -1)
    if seed % 3 == 0:
        coat[[0, 1], 3] = 0
    use = rng.uniform(0, 0.8, (m, 2)) * (coat.ravel() < 0)[:, None] * (rng.random((m, 2)) < 0.7)
    clash = np.zeros((4, 4), dtype=bool)
    clash[0, 1] = clash[2, 3] = True
    unknown = np.zeros((4, 4), dtype=bool)
    unknown[0, 2] = unknown[3, 3] = True
    instance = Instance(
        first=np.arange(runs + 1) * options, air=rng.exponential(1.0, m), water=np.zeros(m),
        labour=rng.exponential(4.0, m) * (coat.ravel() < 0), hours=rng.exponential(1.0, m), use=use,
        price=np.array([6.0, 9.0]), stock=np.full(2, np.inf), owned=np.zeros(2),
        method=rng.integers(-1, 3, m), face=np.array([0, 0, 0, 1, 1]),
        setup_money=np.round(rng.exponential(3.0, (2, 3)), 1) * (seed % 2), setup_hours=np.zeros((2, 3)),
        coat=coat.ravel(), coats=(Coat(0, 3.0, 0.2, np.array([0.6, 0.0])),) if seed % 3 == 0 else (),
        meet=np.array(EDGES[seed % 4], dtype=np.int64), material=rng.integers(-1, 4, m), clash=clash, unknown=unknown,
    )  # fmt: skip
    limits = Limits(unknown_meetings=int(rng.integers(0, 2)) if seed % 5 < 3 else None)
    goal = Goal(1.0, 0.0)
    cheap = enumerate_plans(instance, limits, replace(goal, money=True))
    if cheap is not None:
        limits = replace(limits, budget=cheap.spent * float(rng.uniform(1.0, 1.5)))
    if seed % 7 == 1:
        limits = replace(limits, products=1)
    return instance, limits, goal


@pytest.mark.parametrize("block", [0, 1, *(pytest.param(n, marks=pytest.mark.slow) for n in (2, 3, 4))])
def test_raw_bound_and_plan_with_meetings_against_every_plan(block):
    feasible = met = 0
    for seed in range(block * 60, block * 60 + 60):
        instance, limits, goal = meeting_case(seed)
        truth = enumerate_plans(instance, limits, goal)
        tree = GroupTree(instance, limits, goal, Work(60, 12, 1e-6))
        tree.run()
        if truth is None:
            assert tree.plan is None, seed
            continue
        feasible += 1
        slack = 1e-7 * max(1.0, truth.value)
        assert tree.bound <= truth.value + slack, (seed, tree.bound, truth.value)
        if tree.plan is not None:
            plan = bill(instance, tree.form.rows[np.arange(tree.form.runs), tree.plan.option])
            assert allowed(instance, limits, plan), seed
            assert check(instance, limits, goal, plan.answer(goal, tree.bound, 1)) == []
            met += tree.plan.value <= truth.value + slack
    assert feasible >= 30
    assert met >= 0.9 * feasible


@pytest.mark.parametrize("seed", range(48))
def test_no_multipliers_give_a_bound_above_the_best_plan_with_meetings(seed):
    instance, limits, goal = meeting_case(seed)
    truth = enumerate_plans(instance, limits, goal)
    if truth is None:
        pytest.skip("no plan in this case")
    tree = GroupTree(instance, limits, goal, Work(20, 4, 1e-4))
    rng = np.random.default_rng(seed)
    box = tree._roots()[0]
    _, root = tree.master.solve(box, None)
    assert root.bound <= truth.value * (1 + 1e-7)
    for size in np.geomspace(0.01, 3.0, 20):
        price = root.price * rng.uniform(0.5, 1.5) + size * rng.exponential(0.05, len(root.price))
        assert tree.master.bound(price, box)[0] <= truth.value * (1 + 1e-7)


@pytest.mark.parametrize("seed", range(30))
def test_groups_are_valued_as_the_best_of_all_their_plans(seed):
    # every plan of every group is tried: set-ups, coat and meetings that close no ring within the group
    instance, limits, goal = meeting_case(seed)
    tree = GroupTree(instance, limits, goal, Work(5, 1, 1e-4))
    groups = tree.groups
    rng = np.random.default_rng(seed)
    price = rng.exponential(0.1, len(tree.form.room))
    unknown = groups.unknown(price)
    ways = groups.ways(price)
    best = np.full(groups.count, np.inf)
    for option in itertools.product(range(4), repeat=5):
        plan = groups.columns(np.array(option))
        fails, count = groups.within(np.array(option))
        value = plan.cost + plan.need @ price + unknown * count
        best = np.where(plan.real & ~fails, np.minimum(best, value), best)
    some = np.isfinite(best)
    assert ways.least[some] == pytest.approx(best[some], rel=1e-9)
    assert (ways.least[~some] >= NEVER / 2).all()
    if some.all():
        option = groups.pick(ways.best, ways.option, unknown)
        plan, (fails, count) = groups.columns(option), groups.within(option)
        assert not fails.any()
        assert plan.cost + plan.need @ price + unknown * count == pytest.approx(ways.least, rel=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_trees_of_meetings_against_every_assignment(seed):
    rng = np.random.default_rng(seed)
    runs = 6
    edges = np.array([(int(rng.integers(0, r)), r) for r in range(1, runs) if rng.random() < 0.85]).reshape(
        -1, 2
    )
    material = rng.integers(-1, 3, (runs, 3))
    clash, unknown = rng.random((3, 3)) < 0.25, rng.random((3, 3)) < 0.4
    clash, unknown = clash | clash.T, unknown | unknown.T
    state, fails, counted = states_of(material, clash, unknown & ~clash)
    forest = Forest(state, (fails, counted), np.full((runs, 3), -1), edges)
    value, price = rng.exponential(1.0, (runs, 3)), 0.3
    table = forest.table(value).min(axis=2)
    least = forest.fold(table[:, :, None].copy(), price).sum()
    best = np.inf
    for option in itertools.product(range(3), repeat=runs):
        bad, open_ = forest.count(np.array(option))
        if not bad.any():
            best = min(best, sum(value[r, option[r]] for r in forest.member) + price * open_.sum())
    if best == np.inf:
        assert least >= NEVER / 2
        return
    assert least == pytest.approx(best, rel=1e-12)
    chosen = forest.choose(table, price)
    total = sum(value[r][state[r] == chosen[n]].min() for n, r in enumerate(forest.member))
    a, b = chosen[forest.place[edges]].T
    assert total + price * counted[a, b].sum() == pytest.approx(best, rel=1e-12)


def test_materials_that_fail_beside_the_same_others_are_one_state():
    # Source: hand sum. 0 fails beside 1; 2 and 3 fail beside nothing, as -1 does: three states.
    clash = np.zeros((4, 4), dtype=bool)
    clash[0, 1] = clash[1, 0] = True
    state, fails, _ = states_of(np.array([[0, 1, 2, 3, -1]]), clash, np.zeros((4, 4), dtype=bool))
    assert len(fails) == 3
    assert state[0, 2] == state[0, 3] == state[0, 4]
    assert fails[state[0, 0], state[0, 1]]
    assert not fails[state[0, 0], state[0, 2]]


@pytest.mark.parametrize("seed", range(30))
def test_whoever_gives_way_leaves_no_meeting_that_fails(seed):
    instance, limits, goal = meeting_case(4 * seed)  # a chain: no two that give way meet
    form = make_form(instance, limits, goal, Part(np.arange(5)))
    meetings = Meetings(instance, limits, form)
    rng = np.random.default_rng(seed)
    start = next(
        (o for o in map(np.array, itertools.product(range(4), repeat=5)) if not meetings.failing_pairs(o)),
        None,
    )
    if start is None:
        pytest.skip("every plan of this case fails at a meeting")
    regret = rng.exponential(1.0, (5, 4))
    regret[np.arange(5), start] = 0.0
    give = GiveWay(meetings, start, regret)
    more = give.more(form.need)
    for run, to in itertools.product(range(5), range(4)):
        if give.regret[run, to] >= NEVER / 2:
            continue
        option = start.copy()
        option[run] = to
        changes = give.changes(run, to)
        for other, answer in changes:
            option[other] = answer
        assert meetings.failing_pairs(option) == []
        every = np.arange(5)
        assert give.regret[run, to] == pytest.approx(float(regret[every, option].sum()), rel=1e-12)
        taken = (form.need[every, option] - form.need[every, start]).sum(axis=0)
        assert more[run, to] + form.need[run, to] - form.need[run, start[run]] == pytest.approx(
            taken, abs=1e-12
        )


def test_row_between_groups_lifts_the_bound_to_the_plan():
    # Source: hand sum. Two runs on two faces, each tied to a neighbour by a set-up, meet: both want harm 0 in
    # materials that fail side by side, so one takes harm 1 (value 1). Without the row the program mixes nothing: 0.
    first = np.arange(5) * 2
    instance = Instance(
        first=first, air=np.array([0.0, 1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0]), water=np.zeros(8), labour=np.zeros(8),
        hours=np.zeros(8), use=np.zeros((8, 0)), price=np.zeros(0), stock=np.zeros(0), owned=np.zeros(0),
        method=np.tile([0, 1], 4), face=np.array([0, 0, 1, 1]), setup_money=np.ones((2, 2)),
        setup_hours=np.zeros((2, 2)), coat=np.full(8, -1), meet=np.array([[0, 2]]),
        material=np.array([0, 2, 2, 2, 1, 2, 2, 2]), clash=np.array([[0, 1, 0], [0, 0, 0], [0, 0, 0]], dtype=bool),
        unknown=np.zeros((3, 3), dtype=bool),
    )  # fmt: skip
    tree = GroupTree(instance, Limits(budget=100.0), Goal(1.0, 0.0), Work(1, 0, 1e-6))
    assert tree.form.names.count("meeting") == 1
    _, root = tree.master.solve(tree._roots()[0], None)
    assert root.bound == pytest.approx(1.0, abs=1e-6)
