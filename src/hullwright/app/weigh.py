"""What else could be done on one run, and which plan of the curve serves a budget."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hullwright import choice
from hullwright.app.cases import Cases
from hullwright.app.decide import to_json
from hullwright.app.heads import head
from hullwright.app.house import House
from hullwright.choice import forecast
from hullwright.choice.build import build
from hullwright.choice.instance import Goal, Limits
from hullwright.choice.laid import laid
from hullwright.choice.making import Question
from hullwright.choice.options import WITHOUT
from hullwright.choice.solver import bill, curve, solve
from hullwright.choice.solver.curve import Step
from hullwright.choice.solver.ledger import Bill, conflicts, within
from hullwright.choice.writing import general_cautions
from hullwright.errors import InfeasibleError, InputError, NoAnswerError, Problem, Where

Ints = NDArray[np.int64]
Labels = Mapping[str, tuple[str, str]]
"""Method and label of the plan at hand by run."""
_SAME = 1e-6
"""Plans whose leakage and water differ by no more than this share are as good as each other: rounding of sums and weights."""


def question_of(house: House) -> Question:
    """Put the question of a house: options of every run, limits and goal."""
    settings = choice.Settings(engine="own", keep=Cases())
    return choice.ask(house.building, house.hull, house.joints, settings=settings)


def notes_of(question: Question) -> list[str]:
    """How the answers to a question were found, where that is not the usual way."""
    kept = question.settings.keep
    return list(kept.notes) if isinstance(kept, Cases) else []


def pick_of(question: Question, labels: Labels) -> Ints:
    """Give the option rows of a plan that is known by its labels (R,).

    Parameters
    ----------
    question : Question
    labels : mapping
        Method and label by run.

    Raises
    ------
    NoAnswerError
        Where the plan is of another version of the house: a run or an option is not there any more.
    """
    found: list[int] = []
    for number, run in enumerate(question.choice.runs):
        wanted = labels.get(run.id)
        rows = question.choice.rows(number)
        row = next((r for r in rows if wanted == _label(question, r)), None)
        if row is None:
            raise NoAnswerError(
                "the plan is not of the house as it stands now",
                [Problem("its way to seal a run is gone", Where(key=run.id), hint="make the plan anew")],
            )
        found.append(row)
    return np.array(found, dtype=np.int64)


def alternatives(question: Question, plan: Mapping[str, Any], run: str) -> dict[str, Any]:
    """Give every allowed option of a run with what it would change, and the barred ones with their rule.

    Parameters
    ----------
    question : Question
    plan : mapping
        Plan at hand, as ``plan`` gives it.
    run : str
        Id of the run.

    Returns
    -------
    dict
        Changes of the whole plan: money with whole packs and set-ups, hours, leakage area [cm2], rain that gets in, summed along
        the drainage paths [L], expected ACH50.

    Raises
    ------
    InputError
        Where there is no such run.
    """
    told = {one["id"]: one for one in plan["runs"]}
    pick = pick_of(question, {name: (one["method"], one["label"]) for name, one in told.items()})
    number = next((k for k, one in enumerate(question.choice.runs) if one.id == run), None)
    if number is None:
        raise InputError("there is no such run", [Problem("unknown run", Where(key="run"), run[:200])])
    table = question.choice
    base = bill(table.instance, pick)
    rows = list(table.rows(number))
    rain = forecast.changed(table, pick, rows) - forecast.by_run(table, pick).sum()
    options = [
        _option(question, base, row, number, more) for row, more in zip(rows, rain.tolist(), strict=True)
    ]
    return head("alternatives") | {
        "run": run,
        **{key: told[run][key] for key in ("kind", "face", "why", "fixed", "barred")},
        "currency": question.building.currency,
        "options": sorted(options, key=lambda one: (not one["chosen"], bool(one["breaks"]), one["harm"])),
        "cautions": [caution.to_json() for caution in general_cautions(question.catalog)],
    }


def _option(question: Question, base: Bill, row: int, run: int, rain: float) -> dict[str, Any]:
    table, goal, pick = question.choice, question.goal, base.pick
    other = pick.copy()
    other[run] = row
    after = bill(table.instance, other)
    option = table.options[row]
    rules = {rule.id: rule.text for rule in question.catalog.rules}
    steps = ("cleaning", "primer", "filler", "blocking")
    return {
        "method": option.method,
        "product": option.product,
        "primer": option.primer or WITHOUT,
        "filler": option.filler or WITHOUT,
        "label": option.label(question.catalog),
        **laid(table.runs[run], option, question.catalog).to_json(),
        "prepared": [step for step in steps if getattr(option, step)],
        "chosen": bool(row == pick[run]),
        "money": after.spent - base.spent,
        "hours": after.hours - base.hours,
        "air_cm2": after.air - base.air,
        "water_l": rain,
        "ach50": question.house.ach50(after.air) - question.house.ach50(base.air),
        "harm": goal.air_weight * (after.air - base.air) + goal.water_weight * rain,
        "advice": [rules[rule] for rule in option.advice],
        "breaks": _breaks(question, pick, other, row, run),
    }


def _breaks(question: Question, pick: Ints, other: Ints, row: int, run: int) -> list[str]:
    instance = question.choice.instance
    out = []
    if row != pick[run] and (instance.coat[row] >= 0 or instance.coat[pick[run]] >= 0):
        out.append("a whole-face coat is taken for the whole face or not at all: keep it and plan again")
    if conflicts(instance.clash, instance, other) > conflicts(instance.clash, instance, pick):
        out.append(
            "its material would meet one that is known to fail with it: the neighbours must change too"
        )
    limit = question.limits.budget
    after, before = bill(instance, other).spent, bill(instance, pick).spent
    if not within(after, limit) and after > before:
        out.append("it goes above the budget: plan again to make room elsewhere")
    return out


def _label(question: Question, row: int) -> tuple[str, str]:
    option = question.choice.options[row]
    return option.method, option.label(question.catalog)


def archive(
    question: Question, points: int, at_hand: Sequence[Ints] = (), step: Step = lambda _done, _of: None
) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """Draw the curve and keep the plan behind each point.

    Parameters
    ----------
    question : Question
    points : int
    at_hand : sequence of ndarray (R,)
        More plans to know.
    step : callable
        Told (done, of) after each search; what it raises ends the work.

    Returns
    -------
    tuple
        Points as ``curve`` gives them, and the plans: ``labels``, ``methods``, ``runs`` and for each plan its sums and options.
    """
    limits = replace(question.limits, budget=float("inf"))
    ears = question.settings
    found = curve(
        question.choice.instance,
        limits,
        question.goal,
        points=points,
        engine="own",
        progress=ears.progress,
        step=step,
        keep=ears.keep,
    )
    kept: dict[bytes, dict[str, Any]] = {}
    for pick in (*(answer.pick for _, answer in found), *at_hand):
        if pick.tobytes() not in kept:
            kept[pick.tobytes()] = _sums(question, pick)
    rows: list[dict[str, Any]] = []
    for budget, answer in found:
        sums = kept[answer.pick.tobytes()] | {"objective": answer.value}
        del sums["hours"]
        rows.append({"budget": budget, "bound": answer.bound, **sums})
    names: dict[tuple[str, str], int] = {}
    plans = [
        {**kept[pick.tobytes()], "label": _numbers(question, pick, names)}
        for pick in (*(answer.pick for _, answer in found), *at_hand)
    ]
    runs = [run.id for run in question.choice.runs]
    return rows, {"labels": [list(name) for name in names], "runs": runs, "plans": plans}


def _sums(question: Question, pick: Ints) -> dict[str, Any]:
    """Sums of a plan; what is to be made small counts the rain along the drainage paths."""
    totals = bill(question.choice.instance, pick)
    return {
        "spent": totals.spent,
        "objective": forecast.harm(question.choice, question.goal, pick),
        "ach50": question.house.ach50(totals.air),
        "water_l": question.forecast.rain(pick),
        "hours": totals.hours,
    }


def _numbers(question: Question, pick: Ints, names: dict[tuple[str, str], int]) -> list[int]:
    return [names.setdefault(_label(question, int(row)), len(names)) for row in pick]


def at_budget(
    kept: Mapping[str, Any], budget: float, labels: Labels | None, plan: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """Give the best kept plan that a budget pays for; of several as good the cheapest, of those the nearest to that at hand.

    Parameters
    ----------
    kept : mapping
        Plans as :func:`archive` keeps them.
    budget : float
        Money.
    labels : mapping or None
        Plan at hand, to tell what changes.
    plan : mapping or None
        The answer that tells the plan at hand, where it is of the same file: it may be newer than the curve.

    Raises
    ------
    InfeasibleError
        Where the cheapest plan costs more; says by how much.

    Examples
    --------
    >>> kept = {"labels": [["tape", "Tape"], ["liquid", "Liquid"]], "runs": ["r1"], "plans": [
    ...     {"spent": 10.0, "objective": 5.0, "hours": 1.0, "ach50": 1.0, "water_l": 0.0, "label": [0]},
    ...     {"spent": 20.0, "objective": 3.0, "hours": 2.0, "ach50": 0.6, "water_l": 0.0, "label": [1]}]}
    >>> at_budget(kept, 15.0, {"r1": ("liquid", "Liquid")})["changed"], at_budget(kept, 25.0, None)["spent"]
    ([0], 20.0)
    """
    names = {(word[0], word[1]): k for k, word in enumerate(kept["labels"])}
    plans = list(kept["plans"])
    if plan is not None and labels is not None and all(run in labels for run in kept["runs"]):
        plans.append(
            _at_hand(plan) | {"label": [names.setdefault(labels[r], len(names)) for r in kept["runs"]]}
        )
    words = list(names)
    own = [labels.get(run) for run in kept["runs"]] if labels is not None else None
    paid = [one for one in plans if within(one["spent"], budget)]
    if not paid:
        least = min(one["spent"] for one in plans)
        problem = Problem(
            "below the cheapest allowed plan", Where(key="budget"), f"{budget:,.0f}", f"{least:,.0f} or more"
        )
        raise InfeasibleError("no plan fits this budget", [problem])

    def changed(one: Mapping[str, Any]) -> list[int]:
        return [k for k, n in enumerate(one["label"]) if own is not None and own[k] != words[n]]

    least = min(one["objective"] for one in paid)
    as_good = [one for one in paid if one["objective"] <= least + _SAME * abs(least)]
    best = min(as_good, key=lambda one: (round(one["spent"], 2), len(changed(one))))
    return head("slider") | {
        "budget": budget,
        **{key: best[key] for key in ("spent", "hours", "objective", "ach50", "water_l")},
        "method": [words[n][0] for n in best["label"]],
        "label": best["label"],
        "labels": [word[1] for word in words],
        "changed": changed(best),
        "cautions": [],
    }


def _at_hand(plan: Mapping[str, Any]) -> dict[str, Any]:
    """Sums of a plan as the curve tells them; what is to be made small is leakage and water in its target mode too."""
    goal, water = plan["goal"], plan["water_l"]["expected"]
    air = goal["air_weight"] * plan["area_cm2"] / goal["air_target_cm2"]
    return {
        "spent": plan["spent"],
        "hours": plan["hours"],
        "objective": air + goal["water_weight"] * water / goal["water_limit_l"],
        "ach50": plan["ach50"]["expected"],
        "water_l": plan["water_l"]["p50"],
    }


def prices(question: Question, pick: Ints, step: Step = lambda _done, _of: None) -> list[dict[str, Any]]:
    """Say what each decision of the user costs by itself.

    Each is lifted alone, all others stand. What it costs is told twice: in money, by how much the cheapest plan as tight and as
    dry as that at hand is cheaper without it; and in leakage, by how much the best plan for the same money is better without
    it. What is allowed with it is allowed without it too, so that neither is ever below nothing.

    Parameters
    ----------
    question : Question
    pick : ndarray (R,)
        Plan at hand.
    step : callable
        Told (done, of) after each search; what it raises ends the work.

    Returns
    -------
    list of dict
        In the order of ``aim.fixed``: the decision, `money`, `ach50`, `water_l` and `objective` that it costs.
    """
    decisions, house, goal = question.building.aim.fixed, question.house, question.goal
    base = bill(question.choice.instance, pick)
    steps = 2 * len(decisions) + 2
    # What the plan at hand leaves to be gained with all decisions kept is no price of theirs.
    least = _cheapest(question, base, base)
    step(1, steps)
    best = _tightest(question, base, base)
    step(2, steps)
    out: list[dict[str, Any]] = []
    for number, one in enumerate(decisions):
        loose = without(question, number)
        cheaper = _cheapest(loose, base, _carried(question, loose, least))
        step(2 * number + 3, steps)
        tighter = _tightest(loose, base, _carried(question, loose, best))
        step(2 * number + 4, steps)
        out.append(
            to_json(one)
            | {
                "money": least.spent - cheaper.spent,
                "objective": best.value(goal) - tighter.value(goal),
                "ach50": house.ach50(best.air) - house.ach50(tighter.air),
                "water_l": _rain(question, best) - _rain(loose, tighter),
            }
        )
    return out


def _rain(question: Question, plan: Bill) -> float:
    """Rain that gets in at the expected number of flaws [L]."""
    return float(forecast.by_run(question.choice, plan.pick).sum())


def _carried(question: Question, loose: Question, plan: Bill) -> Bill:
    """The same plan among the options of another question of the house."""
    runs = question.choice.runs
    told = {run.id: _label(question, int(row)) for run, row in zip(runs, plan.pick, strict=True)}
    return bill(loose.choice.instance, pick_of(loose, told))


def _cheapest(question: Question, base: Bill, start: Bill) -> Bill:
    """Cheapest plan that is as tight and as dry as `base`."""
    limits = replace(question.limits, air=base.air, water=base.water, budget=float("inf"))
    return _better(question, limits, replace(question.goal, money=True), start)


def _tightest(question: Question, base: Bill, start: Bill) -> Bill:
    """Best plan for the money of `base`."""
    return _better(question, replace(question.limits, budget=base.spent), question.goal, start)


def without(question: Question, number: int) -> Question:
    """Lift one decision of ``aim.fixed``, by its number; all others stand."""
    aim = question.building.aim
    fixed = (*aim.fixed[:number], *aim.fixed[number + 1 :])
    building = replace(question.building, aim=replace(aim, fixed=fixed))
    rain = question.settings.rain
    choice = build(building, question.hull, question.joints, question.catalog, rain=rain)
    return replace(question, building=building, choice=choice)


def _better(question: Question, limits: Limits, goal: Goal, start: Bill) -> Bill:
    """Best plan within limits; never worse than the one it starts from."""
    instance, settings = question.choice.instance, question.settings
    known = start.answer(goal, -float("inf"), 0)
    found = solve(
        instance,
        limits,
        goal,
        effort="quick",
        engine="own",
        progress=settings.progress,
        start=known,
        keep=settings.keep,
    )
    after = bill(instance, found.pick)
    return after if after.value(goal) < start.value(goal) else start


def changes(before: Mapping[str, Any], now: Mapping[str, Any]) -> dict[str, Any]:
    """Say what a plan does otherwise than the one before it.

    Parameters
    ----------
    before, now : mapping
        Plans as ``plan`` gives them.

    Returns
    -------
    dict
        ``runs`` with the way before and now ('' where a run was not there), and the change of the sums.

    Examples
    --------
    >>> was = {"spent": 9.0, "hours": 1.0, "ach50": {"p50": 0.5}, "water_l": {"p50": 2.0}, "runs": [{"id": "r", "label": "Tape"}]}
    >>> new = was | {"spent": 12.0, "runs": [{"id": "r", "label": "Liquid"}, {"id": "s", "label": "Tape"}]}
    >>> changes(was, new)["runs"], changes(was, new)["money"]
    ([{'run': 'r', 'before': 'Tape', 'now': 'Liquid'}, {'run': 's', 'before': '', 'now': 'Tape'}], 3.0)
    """
    first, last = ({run["id"]: run["label"] for run in plan["runs"]} for plan in (before, now))
    runs = [
        {"run": run, "before": first.get(run, ""), "now": last.get(run, "")}
        for run in dict.fromkeys((*last, *first))
        if first.get(run, "") != last.get(run, "")
    ]
    return head("changes") | {
        "runs": runs,
        "money": now["spent"] - before["spent"],
        "hours": now["hours"] - before["hours"],
        "ach50": _middle(now["ach50"]) - _middle(before["ach50"]),
        "water_l": now["water_l"]["p50"] - before["water_l"]["p50"],
        "cautions": [],
    }


def _middle(band: Mapping[str, Any]) -> float:
    """Expected value where it is there, else the middle of what was drawn."""
    found = band.get("expected")
    return float(band["p50"] if found is None else found)
