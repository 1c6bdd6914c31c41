"""The answer of a plan in words: what it costs, what to expect, what held it back."""

from __future__ import annotations

import math

from hullwright.app.plan import Planned
from hullwright.units import Show

_LEFT = 0.01
"""Share of a budget below which an unspent rest is not told."""
_CLOSE_TO = 0.95
"""Share of a limit above which it is what holds the plan."""


def answer_words(planned: Planned) -> str:
    """The answer in a few sentences, with what it rests on."""
    plan = planned.plan
    low, middle, high = plan.ach50.p10, plan.ach50.p50, plan.ach50.p90
    cost = f"{plan.spent:,.0f} {plan.currency} and {plan.hours:,.0f} person-hours seal this hull"
    air = f"to about {middle:.2f} air changes an hour at 50 Pa; 8 of 10 houses like it would test between {low:.2f} and {high:.2f}."
    words = [f"{cost} {air}", aim_words(planned)]
    if plan.estimates:
        words.append(
            "Flaw rates are estimates: nothing is published on flaws per length of tape or liquid flashing."
        )
    return " ".join(words)


def aim_words(planned: Planned) -> str:
    """What the plan was made for, and what held it back."""
    plan = planned.plan
    if plan.confirmed is None:
        return f"{_budget_words(planned)}{rain_words(planned)}"
    found = plan.confirmed
    met = f"Least money that keeps {found.target:g} air changes an hour: {found.share:.1%} of the draws keep it (asked: {found.confidence:.0%})."
    return f"{met}{rain_words(planned)}"


def _budget_words(planned: Planned) -> str:
    plan = planned.plan
    if not math.isfinite(plan.budget):
        return "No budget and no target is stated: this is the tightest and driest plan that can be bought."
    rest = plan.budget - plan.spent
    left = f" {rest:,.0f} of it stay unspent: but for the gap told, nothing that they buy makes it better."
    return f"Tightest and driest for {plan.budget:,.0f} {plan.currency}." + (
        left if rest > _LEFT * plan.budget else ""
    )


def rain_words(planned: Planned) -> str:
    """What the limit on rain that gets in did: a stated one binds, the default is only told when it is passed."""
    plan, show = planned.plan, Show(planned.house.building.system)
    middle, limit = plan.water_l.p50, plan.whole.water_limit
    if planned.house.building.aim.water_limit is not None:
        held = f" The limit of {show.water(limit)} on rain that gets in before the siding is on is kept"
        return f"{held}: it is part of what this plan costs." if middle > _CLOSE_TO * limit else f"{held}."
    if middle <= limit:
        return ""
    return (
        f" More rain gets in than the {show.water(limit)} that counts as one in the goal (our default, an estimate: "
        f"{show.water(planned.catalog.value('water.limit'))} for a house-sized roof): it does not bind; state aim.water_limit to hold it."
    )


def proof_words(planned: Planned) -> str:
    """How good the plan is proven to be."""
    plan = planned.plan
    return "proved best" if plan.proved else f"at most {plan.gap:.2%} from the best"


def value_words(planned: Planned) -> str:
    """Value, bound and gap with their meaning."""
    plan = planned.plan
    what = "money" if plan.confirmed else "goal (leakage and water against their targets, weighted)"
    return f"{what[0].upper()}{what[1:]} {plan.objective:,.4g}, proven bound {plan.bound:,.4g}, gap {plan.gap:.2%}: {proof_words(planned)}."


def unit_words(planned: Planned) -> str:
    """What leaks whatever is sealed: units at their rating, panels, services."""
    plan = planned.plan
    volume = plan.whole.volume.value
    parts = [f"{name} {flow / volume:.2f}" for name, flow in plan.whole.other if flow > 0]
    if not parts:
        return ""
    return f"In it, whatever is sealed: {', '.join(parts)} air changes (units at their rating; default ratings are estimates, state leakage: on each opening)."
