"""Makes the plan: build the choice, solve it, draw it, say why."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building
from hullwright.catalog import Catalog, load
from hullwright.choice import writing
from hullwright.choice.build import build
from hullwright.choice.dry import Dry
from hullwright.choice.explain import Weighing
from hullwright.choice.forecast import Forecast, by_run, changed, spreads
from hullwright.choice.house import Whole, whole
from hullwright.choice.instance import Answer, Goal, Limits
from hullwright.choice.mine import mine
from hullwright.choice.plan import Curve, CurvePoint, FixedPrice, Plan, Step
from hullwright.choice.refusing import Reached, both, told
from hullwright.choice.simulate import SEED, band
from hullwright.choice.solver import Effort, Engine, Keep, Progress, bill, keep_none, solve
from hullwright.choice.solver import curve as solve_curve
from hullwright.choice.solver.curve import archive, as_good
from hullwright.choice.solver.ledger import within
from hullwright.choice.table import Choice
from hullwright.choice.target import Aimed, Confirmed, reach, sure_ach50
from hullwright.errors import InfeasibleError, Problem, Where
from hullwright.hull.model import Hull
from hullwright.joints.model import JointSet

CURVE_POINTS: Final = 21
_TRIED: Final = 200
_LEAST_GAIN: Final = 1e-12


@dataclass(frozen=True, slots=True)
class Settings:
    """How the plan is made.

    Parameters
    ----------
    engine : str
        own, mip or both (the general solver from the own plan, until it is proved).
    draws, seed : int
        Of the simulation.
    curve_points : int
        Points of the curve, 0 for none.
    progress : callable or None
        Called by the solver.
    rain : ndarray (F,) or None
        Rain on each face over the days exposed [L per m2 of the face]; None: from the stated rain.
    keep : callable
        Told each question at which a search failed a check of its own and another answered.
    """

    engine: Engine = "both"
    draws: int = 20_000
    seed: int = SEED
    curve_points: int = 0
    progress: Progress | None = None
    rain: NDArray[np.float64] | None = None
    keep: Keep = keep_none


@dataclass(frozen=True, slots=True)
class Question:
    """All that one answer needs."""

    building: Building
    hull: Hull
    joints: JointSet
    catalog: Catalog
    choice: Choice
    house: Whole
    limits: Limits
    goal: Goal
    effort: Effort | str
    settings: Settings

    def best(self) -> Answer:
        """Give the best plan for the money; of plans as tight and as dry as it the cheapest.

        Money that buys nothing is not spent: where the budget does not bind, many plans are equally good.
        """
        answer = self.solve(self.limits, self.goal)
        instance = self.choice.instance
        cheaper = self.solve(as_good(instance, self.limits, answer), replace(self.goal, money=True), answer)
        if not cheaper.spent < answer.spent:
            return answer
        return bill(instance, cheaper.pick).answer(self.goal, answer.bound, answer.work + cheaper.work)

    @property
    def forecast(self) -> Forecast:
        """How its plans are drawn."""
        settings = self.settings
        return Forecast(self.choice, self.house, spreads(self.catalog), settings.draws, settings.seed)

    def solve(self, limits: Limits, goal: Goal, start: Answer | None = None) -> Answer:
        """Ask the solver; `start`: a plan at hand. A limit on rain that the file states is kept by the plan's forecast."""
        stated = self.building.aim.water_limit
        try:
            if stated is None:
                return self._asked(limits, goal, start)
            return Dry(self.forecast, stated, self._asked).solve(limits, goal, start)
        except InfeasibleError as error:
            problems = [*told(error, self.building), *self._in_the_way(limits)]
            raise InfeasibleError(error.message, problems) from error

    def _asked(self, limits: Limits, goal: Goal, start: Answer | None) -> Answer:
        return solve(
            self.choice.instance,
            limits,
            goal,
            effort=self.effort,
            engine=self.settings.engine,
            start=start,
            progress=self.settings.progress,
            keep=self.settings.keep,
        )

    def _in_the_way(self, limits: Limits) -> list[Problem]:
        if not math.isfinite(limits.budget):
            return []
        instance = self.choice.instance
        money = instance.labour + instance.use @ instance.price
        money = np.where(instance.coat >= 0, np.inf, money)
        least = np.minimum.reduceat(money, instance.first[:-1])
        order = np.lexsort((np.arange(len(least)), -least))[:5]
        runs = self.choice.runs
        dear = "; ".join(f"{runs[r].name}: {least[r]:,.0f}" for r in order)
        currency = self.building.currency
        return [
            Problem(
                "these joints take most of the cheapest plan",
                Where(key="budget"),
                f"{dear} {currency}, set-ups apart",
                hint="a cheaper product, fewer pieces through the layer, or your own decision to leave some bare",
            )
        ]


