"""Budget and target together, and why there is no plan: worked out, and said in the units of the reader."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from choice_houses import Draft, K, aim, building, face, hull, paper_house

from hullwright.app.house import House
from hullwright.app.plan import Planned
from hullwright.app.words import aim_words
from hullwright.building.model import Fixed
from hullwright.catalog import load
from hullwright.choice import Settings, make
from hullwright.choice.refusing import amounts
from hullwright.errors import InfeasibleError, InputError
from hullwright.joints.before import kind_was

QUICK = Settings(engine="own", draws=2_000)


def small(**aims):
    """One wall and one roof face, a few runs."""
    draft = Draft([])
    draft.add(K.SEAM_UPRIGHT, "main/south", 40.0, gap=0.003, depth=0.011, bridged=True)
    draft.add(K.SILL, "main/south", 12.0, substrates=("coated panel", "concrete"))
    draft.add(K.OUTSIDE_CORNER, "main/south", 11.0)
    draft.add(K.PIPE, "main/south", 3, width=0.1, stage="services")
    draft.add(K.SEAM_LEVEL, "main/roof south", 30.0, level=True, gap=0.003, depth=0.011, bridged=True)
    draft.add(K.RAFTER_TAIL, "main/south", 12, width=0.038, section_depth=0.184, upslope=4.0)
    faces = [face("main/south", "wall", 40.0), face("main/roof south", "roof", 40.0, tilt=30.0)]
    paper = building()
    shed = replace(paper.build_up, inner_volume=30.0, sure=frozenset({"inner_volume", "floor_area"}))
    return replace(paper, aim=aim(**aims), build_up=shed), hull(faces), draft.done(())


def figures(error: InfeasibleError) -> tuple[float, float]:
    """Best target for the budget and money for the target, as told."""
    text = error.problems[0].message
    best = float(re.search(r"the best is ACH50 ([\d.]+)", text)[1])
    needed = float(re.search(r"you need about ([\d,]+) USD", text)[1].replace(",", ""))
    return best, needed


@pytest.fixture(scope="module")
def tight():
    """What a target costs by itself, and the cheapest plan."""
    target = make(*small(target_ach50=0.6), settings=QUICK)
    free = make(*small(target_ach50=5.0), settings=QUICK)
    assert free.spent < 0.9 * target.spent  # else the tests below ask nothing
    return target, free


def test_enough_money_changes_nothing(tight):
    target, _ = tight
    both = make(*small(target_ach50=0.6, budget=target.spent + 1), settings=QUICK)
    assert both.spent == pytest.approx(target.spent)
    assert [run.label for run in both.runs] == [run.label for run in target.runs]
    assert both.mode == "target"


def test_too_little_money_is_told_with_what_it_buys_and_what_the_target_takes(tight):
    target, free = tight
    budget = (target.spent + free.spent) / 2
    with pytest.raises(InfeasibleError, match="budget and target do not go together") as caught:
        make(*small(target_ach50=0.6, budget=budget), settings=QUICK)
    best, needed = figures(caught.value)
    # Source: by definition, the money of the cheapest plan for the target. Tolerance: told as whole USD, rounded up.
    assert target.spent <= needed + 1e-6 <= target.spent + 1 + 2e-6
    assert best > 0.6
    kept = make(*small(target_ach50=best, budget=budget), settings=QUICK)
    assert kept.spent <= budget + 1e-6
    assert make(*small(target_ach50=0.6, budget=needed), settings=QUICK).spent <= needed + 1e-6
    # what is told as best is best: a little less has no plan for the money
    with pytest.raises(InfeasibleError):
        make(*small(target_ach50=best - 0.02, budget=budget), settings=QUICK)


def test_money_that_buys_no_plan_at_all(tight):
    with pytest.raises(InfeasibleError, match="buys no allowed plan") as caught:
        make(*small(target_ach50=0.6, budget=1.0), settings=QUICK)
    assert f"you need about {-int(-tight[0].spent // 1):,} USD" in str(caught.value)
    assert "costs more than the budget" in str(caught.value)


def test_a_target_that_no_money_reaches():
    with pytest.raises(InfeasibleError, match=r"no money reaches 0\.001") as caught:
        make(*small(target_ach50=0.001, budget=1e6), settings=QUICK)
    assert "even the tightest allowed plan" in str(caught.value)
    assert "for 1,000,000 USD the best is ACH50" in str(caught.value)


def test_one_asked_for_by_itself_leaves_the_other_aside(tight):
    _, free = tight
    stated = small(target_ach50=0.6, budget=free.spent + 10)
    assert make(*stated, budget=free.spent + 10, settings=QUICK).mode == "budget"


@pytest.mark.parametrize(("system", "unit", "other"), [("us", "gal", " L"), ("metric", "L", "gal")])
def test_water_is_told_in_the_units_of_the_reader(system, unit, other):
    house, shape, joints = paper_house()
    house = replace(house, aim=aim(target_ach50=5.0, water_limit=0.1))
    with pytest.raises(InfeasibleError) as caught:
        make(replace(house, system=system), shape, joints, settings=QUICK)
    text = str(caught.value)
    assert re.search(rf"reachable water is above its limit: [\d.]+ {unit} against", text)
    assert other not in text


def test_amounts():
    us, metric = replace(building(), system="us"), replace(building(), system="metric")
    # Source: 1 in2 = 6.4516 cm2, 1 US gal = 3.785411784 L (NIST Handbook 44); rounded up to the digits that are said.
    assert amounts(us)("air", 6.4516) == "1.0 in2"
    assert amounts(metric)("air", 6.4516) == "6.5 cm2"
    assert amounts(us)("water", 3.785411784) == "1.0 gal"
    assert amounts(metric)("water", 3.785411784) == "3.8 L"
    assert amounts(us)("money", 3434.2) == "3,435 USD"
    assert amounts(us)("products", 3.0) == "3"
    # figures that lie near each other show it
    near = amounts(metric, 0.004)
    assert (near("water", 5.004), near("water", 5.0), near("water", 0.004)) == (
        "5.0040 L",
        "5.0000 L",
        "0.0040 L",
    )


def test_a_decision_names_its_run_by_id_or_words_of_today_or_of_before():
    house, shape, joints = small()
    named = [
        replace(
            run,
            id=f"main/south:{n}-t6",
            was=f"main/south:{kind_was(run.kind.value)}, to wood",
            name=f"south wall, {run.kind.value}",
        )
        for n, run in enumerate(joints.runs)
    ]
    joints = replace(joints, runs=tuple(named))
    (meant,) = [run for run in named if run.kind == "vertical seam"]
    names = ("main/south:upright seam>wood", meant.was, meant.name, meant.id)
    for name in names:
        plan = make(
            replace(house, aim=aim(fixed=(Fixed("liquid", run=name),))), shape, joints, settings=QUICK
        )
        (fixed,) = [run for run in plan.runs if run.fixed]
        assert (fixed.id, fixed.method) == (meant.id, "liquid")
    seam = (Fixed("liquid", run="main/south:upright seam>wood"),)
    double = (*named[:-1], replace(named[-1], was="main/south:upright seam, to wood"))
    with pytest.raises(InputError, match="2 runs may be meant"):
        make(replace(house, aim=aim(fixed=seam)), shape, replace(joints, runs=double), settings=QUICK)


def test_money_that_stays_unspent_is_told():
    def told(budget):
        house, shape, joints = small(budget=budget)
        plan = make(house, shape, joints, settings=QUICK)
        return plan, aim_words(Planned(House(house), plan, load(house)))

    plan, words = told(1e6)
    assert f"{1e6 - plan.spent:,.0f} of it stay unspent" in words
    assert "unspent" not in told(plan.spent * 1.001)[1]
