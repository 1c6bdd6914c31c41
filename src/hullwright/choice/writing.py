"""Turns the solver's answer back into trade words."""

from __future__ import annotations

import math
from collections import defaultdict

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building
from hullwright.catalog import Catalog
from hullwright.choice.explain import Reader, Reason, Weighing, amount, words
from hullwright.choice.forecast import by_run
from hullwright.choice.instance import Answer, Goal
from hullwright.choice.laid import laid
from hullwright.choice.meetings import laps
from hullwright.choice.options import Option
from hullwright.choice.plan import CoatPlan, Pack, RunPlan
from hullwright.choice.solver.ledger import Bill
from hullwright.choice.table import Choice
from hullwright.choice.takes import takes
from hullwright.evidence import Caution, Evidence, Mark
from hullwright.hull.model import Face, Hull
from hullwright.joints.model import JointKind
from hullwright.units import Show

__all__ = ["cautions", "coats", "general_cautions", "laps", "left_over", "packs", "run_plans", "weightiest"]

_VAPOUR_SHARE = 0.25


def run_plans(
    choice: Choice, answer: Answer, weighing: Weighing, building: Building, catalog: Catalog, *, target: bool
) -> tuple[RunPlan, ...]:
    """Say what is done on each run and why; `target`: the plan is the cheapest that keeps its limits."""
    reader = Reader(Show(building.system), building.currency, target)
    advice = {rule.id: rule.text for rule in catalog.rules}
    told: list[RunPlan] = []
    rain, reasons = by_run(choice, answer.pick), weighing.reasons(catalog)
    for number, run in enumerate(choice.runs):
        row = int(answer.pick[number])
        option = choice.options[row]
        instance = choice.instance
        told.append(
            RunPlan(
                id=run.id,
                kind=run.kind.value,
                face=run.face,
                stage=run.stage,
                method=option.method,
                product=option.product,
                label=option.label(catalog),
                quantity=run.quantity,
                piece=run.kind.piece,
                money=float(instance.labour[row] + instance.use[row] @ instance.price),
                hours=float(instance.hours[row]),
                air_cm2=float(instance.air[row]),
                water_l=float(rain[number]),
                why=_why(weighing, number, (reasons[number], float(rain[number])), (catalog, reader)),
                advice=tuple(advice[rule] for rule in option.advice),
                barred=_barred(choice, number, catalog),
                uses=_uses(choice, row),
                prepared=_prepared(option),
                fixed=option.method in choice.spots[number].fixed,
                laid=laid(run, option, catalog),
                name=run.name,
            )
        )
    return tuple(told)


def _prepared(option: Option) -> tuple[str, ...]:
    steps = {
        "cleaning": option.cleaning,
        "primer": option.primer,
        "filler": option.filler,
        "blocking": option.blocking,
    }
    return tuple(step for step, on in steps.items() if on)


def _uses(choice: Choice, row: int) -> dict[str, float]:
    use = choice.instance.use[row]
    return {choice.products[p]: float(use[p]) for p in np.flatnonzero(use)}


def _barred(choice: Choice, run: int, catalog: Catalog) -> tuple[tuple[str, str, str], ...]:
    return tuple((bar.option.label(catalog), bar.rule.id, bar.rule.text) for bar in choice.barred[run])


def _why(
    weighing: Weighing, number: int, told_by: tuple[Reason, float], tools: tuple[Catalog, Reader]
) -> str:
    choice, row = weighing.choice, int(weighing.pick[number])
    option, (reason, rain), (catalog, reader) = choice.options[row], told_by, tools
    kind = catalog.kinds[choice.runs[number].kind.value]
    if kind.inert:
        return f"{kind.note[0].upper()}{kind.note[1:]}."
    told = words(reason, choice, catalog, reader)
    if option.method in choice.spots[number].fixed:
        return "Your own decision." if reason.best is None else f"Your own decision. {told}"
    if option.method == "coat":
        return "The whole face is coated: it covers this run."
    leaves = amount(reader.show, float(choice.instance.air[row]), rain)
    return f"{weighing.money[row]:,.0f} {reader.currency} here, {leaves} expected. {told}"


def packs(choice: Choice, totals: Bill, catalog: Catalog) -> tuple[Pack, ...]:
    """Whole packs of each product that is used."""
    instance = choice.instance
    use = _total_use(choice, totals.pick, totals.coats)
    lost: defaultdict[str, float] = defaultdict(float)
    into: defaultdict[str, float] = defaultdict(float)
    deep: defaultdict[str, float] = defaultdict(float)
    for run, row in enumerate(totals.pick.tolist()):
        lost[choice.options[row].product] += float(choice.lost[row])
        found = takes(choice.runs[run], choice.options[row], catalog)
        for name, packs_in in found.gap_packs.items():
            into[name] += packs_in
            deep[name] += found.gap_packs_deep[name]
    return tuple(
        Pack(
            product,
            catalog.called(product),
            int(totals.packs[p]),
            int(totals.opened[p] - totals.packs[p]),
            float(use[p]),
            lost[product],
            float(totals.packs[p] * instance.price[p]),
            catalog.stand_in(product),
            into[product],
            deep[product],
        )
        for p, product in enumerate(choice.products)
        if totals.opened[p] > 0
    )


def _total_use(choice: Choice, pick: NDArray[np.int64], coated: NDArray[np.bool_]) -> NDArray[np.float64]:
    use: NDArray[np.float64] = choice.instance.use[pick].sum(axis=0)
    for coat, on in zip(choice.instance.coats, coated, strict=True):
        if on:
            use = use + coat.use
    return use