def make(
    building: Building,
    hull: Hull,
    joints: JointSet,
    *,
    budget: float | None = None,
    target: float | None = None,
    effort: Effort | str = "normal",
    settings: Settings | None = None,
) -> Plan:
    """Make the plan of a house.

    Parameters
    ----------
    building : Building
    hull : Hull
    joints : JointSet
    budget : float or None
        Most money; None: as the file states.
    target : float or None
        ACH50 to reach for the least money [1/h]; None: as the file states, unless a budget is asked for.
    effort : Effort or str
        Counted work of the solver: quick, normal or thorough.
    settings : Settings or None

    Returns
    -------
    Plan

    Raises
    ------
    InfeasibleError
        Budget below the cheapest allowed plan, target out of reach, or joints without an allowed method.
    CatalogError, InputError
        Wrong products, prices, figures or decisions.
    """
    question = ask(building, hull, joints, budget=budget, effort=effort, settings=settings)
    aimed_at = target if target is not None else (building.aim.target_ach50 if budget is None else None)
    if aimed_at is None:
        answer, confirmed = question.best(), None
    else:
        answer, confirmed = _reach(question, aimed_at)
    return _plan(question, answer, confirmed)


def ask(
    building: Building,
    hull: Hull,
    joints: JointSet,
    *,
    budget: float | None = None,
    effort: Effort | str = "normal",
    settings: Settings | None = None,
) -> Question:
    """Put the question together: catalogue, options, limits and goal."""
    wishes = settings or Settings()
    catalog = load(building)
    choice = build(building, hull, joints, catalog, rain=wishes.rain)
    house = whole(building, hull, catalog)
    aim = building.aim
    limits = Limits(
        budget=aim.budget if budget is None else budget,
        hours=building.crew.hours * building.crew.people,
        products=aim.most_products,
        unknown_meetings=aim.most_unknown_meetings,
        worst=aim.worst_piece,
    )
    goal = Goal(round(aim.air_weight / house.air_target, 9), round(aim.water_weight / house.water_limit, 9))
    return Question(building, hull, joints, catalog, choice, house, limits, goal, effort, wishes)


def _reach(question: Question, target: float) -> tuple[Answer, Confirmed]:
    """Find the cheapest plan that keeps the target; with a budget too it must not cost more.

    The budget is lifted first: where what is found costs no more than it, it is the answer with the budget as well, and
    where it costs more, its price is what the target takes.
    """
    limits = question.limits
    budget = limits.budget
    if not math.isfinite(budget):
        return _cheapest(question, target, limits)
    try:
        answer, confirmed = _cheapest(question, target, replace(limits, budget=math.inf))
    except InfeasibleError as error:
        raise _refused(question, target, None, list(error.problems)) from error
    if within(answer.spent, budget):
        return answer, confirmed
    if within(answer.bound, budget):  # not proved to be out of reach: look again among what the budget buys
        try:
            return _cheapest(question, target, limits)
        except InfeasibleError:
            pass
    raise _refused(question, target, answer.spent, [])


def _cheapest(question: Question, target: float, limits: Limits) -> tuple[Answer, Confirmed]:
    return reach(
        question.choice, question.house, _aimed(question, target), limits=limits, solve=question.solve
    )


def _aimed(question: Question, target: float) -> Aimed:
    confidence = question.building.aim.confidence
    return Aimed(target, confidence, question.settings.draws, spreads(question.catalog))


def _refused(
    question: Question, target: float, needed: float | None, problems: list[Problem]
) -> InfeasibleError:
    """Say what the budget and what the target would take, both worked out."""
    aimed, limits = _aimed(question, target), question.limits
    best = None
    try:
        best = sure_ach50(question.choice, question.house, aimed, question.solve(limits, Goal(1.0, 0.0)))
    except InfeasibleError as error:
        problems = problems or list(error.problems)
    found = Reached(target, aimed.confidence, limits.budget, best, needed)
    return both(found, question.building, problems if needed is None or best is None else [])


