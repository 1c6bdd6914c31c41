"""The order in which liquid is bought follows practice, with the catalogue's own values and none tuned here."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from hullwright.choice import Settings, ask, make
from hullwright.joints.model import JointKind as K

# kind, on the roof
FIRST = {
    "rafter tails": (K.RAFTER_TAIL, False),
    "cable groups": (K.CABLES, False),
    "boxes": (K.BOX, False),
    "overdriven roof fasteners": (K.OVERDRIVEN, True),
    "level roof seams": (K.SEAM_LEVEL, True),
    "upright roof seams": (K.SEAM_UPRIGHT, True),
    "inside corners": (K.INSIDE_CORNER, False),
    "sill to concrete": (K.SILL, False),
}
LAST = {"flat wall seams": (K.SEAM_UPRIGHT, False), "outside corners": (K.OUTSIDE_CORNER, False)}


def prices_of_liquid(house, share: float) -> dict[tuple[K, bool], float]:
    """Harm that a unit of money must take off elsewhere before liquid gives way, by kind; inf: liquid at any budget."""
    building, hull, joints = house
    rain = replace(building.site.monthly_rain, value=share * building.site.monthly_rain.value)
    question = ask(replace(building, site=replace(building.site, monthly_rain=rain)), hull, joints)
    choice, instance = question.choice, question.choice.instance
    harm = question.goal.air_weight * instance.air + question.goal.water_weight * instance.water
    money = instance.labour + instance.use @ instance.price
    found: dict[tuple[K, bool], float] = {}
    for number, run in enumerate(choice.runs):
        rows = [row for row in choice.rows(number) if instance.coat[row] < 0]
        wet = [row for row in rows if choice.options[row].method == "liquid"]
        dry = [row for row in rows if choice.options[row].method in ("tape", "stretch", "boot", "unsealed")]
        best = max(min((gives_way(harm, money, w, d) for d in dry), default=np.inf) for w in wet)
        key = (run.kind, "roof" in run.face)
        found[key] = min(best, found.get(key, np.inf))
    return found


def gives_way(harm, money, wet: int, dry: int) -> float:
    gain, cost = harm[dry] - harm[wet], money[wet] - money[dry]
    if cost <= 0:
        return np.inf if gain >= 0 else 0.0
    return max(gain / cost, 0.0)


@pytest.mark.parametrize("share", [1 / 3, 1.0, 3.0])
@pytest.mark.parametrize("first", FIRST)
def test_liquid_goes_first_where_practice_puts_it(house, first, share):
    # Source: trade practice (common practice, no source): rafter tails, complex penetrations, overdriven roof fasteners and roof
    # seams, inside corners and sill to concrete before flat wall seams and outside corners.
    # Tolerance: none, an order.
    found = prices_of_liquid(house, share)
    for last in LAST:
        assert found[FIRST[first]] > found[LAST[last]], (first, last)


def test_flat_wall_seams_stay_taped_at_a_middling_budget(house):
    # Source: trade practice (common practice, no source): flat wall seams and outside corners are the last place for liquid.
    # Tolerance: none.
    building, hull, joints = house
    plan = make(building, hull, joints, budget=5_900.0, settings=Settings(draws=500))
    method = {run.id: run.method for run in plan.runs}
    walls = [run for run in plan.runs if run.kind == K.SEAM_UPRIGHT.value and "roof" not in run.face]
    assert {run.method for run in walls} == {"tape"}
    assert method["main/south/rafter tail"] in ("liquid", "cut_tails")
    assert method["main/roof south/horizontal seam"] in ("liquid", "coat")
