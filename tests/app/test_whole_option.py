"""A decision keeps the whole option: method, product, primer and filler."""

from __future__ import annotations

import pytest

from hullwright import building, choice
from hullwright.app.decide import decisions, keep, undo
from hullwright.app.house import House
from hullwright.app.weigh import alternatives
from hullwright.errors import InputError

SHED = """# a shed
units: ft
name: Shed
barrier: {top: roof deck, bottom: slab}
masses: [{name: main, size: [24, 16], storeys: [9], roof: flat}]
sheathing: {wall: {blocking: yes}}
surfaces: {wall: rough}
"""


def house_of(text):
    return House(building.parse(text))


def offered(house, run):
    table = choice.ask(house.building, house.hull, house.joints).choice
    number = next(k for k, one in enumerate(table.runs) if one.id == run)
    return [table.options[row] for row in table.rows(number)]


@pytest.fixture
def shed():
    return SHED


def primed_and_not(house):
    """A run on which one tape is offered with and without its primer."""
    for run in house.joints.runs:
        options = [one for one in offered_all(house)[run.id] if one.method == "tape"]
        for one in options:
            if one.primer and any(not other.primer and other.product == one.product for other in options):
                return run.id, one
    raise AssertionError("no run is offered one tape both ways")


def offered_all(house):
    table = choice.ask(house.building, house.hull, house.joints).choice
    return {run.id: [table.options[row] for row in table.rows(k)] for k, run in enumerate(table.runs)}


@pytest.mark.parametrize("primed", [True, False])
def test_keep_of_a_primed_tape_keeps_the_primed_one(shed, primed):
    """Seen: Keep of a primed tape kept the unprimed one."""
    house = house_of(shed)
    run, option = primed_and_not(house)
    text = keep(
        house,
        shed,
        run,
        "tape",
        product=option.product,
        primer=option.primer if primed else "none",
        filler="",
    )
    kept = house_of(text)
    assert decisions(kept)[0]["primer"] == (option.primer if primed else "none")
    assert {one.primer for one in offered(kept, run)} == {option.primer if primed else ""}
    assert undo(kept, text, run).count("method: tape") < text.count("method: tape") or "method" not in undo(
        kept, text, run
    )


def test_the_service_offers_what_a_decision_can_keep(shed):
    """Each option on the page, kept as it stands there, leaves that option alone."""
    from hullwright.app.plan import Wish, plan  # noqa: PLC0415 - the plan is needed here only

    house = house_of(shed)
    answer = plan(house, Wish(quick=True)).to_json()
    question = choice.ask(house.building, house.hull, house.joints)
    run, _ = primed_and_not(house)
    for one in alternatives(question, answer, run)["options"]:
        text = keep(house, shed, run, **{key: one[key] for key in ("method", "product", "primer", "filler")})
        (left,) = (
            offered(house_of(text), run)
            if one["prepared"].count("blocking")
            else offered(house_of(text), run)[:1]
        )
        assert (left.method, left.product) == (one["method"], one["product"])
        assert (left.primer or "none", left.filler or "none") == (one["primer"], one["filler"])


def test_an_unknown_primer_is_refused_with_its_place(shed):
    text = keep(house_of(shed), shed, house_of(shed).joints.runs[0].id, "tape", primer="no-such")
    with pytest.raises(InputError, match="can't be used") as caught:
        offered_all(house_of(text))
    assert caught.value.problems[0].got == "no-such"
