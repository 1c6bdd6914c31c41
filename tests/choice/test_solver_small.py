"""The solver against the trying of every plan.

# Source: full enumeration (every plan added up and compared), no formula of the solver in it.
# Tolerance: 1e-6 relative, the rounding of sums and of the whole-pack rule.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from hullwright.choice.instance import Coat, Goal, Instance, Limits
from hullwright.choice.solver import check, curve, solve
from hullwright.choice.solver.enumerate import enumerate_plans
from hullwright.errors import InfeasibleError

TOLERANCE = 1e-6


@dataclass
class Case:
    instance: Instance
    limits: Limits
    goal: Goal


def small_case(seed: int, *, extras: bool = True) -> Case:
    """A random case of few runs with every extra now and then (set-ups, coats and meetings only with `extras`)."""
    rng = np.random.default_rng(seed)
    runs, products, faces, methods = (
        int(rng.integers(1, 7)),
        int(rng.integers(0, 4)),
        int(rng.integers(1, 4)),
        3,
    )
    sizes = rng.integers(1, 5, runs)
    first = np.concatenate([[0], np.cumsum(sizes)])
    m = int(first[-1])
    face = np.sort(rng.integers(0, faces, runs))
    run = np.repeat(np.arange(runs), sizes)
    coat, coats = _random_coats(rng, (first, face, run), products) if extras else (np.full(m, -1), ())
    pairs = [(a, b) for a in range(runs) for b in range(a) if rng.random() < 0.3]
    meetings = extras and rng.random() < 0.6
    clash = rng.random((4, 4)) < 0.2
    owned = rng.integers(0, 2, products).astype(float) * (rng.random() < 0.4)
    instance = Instance(
        first=first,
        air=np.round(rng.exponential(1.0, m), 2) * (rng.random(m) < 0.9),
        water=np.round(rng.exponential(1.0, m), 2) * (rng.random() < 0.7),
        labour=np.round(rng.exponential(5.0, m), 2),
        hours=np.round(rng.exponential(1.0, m), 2),
        use=rng.uniform(0, 1.2, (m, products)) * (rng.random((m, products)) < 0.6) * (coat < 0)[:, None],
        price=np.round(rng.uniform(1, 9, products)),
        stock=np.where(rng.random(products) < 0.3, rng.integers(1, 4, products), np.inf),
        owned=owned,
        method=rng.integers(-1, methods, m),
        face=face,
        setup_money=np.round(rng.exponential(3.0, (faces, methods))) * (extras and rng.random() < 0.6),
        setup_hours=np.round(rng.exponential(0.5, (faces, methods)), 1) * (extras and rng.random() < 0.4),
        coat=coat,
        coats=coats,
        meet=np.array(pairs if meetings else [], dtype=np.int64).reshape(-1, 2),
        material=rng.integers(-1, 4, m),
        clash=clash,
        unknown=(rng.random((4, 4)) < 0.4) & ~clash,
    )
    goal = Goal(1.0, float(rng.uniform(0, 2)), money=bool(rng.random() < 0.3))
    return Case(instance, _random_limits(instance, goal, rng), goal)


def _random_coats(rng, shape, products):
    first, face, _ = shape
    coat = np.full(int(first[-1]), -1)
    coats = []
    for f in np.unique(face):
        rows = [int(first[r + 1] - 1) for r in np.flatnonzero(face == f) if first[r + 1] - first[r] > 1]
        if rows and rng.random() < 0.4:
            use = rng.uniform(0, 2, products)
            coat[rows] = len(coats)
            coats.append(Coat(int(f), float(np.round(rng.exponential(5.0))), 0.5, use))
    return coat, tuple(coats)


def _random_limits(instance, goal, rng):
    """Limits between what the quickest look finds to be cheap and to be good."""
    free = enumerate_plans(instance, Limits(), replace(goal, money=True))
    best = enumerate_plans(instance, Limits(), replace(goal, money=False))
    if free is None or best is None:
        return Limits()
    mix = rng.uniform(-0.05, 1.0)
    limits = Limits(budget=np.inf if goal.money else free.spent + mix * max(best.spent - free.spent, 0.0))
    if goal.money:
        limits = replace(limits, air=float(instance.air[free.pick].sum() * rng.uniform(0.3, 1.1)))
    if rng.random() < 0.4:
        limits = replace(limits, hours=max(free.hours, best.hours) * float(rng.uniform(0.6, 1.1)))
    if rng.random() < 0.3:
        limits = replace(limits, products=int(rng.integers(1, 3)))
    if rng.random() < 0.3 and len(instance.meet):
        limits = replace(limits, unknown_meetings=int(rng.integers(0, 3)))
    return limits


def compare(case: Case, engine: str, seed: int) -> bool:
    """Whether there is a plan; fails where solver and enumeration differ."""
    truth = enumerate_plans(case.instance, case.limits, case.goal)
    if truth is None:
        with pytest.raises(InfeasibleError):
            solve(case.instance, case.limits, case.goal, engine=engine)
        return False
    answer = solve(case.instance, case.limits, case.goal, engine=engine)
    assert check(case.instance, case.limits, case.goal, answer) == [], seed
    slack = TOLERANCE * max(1.0, truth.value)
    assert answer.value >= truth.value - slack, seed
    assert answer.bound <= truth.value + slack, (seed, answer.bound, truth.value)
    if engine != "own":
        assert answer.value <= truth.value * (1 + 2e-4) + slack, (seed, answer.value, truth.value)
    return True


@pytest.mark.parametrize(("engine", "cases"), [("own", 250), ("mip", 360), ("both", 80)])
def test_small_cases_against_every_plan(engine, cases):
    feasible = sum(compare(small_case(seed), engine, seed) for seed in range(cases))
    assert feasible >= 0.5 * cases  # the cases must not be empty talk


@pytest.mark.slow
@pytest.mark.parametrize("engine", ["own", "mip", "both"])
def test_many_more_small_cases_against_every_plan(engine):
    feasible = sum(compare(small_case(seed), engine, seed) for seed in range(2000, 3000))
    assert feasible >= 500


@pytest.mark.parametrize("engine", ["own", "both"])
def test_small_cases_with_packs_and_limits_alone(engine):
    feasible = sum(compare(small_case(seed, extras=False), engine, seed) for seed in range(1000, 1300))
    assert feasible >= 150


def test_check_finds_every_kind_of_damage():
    found = 0
    for seed in range(40):
        case = small_case(seed)
        answer = enumerate_plans(case.instance, case.limits, case.goal)
        if answer is None or not len(answer.packs) or not answer.packs.any():
            continue
        damaged = [
            replace(answer, packs=np.zeros_like(answer.packs)),
            replace(answer, spent=answer.spent - 1.0),
            replace(answer, value=answer.value + 1.0),
            replace(answer, hours=answer.hours + 0.5),
            replace(answer, bound=answer.value + 1.0),
            replace(answer, pick=answer.pick + case.instance.options),
        ]
        for bad in damaged:
            assert check(case.instance, case.limits, case.goal, bad), seed
        found += 1
    assert found >= 10


def test_no_runs():
    case = small_case(1)
    zero = np.zeros(0)
    rows = dict.fromkeys(("air", "water", "labour", "hours"), zero)
    ints = {name: zero.astype(np.int64) for name in ("method", "face", "coat", "material")}
    empty = replace(
        case.instance, first=np.zeros(1, dtype=np.int64), use=np.zeros((0, len(case.instance.price))), coats=(),
        meet=np.zeros((0, 2), dtype=np.int64), **rows, **ints,
    )  # fmt: skip
    for engine in ("own", "mip", "both"):
        answer = solve(empty, Limits(budget=1.0), Goal(1.0, 1.0), engine=engine)
        assert (answer.value, answer.spent, answer.gap) == (0.0, 0.0, 0.0)
        with pytest.raises(InfeasibleError):
            solve(empty, Limits(budget=-1.0), Goal(1.0, 1.0), engine=engine)


def two_runs(**change) -> Instance:
    """Two runs, each tape (harm 4, labour 10) or liquid (harm 1, labour 30, half a pack of 8)."""
    base = Instance(
        first=np.array([0, 2, 4]),
        air=np.array([4.0, 1.0, 4.0, 1.0]),
        water=np.zeros(4),
        labour=np.array([10.0, 30.0, 10.0, 30.0]),
        hours=np.array([1.0, 2.0, 1.0, 2.0]),
        use=np.array([[0.0], [0.5], [0.0], [0.5]]),
        price=np.array([8.0]),
        stock=np.array([np.inf]),
        owned=np.array([0.0]),
        method=np.array([0, 1, 0, 1]),
        face=np.array([0, 0]),
        setup_money=np.array([[0.0, 5.0]]),
        setup_hours=np.zeros((1, 2)),
        coat=np.full(4, -1),
        material=np.array([0, 1, 0, 1]),
        clash=np.zeros((2, 2), dtype=bool),
        unknown=np.zeros((2, 2), dtype=bool),
    )
    return replace(base, **change)


# Source: hand sums. Tape only: 20. One liquid: 10 + 30 + 8 (a whole pack) + 5 (set-up) = 53. Both: 60 + 8 + 5 = 73.
# Tolerance: none, whole numbers.
@pytest.mark.parametrize("engine", ["own", "mip", "both"])
@pytest.mark.parametrize(("budget", "value", "spent"), [(20, 8, 20), (52.9, 8, 20), (53, 5, 53), (73, 2, 73)])
def test_hand_case(engine, budget, value, spent):
    answer = solve(two_runs(), Limits(budget=budget), Goal(1.0, 0.0), engine=engine)
    assert (answer.value, answer.spent) == (value, spent)


@pytest.mark.parametrize("engine", ["own", "mip", "both"])
def test_hand_case_in_target_mode(engine):
    answer = solve(two_runs(), Limits(air=5.0), Goal(1.0, 0.0, money=True), engine=engine)
    assert (answer.value, answer.packs.tolist()) == (53.0, [1])
    owned = solve(two_runs(owned=np.array([1.0])), Limits(air=5.0), Goal(1.0, 0.0, money=True), engine=engine)
    assert (owned.value, owned.packs.tolist()) == (45.0, [0])


# Source: hand sums as above. Tolerance: the six digits that the message prints.
@pytest.mark.parametrize(
    ("limits", "words"),
    [
        (Limits(budget=15.0), "cheapest allowed plan costs more than the budget: 20 against 15, 5 too much"),
        (
            Limits(hours=1.5),
            "quickest allowed plan takes longer than the hours: 2 h against 1.5 h, 0.5 h too much",
        ),
        (Limits(air=1.0), "least reachable leakage is above its limit: 2 cm2 against 1 cm2, 1 cm2 too much"),
        (Limits(air=2.0, products=0), "no allowed plan does with so few products: 1 against 0, 1 too much"),
        (Limits(air=2.0, budget=60.0), "costs more than the budget: 73 against 60, 13 too much"),
    ],
)
def test_infeasible_says_what_and_by_how_much(limits, words):
    with pytest.raises(InfeasibleError) as error:
        solve(two_runs(), limits, Goal(1.0, 0.0), engine="own")
    assert words in str(error.value)


def test_infeasible_by_meetings_alone():
    every = np.ones((2, 2), dtype=bool)
    with pytest.raises(InfeasibleError, match="known to fail"):
        solve(two_runs(meet=np.array([[0, 1]]), clash=every), Limits(), Goal(1.0, 0.0), engine="own")


def test_curve_is_monotone_and_ends_where_nothing_improves():
    points = curve(two_runs(), Limits(), Goal(1.0, 0.0), points=5)
    budgets, values = [b for b, _ in points], [a.value for _, a in points]
    assert (budgets[0], budgets[-1]) == (20.0, 73.0)
    assert values == sorted(values, reverse=True)
    assert (values[0], values[-1]) == (8.0, 2.0)
    assert all(a.spent <= b for b, a in points)