def left_over(choice: Choice, answer: Answer) -> float:
    """Money in bought packs that are not used up."""
    instance = choice.instance
    use = _total_use(choice, answer.pick, answer.coats)
    bought_use = np.clip(use - instance.owned, 0.0, None)
    return float((answer.packs - bought_use) @ instance.price)


def coats(choice: Choice, answer: Answer) -> tuple[CoatPlan, ...]:
    """Faces that are coated whole."""
    instance = choice.instance
    return tuple(
        CoatPlan(
            choice.faces[coat.face],
            choice.products[int(np.argmax(coat.use))],
            coat.labour + float(coat.use @ instance.price),
            coat.hours,
            float(coat.use.max()),
        )
        for coat, on in zip(instance.coats, answer.coats, strict=True)
        if on
    )


def weightiest(
    choice: Choice, answer: Answer, goal: Goal, catalog: Catalog, *, most: int = 5
) -> tuple[str, ...]:
    """Name the flaw rates that weigh most in the result, largest first, with what they rest on."""
    terms = choice.terms.take(answer.pick)
    rain = np.where(terms.number > 0, by_run(choice, answer.pick), 0.0)
    harm = goal.air_weight * terms.number * terms.hole + goal.water_weight * rain
    weight: defaultdict[tuple[str, str], float] = defaultdict(float)
    for run, row, part in zip(choice.runs, answer.pick, harm, strict=True):
        if part > 0:
            weight[choice.options[int(row)].method, run.kind.value] += float(part)
    total = sum(weight.values())
    ranked = sorted(weight.items(), key=lambda item: (-item[1], item[0]))[:most]
    return tuple(
        f"flaws of {catalog.methods[method].name}, {kind}: {part / total:.0%} of the harm from flaws "
        f"[{_rests_on(method, kind, catalog).value}]"
        for (method, kind), part in ranked
    )


def _rests_on(method: str, kind: str, catalog: Catalog) -> Mark:
    """Mark of the flaw rate of a method on a kind of joint."""
    row = catalog.kinds[kind].row
    if JointKind(kind).piece:
        return catalog.figure(f"each.{method}.{row}").evidence.mark
    place = catalog.figure(f"place.{method}.{row}").evidence.mark
    return place if place is Mark.EARLIER else catalog.figure(f"flaws.{method}").evidence.mark


def general_cautions(catalog: Catalog) -> tuple[Caution, ...]:
    """Cautions that go with every plan."""
    keys = ("sheet", "estimates", "nailing", "ventilation", "roof", "hazard")
    invented = any(product.generic for product in catalog.products.values())
    told = tuple(catalog.cautions[key] for key in (*keys, *(["invented"] if invented else [])))
    return told + _from_earlier(catalog)


def _from_earlier(catalog: Catalog) -> tuple[Caution, ...]:
    """Say which figures come from earlier houses."""
    words = {"place": "flaws", "each": "flaws", "slow": "hours", "hours_each": "hours"}
    told: dict[Evidence, list[str]] = defaultdict(list)
    for key, figure in sorted(catalog.figures.items()):
        group, _, rest = key.partition(".")
        method, _, row = rest.partition(".")
        if figure.evidence.mark is Mark.EARLIER and group in words and method in catalog.methods:
            told[figure.evidence].append(f"{words[group]} of {catalog.methods[method].name}, {row}")
    return tuple(
        Caution(f"Not a starting estimate: {'; '.join(names)}.", evidence) for evidence, names in told.items()
    )


def cautions(
    building: Building, hull: Hull, choice: Choice, answer: Answer, catalog: Catalog
) -> tuple[Caution, ...]:
    """Cautions that this plan calls for."""
    kinds = {run.kind.value for run in choice.runs}
    methods = {choice.options[int(row)].method for row in answer.pick}
    called = {
        "overdriven": any(kind.startswith("overdriven") for kind in kinds),
        "rated": any(run.rated for run in choice.runs),
        "flue": "flue" in kinds,
        "tails": "cut_tails" in methods,
        "vapour": bool(vapour_tight(building, hull, choice, answer, catalog)),
        "meetings": bool(len(choice.instance.meet)),
    }
    return general_cautions(catalog) + tuple(catalog.cautions[key] for key, on in called.items() if on)


def vapour_tight(
    building: Building, hull: Hull, choice: Choice, answer: Answer, catalog: Catalog
) -> dict[str, float]:
    """Faces where Class I or II material covers more than a quarter, with an inside retarder of Class I or II.

    Returns
    -------
    dict
        Face id to covered share of its net area.
    """
    if building.build_up.inside_vapour_class not in (1, 2):
        return {}
    covered: defaultdict[str, float] = defaultdict(float)
    for run, row in zip(choice.runs, answer.pick, strict=True):
        product = catalog.products.get(choice.options[int(row)].product)
        if product is not None and product.vapour_class <= 2:
            covered[run.face] += product.width * (0.0 if run.kind.piece else run.quantity)
    for coat, on in zip(choice.instance.coats, answer.coats, strict=True):
        product = catalog.products[choice.products[int(np.argmax(coat.use))]]
        if on and product.vapour_class <= 2:
            covered[choice.faces[coat.face]] = math.inf
    faces: dict[str, Face] = {face.id: face for face in hull.faces}
    shares = {
        face: min(1.0, area / faces[face].net_area)
        for face, area in covered.items()
        if face in faces and faces[face].net_area > 0
    }
    return {face: share for face, share in shares.items() if share > _VAPOUR_SHARE}
