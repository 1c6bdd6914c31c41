"""An independent check of an answer: everything added up again from scratch, column by column.

Nothing of the solver's own sums is used here; it is simple on purpose, and quick enough to be run after every search.
"""

from __future__ import annotations

import math

import numpy as np

from hullwright.choice.instance import Answer, Floats, Goal, Instance, Limits

_PACK = 2e-6  # packs; twice the solver's own tolerance
_MONEY = 1e-6  # relative


def check(instance: Instance, limits: Limits, goal: Goal, answer: Answer) -> list[str]:
    """Say everything that is wrong with an answer.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question.
    answer : Answer
        The answer to it.

    Returns
    -------
    list of str
        One sentence for each fault; empty where the plan is sound, keeps every limit and is stated rightly.
    """
    faults = _picks(instance, answer)
    if faults:
        return faults
    faults = _coats(instance, answer)
    if len(answer.coats) != len(instance.coats):
        return faults
    used = _used(instance, answer)
    return [
        *faults,
        *_setups(instance, answer),
        *_packs(instance, answer, used),
        *_meetings(instance, limits, answer),
        *_sums(instance, limits, goal, answer, int(np.count_nonzero(used > _PACK))),
    ]


def _picks(instance: Instance, answer: Answer) -> list[str]:
    if len(answer.pick) != instance.runs:
        return [f"{len(answer.pick)} picks for {instance.runs} runs"]
    amiss = (answer.pick < instance.first[:-1]) | (answer.pick >= instance.first[1:])
    return [
        f"run {r} takes row {answer.pick[r]}, which is not one of its options"
        for r in np.flatnonzero(amiss).tolist()
    ]


def _coats(instance: Instance, answer: Answer) -> list[str]:
    if len(answer.coats) != len(instance.coats):
        return [f"{len(answer.coats)} coat flags for {len(instance.coats)} coats"]
    faults: list[str] = []
    picked = instance.coat[answer.pick]
    for c, taken in enumerate(answer.coats.tolist()):
        if taken:
            offered = np.flatnonzero(instance.coat == c)
            covered = np.unique(np.searchsorted(instance.first, offered, side="right") - 1)
            faults += [
                f"run {r} is covered by coat {c} and does not take it"
                for r in covered[picked[covered] != c].tolist()
            ]
        else:
            takers = np.flatnonzero(picked == c).tolist()
            faults += [f"run {r} takes coat {c}, which is not taken" for r in takers]
    return faults


def _setups(instance: Instance, answer: Answer) -> list[str]:
    methods = instance.method[answer.pick]
    needed = np.zeros(instance.setup_money.shape, dtype=np.bool_)
    needed[instance.face[methods >= 0], methods[methods >= 0]] = True
    unpaid = np.argwhere(needed & ~answer.taken).tolist()
    return [f"set-up {(f, k)} is used and not paid" for f, k in unpaid]


def _packs(instance: Instance, answer: Answer, sums: Floats) -> list[str]:
    faults: list[str] = []
    for p, used in enumerate(sums.tolist()):
        bought, owned = float(answer.packs[p]), float(instance.owned[p])
        if bought < 0 or bought != int(bought):
            faults.append(f"product {p}: {bought} is not a whole number of packs")
        if used > bought + math.floor(owned + 1e-9) + _PACK:
            faults.append(f"product {p}: {used} packs are used, {bought} bought and {owned} owned")
        if (
            used > max(instance.stock[p], owned) + _PACK
            or bought + owned > max(instance.stock[p], owned) + _PACK
        ):
            faults.append(f"product {p}: {bought} + {owned} packs, stock {instance.stock[p]}")
    return faults


def _used(instance: Instance, answer: Answer) -> Floats:
    used = np.array([instance.use[answer.pick, p].sum() for p in range(len(instance.price))])
    for coat, on in zip(instance.coats, answer.coats, strict=True):
        if on:
            used = used + coat.use
    return used


def _meetings(instance: Instance, limits: Limits, answer: Answer) -> list[str]:
    faults: list[str] = []
    unknown = 0
    for a, b in instance.meet.tolist():
        m, n = int(instance.material[answer.pick[a]]), int(instance.material[answer.pick[b]])
        if m < 0 or n < 0:
            continue
        if instance.clash[m, n] or instance.clash[n, m]:
            faults.append(f"runs {a} and {b} meet in materials {m} and {n}, known to fail")
        unknown += bool(instance.unknown[m, n] or instance.unknown[n, m])
    if limits.unknown_meetings is not None and unknown > limits.unknown_meetings:
        faults.append(f"{unknown} unknown meetings, limit {limits.unknown_meetings}")
    return faults


def _sums(instance: Instance, limits: Limits, goal: Goal, answer: Answer, products: int) -> list[str]:
    pick = answer.pick
    coats = [c for c, on in zip(instance.coats, answer.coats, strict=True) if on]
    spent = float(instance.labour[pick].sum()) + math.fsum(c.labour for c in coats)
    spent += math.fsum((answer.packs * instance.price).tolist())
    spent += float(instance.setup_money[answer.taken].sum())
    hours = float(instance.hours[pick].sum()) + math.fsum(c.hours for c in coats)
    hours += float(instance.setup_hours[answer.taken].sum())
    air, water = float(instance.air[pick].sum()), float(instance.water[pick].sum())
    value = spent if goal.money else goal.air_weight * air + goal.water_weight * water
    stated = [("money", answer.spent, spent), ("hours", answer.hours, hours), ("value", answer.value, value)]
    kept = [
        ("money", spent, limits.budget),
        ("hours", hours, limits.hours),
        ("air", air, limits.air),
        ("water", water, limits.water),
        ("products", products, math.inf if limits.products is None else limits.products),
        ("bound", answer.bound, answer.value),
    ]
    # said the other way round, so that what is no number at all is a fault too
    return [
        f"{name}: stated {a}, added up {b}"
        for name, a, b in stated
        if not abs(a - b) <= _MONEY * max(1.0, abs(b))
    ] + [
        f"{name}: {a} over the limit {b}"
        for name, a, b in kept
        if not a <= b + (_MONEY * max(1.0, abs(b)) if math.isfinite(b) else 0.0)
    ]
