"""The own engine on the example houses: gap and time at several budgets, alone and with the general MIP solver after it.

Run: python benchmarks/houses_plan.py [--own] [FILE …]. Times are processor seconds of this process (other load on the
machine weighs less so); gap = (plan - bound) / plan with whole packs. Budgets lie between the cheapest allowed plan and
the one of least harm. The page's slider works with the own engine alone at effort "quick": aim 1 % in 0.5 s.
"""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

from hullwright import building, choice, hull, joints
from hullwright.choice.making import Question, ask
from hullwright.choice.solver import Effort, solve
from hullwright.choice.solver.own.engine import solve_own
from hullwright.choice.solver.solving import effort_of
from hullwright.errors import InfeasibleError

ROOT = Path(__file__).parents[1]
SHARES = (0.1, 0.25, 0.5, 0.75)


def question(path: Path) -> Question:
    """The choice of a building file."""
    house = building.read(path)
    body = hull.build(house)
    return ask(house, body, joints.find(house, body), settings=choice.Settings(engine="own"))


def budgets(asked: Question) -> list[tuple[str, float]]:
    """Stated budget (where there is one) and shares of the way from the cheapest to the best plan."""
    instance, limits, goal = asked.choice.instance, asked.limits, asked.goal
    free = replace(limits, budget=float("inf"))
    some = Effort(nodes=60, beams=10, mip_nodes=50, seconds=20.0)
    low = solve(instance, free, replace(goal, money=True), engine="both", effort=some)
    best = solve(instance, free, goal, engine="both", effort=some)
    found = [(f"{share:4.0%}", low.spent + share * (best.spent - low.spent)) for share in SHARES]
    stated = [("file", limits.budget)] if np.isfinite(limits.budget) else []
    return stated + found


def line(asked: Question, name: str, budget: float, *, both: bool) -> str:
    """Gap and time of one budget."""
    instance, limits, goal = asked.choice.instance, replace(asked.limits, budget=budget), asked.goal
    text = f"  {name:>5} {budget:9.0f}"
    for effort in ("quick", "normal"):
        start = time.process_time()
        outcome = solve_own(instance, limits, goal, effort=effort_of(effort), start=None, progress=None)
        seconds = time.process_time() - start
        value = float("inf") if outcome.plan is None else outcome.plan.value(goal)
        gap = (
            100 * (value - outcome.bound) / value if outcome.plan is not None and value > 0 else float("inf")
        )
        text += f" | own {effort}: value {value:8.4f} gap {gap:7.3f} % {seconds:6.2f} s"
    if both:
        start = time.process_time()
        try:
            answer = solve(instance, limits, goal, effort=Effort(seconds=60.0), engine="both")
        except InfeasibleError as error:
            return f"{text} | both: {error.message}"
        seconds = time.process_time() - start
        text += f" | both: value {answer.value:8.4f} gap {100 * answer.gap:7.3f} % {seconds:6.2f} s"
    return text


def main(files: list[str], *, both: bool) -> None:
    """Print the table."""
    for path in [Path(f) for f in files] or sorted((ROOT / "examples").glob("*.yaml")):
        asked = question(path)
        instance = asked.choice.instance
        used = np.unique(instance.method[instance.method >= 0])
        print(
            f"{path.stem}: {instance.runs} runs, {instance.options} options, {len(instance.price)} products, "
            f"{len(instance.setup_money)} faces, {len(used)} methods, {len(instance.coats)} coats, "
            f"{len(instance.meet)} meetings",
            flush=True,
        )
        for name, budget in budgets(asked):
            print(line(asked, name, budget, both=both), flush=True)


if __name__ == "__main__":
    main([a for a in sys.argv[1:] if not a.startswith("--")], both="--own" not in sys.argv)