def _plan(question: Question, answer: Answer, confirmed: Confirmed | None) -> Plan:
    choice, house, settings = question.choice, question.house, question.settings
    weighing = Weighing(choice, question.goal, answer.pick)
    drawn = question.forecast.drawn(answer.pick)
    totals = bill(choice.instance, answer.pick)
    return Plan(
        name=question.building.name,
        currency=question.building.currency,
        mode="budget" if confirmed is None else "target",
        spent=answer.spent,
        hours=answer.hours,
        budget=question.limits.budget,
        objective=answer.value,
        bound=answer.bound,
        gap=answer.gap,
        proved=answer.proved,
        runs=writing.run_plans(
            choice, answer, weighing, question.building, question.catalog, target=confirmed is not None
        ),
        packs=writing.packs(choice, totals, question.catalog),
        coats=writing.coats(choice, answer),
        setup_money=float(choice.instance.setup_money[answer.taken].sum()),
        setup_hours=float(choice.instance.setup_hours[answer.taken].sum()),
        left_over_money=writing.left_over(choice, answer),
        area_cm2=totals.air,
        expected_ach50=house.ach50(totals.air),
        expected_water_l=float(by_run(choice, answer.pick).sum()),
        ach50=band(drawn.ach50(house.volume.value, house.exponent)),
        water_l=band(drawn.water),
        draws=settings.draws,
        whole=house,
        weights=(question.building.aim.air_weight, question.building.aim.water_weight),
        laps=writing.laps(choice, question.joints.meetings, answer.pick, question.catalog),
        identity=weighing.identity(question.limits.budget, answer.spent),
        step=next_step(question, answer.pick),
        confirmed=confirmed,
        fixed=_fixed_price(question, answer, confirmed),
        cautions=writing.cautions(question.building, question.hull, choice, answer, question.catalog),
        estimates=writing.weightiest(choice, answer, question.goal, question.catalog),
        curve=make_curve(question, answer) if settings.curve_points else None,
        mine=mine(choice, answer.pick, answer.coats, question.catalog),
    )


def _fixed_price(question: Question, answer: Answer, confirmed: Confirmed | None) -> FixedPrice | None:
    if not question.building.aim.fixed:
        return None
    loose = build(
        question.building,
        question.hull,
        question.joints,
        question.catalog,
        rain=question.settings.rain,
        honour_fixed=False,
    )
    unmet = question.choice.unmet
    question = replace(question, choice=loose)
    if confirmed is None:
        free = question.best()
    else:
        free, _ = _reach(question, confirmed.target)
    return FixedPrice(answer.value - free.value, answer.spent - free.spent, free.value, free.spent, unmet)


def next_step(question: Question, pick: NDArray[np.int64]) -> Step | None:
    """Find the one change of a run that gives most for its money.

    Parameters
    ----------
    question : Question
    pick : ndarray (R,)
        The plan at hand.

    Returns
    -------
    Step or None
        None where no single change makes the plan better.
    """
    choice, goal = question.choice, question.goal
    instance = choice.instance
    harm = goal.air_weight * instance.air + goal.water_weight * instance.water
    money = instance.labour + instance.use @ instance.price
    gain = harm[pick][choice.run_of] - harm
    cost = money - money[pick][choice.run_of]
    loose = (instance.coat < 0) & (instance.coat[pick][choice.run_of] < 0) & (gain > _LEAST_GAIN)
    rows = np.flatnonzero(loose)
    if not len(rows):
        return None
    rows = rows[np.lexsort((rows, -gain[rows] / np.maximum(cost[rows], 1e-6)))][:_TRIED]
    spent = bill(instance, pick).spent
    # What it lets pass goes on to the joints below it: the rain of the house with the change.
    rain = float(by_run(choice, pick).sum()) - changed(choice, pick, rows.tolist())
    gain[rows] = goal.air_weight * (instance.air[pick][choice.run_of] - instance.air)[rows]
    gain[rows] += goal.water_weight * rain
    rows = rows[gain[rows] > _LEAST_GAIN]
    if not len(rows):
        return None
    tried = [(row, _after(question, pick, int(row)) - spent) for row in rows]
    row, price = max(tried, key=lambda one: (gain[one[0]] / max(one[1], 1e-6), -one[0]))
    run = int(choice.run_of[row])
    before, after = (choice.options[int(r)].label(question.catalog) for r in (pick[run], row))
    return Step(choice.runs[run].id, before, after, float(price), float(gain[row]), choice.runs[run].name)


def _after(question: Question, pick: NDArray[np.int64], row: int) -> float:
    changed = pick.copy()
    changed[question.choice.run_of[row]] = row
    return bill(question.choice.instance, changed).spent


def make_curve(question: Question, answer: Answer | None = None) -> Curve:
    """Best result for each amount of money.

    Parameters
    ----------
    question : Question
    answer : Answer or None
        Plan at hand, from which the next step is told and which the curve knows too; None: the plan of the stated budget.

    Returns
    -------
    Curve
    """
    house, instance = question.house, question.choice.instance
    limits = replace(question.limits, budget=float("inf"))
    points = max(question.settings.curve_points, CURVE_POINTS)
    at_hand = answer or question.best()
    found = solve_curve(
        instance, limits, question.goal, points=points, engine="own", keep=question.settings.keep
    )
    rows: list[CurvePoint] = []
    rain: dict[bytes, float] = {}
    for budget, point in archive(instance, question.goal, found, [at_hand]):
        ach50 = house.ach50(bill(instance, point.pick).air)
        plan = point.pick.tobytes()
        if plan not in rain:
            rain[plan] = question.forecast.rain(point.pick)
        rows.append(CurvePoint(budget, point.spent, point.value, point.bound, ach50, rain[plan]))
    cautions = writing.general_cautions(question.catalog)
    return Curve(tuple(rows), next_step(question, at_hand.pick), question.building.currency, cautions)
