"""Budgets stepped finely round the prices of plans: always a sound answer, and never a worse one for more money.

Houses with bays, dormers, stacked bodies, products, prices and stock of their own, and a supplier's price list. The fault
that this looks for sat in a band of budgets around the price of a house's own target plan.

# Source: each plan is added up again here, run by run in exact cents where money is compared, with nothing of the solver's sums.
# Tolerance: 1e-6 relative, rounding of sums; between budgets no more than the gap that each answer states.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass, replace
from pathlib import Path

import pytest
from random_houses import house

from hullwright.app.house import load
from hullwright.app.price_list import price_list
from hullwright.catalog import load as load_catalog
from hullwright.choice.making import Question, Settings, ask, make
from hullwright.choice.solver import Case, Effort
from hullwright.choice.solver.effort import QUICK
from hullwright.choice.target import Aimed, reach, sure_ach50
from hullwright.errors import InfeasibleError

CENT = 0.01
NEAR = 1e-6
FEW = Effort(nodes=2, beams=1, mip_nodes=1, gap=0.05)
STEPS = (-1.0, -CENT, 0.0, CENT, 1.0)


@dataclass
class Counted:
    """Totals of one plan, added up run by run."""

    money: float
    hours: float
    harm: float


def counted(question, answer) -> Counted:
    """Add up a plan from its picks alone: labor, whole packs beyond the stock, set-ups, coats."""
    instance, goal = question.choice.instance, question.goal
    money, hours, air, water = [], [], [], []
    used = dict.fromkeys(range(len(instance.price)), 0.0)
    setups, coats = set(), set()
    for run, row in enumerate(answer.pick.tolist()):
        assert instance.first[run] <= row < instance.first[run + 1], "an option of another run"
        money.append(float(instance.labour[row]))
        hours.append(float(instance.hours[row]))
        air.append(float(instance.air[row]))
        water.append(float(instance.water[row]))
        for product in used:
            used[product] += float(instance.use[row, product])
        if instance.method[row] >= 0:
            setups.add((int(instance.face[run]), int(instance.method[row])))
        if instance.coat[row] >= 0:
            coats.add(int(instance.coat[row]))
    for number in coats:
        coat = instance.coats[number]
        money.append(coat.labour)
        hours.append(coat.hours)
        for product in used:
            used[product] += float(coat.use[product])
    for face, method in setups:
        money.append(float(instance.setup_money[face, method]))
        hours.append(float(instance.setup_hours[face, method]))
    for product, packs in used.items():
        opened = math.ceil(packs - 1e-6)
        money.append(max(opened - int(instance.owned[product]), 0) * float(instance.price[product]))
    harm = goal.air_weight * math.fsum(air) + goal.water_weight * math.fsum(water)
    return Counted(math.fsum(money), math.fsum(hours), harm)


def written(folder: Path, seed: int) -> Path:
    """A house as a file; every fourth one with the prices of a supplier's list."""
    path = folder / f"house-{seed}.yaml"
    path.write_text(house(seed, own=True))
    if seed % 4 == 1:
        sheets = load_catalog(load(path).building).products
        listed = folder / "prices.csv"
        with listed.open("w", newline="") as file:
            rows = csv.writer(file)
            rows.writerow(["item", "price"])
            rows.writerows(
                [sheets[name].name, f"{7.03 + 3.19 * n:.2f}"] for n, name in enumerate(sorted(sheets))
            )
        assert price_list(path, listed, write=True).written
    return path


@dataclass
class Asked:
    """One house, asked again and again."""

    question: Question
    searched: bool

    def ends(self):
        """The cheapest plan of all, the cheapest one for a target within reach, and the best."""
        question, free = self.question, replace(self.question.limits, budget=math.inf)
        least = replace(question.goal, money=True)
        cheap, best = question.solve(free, least), question.solve(free, question.goal)
        if not self.searched:  # what target mode asks in each round: least money within a mean leakage
            air = [float(question.choice.instance.air[plan.pick].sum()) for plan in (best, cheap)]
            return cheap, question.solve(replace(free, air=0.7 * air[0] + 0.3 * air[1]), least), best
        aimed = Aimed(
            1.0, question.building.aim.confidence, question.settings.draws, question.forecast.spreads
        )
        sure = [sure_ach50(question.choice, question.house, aimed, plan) for plan in (best, cheap)]
        aimed = replace(aimed, ach50=0.7 * max(sure) + 0.3 * min(sure))
        answer, _ = reach(question.choice, question.house, aimed, limits=free, solve=question.solve)
        return cheap, answer, best

    def at(self, budget: float, *, may_be_none: bool = False):
        """Answer for a budget, added up again."""
        question = self.question
        try:
            answer = question.solve(replace(question.limits, budget=budget), question.goal)
        except InfeasibleError:
            if may_be_none:
                return None
            raise
        again = counted(question, answer)
        assert again.money == pytest.approx(answer.spent, rel=NEAR)
        assert again.hours == pytest.approx(answer.hours, rel=NEAR)
        assert again.harm == pytest.approx(answer.value, rel=NEAR, abs=NEAR)
        assert again.money <= budget * (1 + NEAR)
        assert again.hours <= question.limits.hours * (1 + NEAR)
        assert answer.bound <= answer.value
        return answer


def stepped(path: Path, effort: Effort, cents=STEPS, steps: int = 0) -> int:
    """Ask at budgets round the prices of plans; how many of them bought a plan."""
    found = load(path)
    kept: list[Case] = []
    settings = Settings("own", draws=400, keep=kept.append)
    question = ask(found.building, found.hull, found.joints, effort=effort, settings=settings)
    asked = Asked(question, searched=steps > 0)
    cheap, aimed, best = asked.ends()
    answers = {aimed.spent + more: asked.at(aimed.spent + more) for more in cents}
    for plan in (
        (aimed, cheap) if steps else (aimed,)
    ):  # plans that the budget could buy, found by another question
        bought = asked.at(plan.spent)
        assert bought.value * (1 - bought.gap) <= counted(question, plan).harm * (1 + NEAR) + NEAR
    for n in range(steps):
        budget = cheap.spent + (best.spent - cheap.spent) * n / steps
        answers[budget] = asked.at(budget)
        price = answers[budget].spent
        answers[price - CENT] = asked.at(price - CENT, may_be_none=price < cheap.spent + 1)
    rising = [(budget, answers[budget]) for budget in sorted(answers) if answers[budget] is not None]
    for n, (less, poorer) in enumerate(rising):
        for more, richer in rising[n + 1 :]:
            # what an answer lacks of the best it states as its gap: less its gap it is never worse than a cheaper one
            stated = richer.value * (1 - richer.gap)
            assert stated <= poorer.value * (1 + NEAR) + NEAR, f"{more} buys less than {less}"
    assert not kept, f"{path.name}: {[case.why for case in kept]}"
    if steps:
        none = asked.at(cheap.bound - CENT, may_be_none=True)
        assert none is None, "less than the cheapest plan can cost"
        plan = make(
            found.building, found.hull, found.joints, budget=aimed.spent, effort=effort, settings=settings
        )
        assert plan.spent <= aimed.spent * (1 + NEAR)
    return len(rising)


@pytest.mark.parametrize("seed", range(12))
def test_budgets_round_the_prices_of_plans(seed, tmp_path):
    assert stepped(written(tmp_path, seed), FEW, cents=(-CENT, 0.0, CENT)) == 3


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12, 212))
def test_budgets_round_the_prices_of_plans_of_many_houses(seed, tmp_path):
    assert stepped(written(tmp_path, seed), QUICK, steps=4) >= 10
