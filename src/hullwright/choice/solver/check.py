"""An independent check of an answer: everything added up again from scratch, run by run, in plain loops.

Nothing of the solver's own sums is used here; it is slow on purpose and simple on purpose.
"""

from __future__ import annotations

import math

from hullwright.choice.instance import Answer, Goal, Instance, Limits

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
    return [
        *_coats(instance, answer),
        *_setups(instance, answer),
        *_packs(instance, answer),
        *_meetings(instance, limits, answer),
        *_sums(instance, limits, goal, answer),
    ]


def _picks(instance: Instance, answer: Answer) -> list[str]:
    if len(answer.pick) != instance.runs:
        return [f"{len(answer.pick)} picks for {instance.runs} runs"]
    return [
        f"run {r} takes row {o}, which is not one of its options"
        for r, o in enumerate(answer.pick.tolist())
        if not instance.first[r] <= o < instance.first[r + 1]
    ]


def _coats(instance: Instance, answer: Answer) -> list[str]:
    faults: list[str] = []
    coat_of = instance.coat.tolist()
    if len(answer.coats) != len(instance.coats):
        return [f"{len(answer.coats)} coat flags for {len(instance.coats)} coats"]
    for r, o in enumerate(answer.pick.tolist()):
        options = range(int(instance.first[r]), int(instance.first[r + 1]))
        offered = {coat_of[i] for i in options if coat_of[i] >= 0}
        wanted = {c for c in offered if answer.coats[c]}
        if wanted - {coat_of[o]}:
            faults.append(f"run {r} is covered by coat {sorted(wanted)} and does not take it")
        if coat_of[o] >= 0 and not answer.coats[coat_of[o]]:
            faults.append(f"run {r} takes coat {coat_of[o]}, which is not taken")
    return faults


def _setups(instance: Instance, answer: Answer) -> list[str]:
    needed = {
        (int(instance.face[r]), int(instance.method[o]))
        for r, o in enumerate(answer.pick.tolist())
        if instance.method[o] >= 0
    }
    faces, methods = instance.setup_money.shape
    paid = {(f, k) for f in range(faces) for k in range(methods) if answer.taken[f, k]}
    return [f"set-up {pair} is used and not paid" for pair in sorted(needed - paid)]


def _packs(instance: Instance, answer: Answer) -> list[str]:
    faults: list[str] = []
    for p in range(len(instance.price)):
        used, bought, owned = _used(instance, answer, p), float(answer.packs[p]), float(instance.owned[p])
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


def _used(instance: Instance, answer: Answer, product: int) -> float:
    used = math.fsum(float(instance.use[o, product]) for o in answer.pick.tolist())
    return used + math.fsum(
        float(c.use[product]) for c, on in zip(instance.coats, answer.coats, strict=True) if on
    )


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


def _sums(instance: Instance, limits: Limits, goal: Goal, answer: Answer) -> list[str]:
    picks = answer.pick.tolist()
    coats = [c for c, on in zip(instance.coats, answer.coats, strict=True) if on]
    spent = math.fsum(float(instance.labour[o]) for o in picks) + math.fsum(c.labour for c in coats)
    spent += math.fsum(float(n * price) for n, price in zip(answer.packs, instance.price, strict=True))
    hours = math.fsum(float(instance.hours[o]) for o in picks) + math.fsum(c.hours for c in coats)
    for f, k in zip(*answer.taken.nonzero(), strict=True):
        spent, hours = spent + float(instance.setup_money[f, k]), hours + float(instance.setup_hours[f, k])
    air = math.fsum(float(instance.air[o]) for o in picks)
    water = math.fsum(float(instance.water[o]) for o in picks)
    value = spent if goal.money else goal.air_weight * air + goal.water_weight * water
    products = sum(_used(instance, answer, p) > _PACK for p in range(len(instance.price)))
    stated = [("money", answer.spent, spent), ("hours", answer.hours, hours), ("value", answer.value, value)]
    kept = [
        ("money", spent, limits.budget),
        ("hours", hours, limits.hours),
        ("air", air, limits.air),
        ("water", water, limits.water),
        ("products", products, math.inf if limits.products is None else limits.products),
        ("bound", answer.bound, answer.value),
    ]
    return [
        f"{name}: stated {a}, added up {b}" for name, a, b in stated if abs(a - b) > _MONEY * max(1.0, abs(b))
    ] + [f"{name}: {a} over the limit {b}" for name, a, b in kept if a > b + _MONEY * max(1.0, abs(b))]
