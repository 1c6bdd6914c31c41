"""The plan from end to end: limits, reasons, prices of decisions, target, curve, and what must change nothing."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace

import jsonschema
import numpy as np
import pytest
from choice_houses import FOOT, INF, Draft, K, aim, building, face, hull

from hullwright.app.schemas import schema
from hullwright.building.model import Fixed
from hullwright.choice import Settings, ask, make
from hullwright.choice.explain import Weighing
from hullwright.choice.making import make_curve
from hullwright.choice.simulate import Spreads
from hullwright.choice.sums import flow
from hullwright.choice.target import Aimed, _Search
from hullwright.choice.terms import terms_of
from hullwright.errors import CatalogError, InfeasibleError, InputError
from hullwright.evidence import STATED, Figure
from hullwright.joints.model import Meeting

QUICK = Settings(draws=2_000)


def small(meetings: tuple[Meeting, ...] = (), **changes):
    """One wall and one roof face, seven runs: small enough to try every plan."""
    draft = Draft([])
    draft.add(K.SEAM_UPRIGHT, "main/south", 40.0, gap=0.003, depth=0.011, bridged=True)
    draft.add(K.SILL, "main/south", 12.0, substrates=("coated panel", "concrete"))
    draft.add(K.OUTSIDE_CORNER, "main/south", 11.0)
    draft.add(K.PIPE, "main/south", 3, width=0.1, stage="services")
    draft.add(K.SEAM_LEVEL, "main/roof south", 30.0, level=True, gap=0.003, depth=0.011, bridged=True)
    draft.add(K.RAFTER_TAIL, "main/south", 12, width=0.038, section_depth=0.184, upslope=4.0)
    faces = [face("main/south", "wall", 40.0), face("main/roof south", "roof", 40.0, tilt=30.0)]
    return building(**changes), hull(faces), draft.done(meetings)


def test_json_keeps_to_the_published_shape(house):
    plan = make(*house, budget=6_000.0, settings=replace(QUICK, draws=500, curve_points=21))
    told = plan.to_json()
    jsonschema.validate(told, schema("plan"))
    jsonschema.validate(plan.curve.to_json(), schema("curve"))
    json.dumps(told, allow_nan=False)
    assert plan.unverified_meetings == 0
    for run in told["runs"]:
        assert run["why"]
        assert all(bar["rule"] for bar in run["barred"])


def test_money_adds_up(house):
    """Labour, whole packs and set-ups are what the plan spends, coats included."""
    plan = make(*house, budget=8_000.0, settings=QUICK)
    packs = sum(pack.money for pack in plan.packs)
    fractions = sum(use * price_of(plan, product) for run in plan.runs for product, use in run.uses.items())
    labour = sum(run.money for run in plan.runs) - fractions
    coats = sum(coat.money - coat.use * price_of(plan, coat.product) for coat in plan.coats)
    # Source: the sum itself. Tolerance: rounding.
    assert labour + packs + plan.setup_money + coats == pytest.approx(plan.spent)
    assert plan.spent <= 8_000.0
    used = fractions + sum(coat.use * price_of(plan, coat.product) for coat in plan.coats)
    assert packs - used == pytest.approx(plan.left_over_money)


def price_of(plan, product: str) -> float:
    pack = next(pack for pack in plan.packs if pack.product == product)
    return pack.money / pack.count


def every_plan(question):
    """Give money and harm of all plans without a coat, one by one, by an own sum."""
    instance = question.choice.instance
    rows = [[row for row in question.choice.rows(r) if instance.coat[row] < 0] for r in range(instance.runs)]
    for picks in np.array(np.meshgrid(*rows)).reshape(len(rows), -1).T:
        use = np.ceil(instance.use[picks].sum(axis=0) - 1e-6)
        pairs = {
            (instance.face[r], instance.method[p]) for r, p in enumerate(picks) if instance.method[p] >= 0
        }
        money = (
            instance.labour[picks].sum()
            + use @ instance.price
            + sum(instance.setup_money[pair] for pair in pairs)
        )
        harm = (
            question.goal.air_weight * instance.air[picks].sum()
            + question.goal.water_weight * instance.water[picks].sum()
        )
        yield money, harm


def test_against_every_plan_of_a_small_house():
    """The plan is as good as the best of all plans, tried one by one with an own sum of money and harm."""
    # Source: full enumeration. Tolerance: 0.01 %, the solver's proof.
    question = ask(*small(), budget=1_500.0)
    best = min(harm for money, harm in every_plan(question) if money <= 1_500.0 + 1e-6)
    plan = make(*small(), budget=1_500.0, settings=QUICK)
    assert not plan.coats
    assert plan.objective == pytest.approx(best, rel=1e-4)


def test_money_that_buys_nothing_is_not_spent(house):
    """Where the budget does not bind, of the plans that are as good the cheapest is given, as the curve ends with it."""
    # Source: the end of the curve, which is found by a search of its own. Tolerance: 0.01 %, the solver's proof.
    plan = make(*house, budget=INF, settings=replace(QUICK, curve_points=21))
    end = plan.curve.points[-1]
    assert end.objective == pytest.approx(plan.objective, rel=1e-4)
    assert plan.spent <= end.spent * (1 + 1e-4)
    # Source: the plan for less money that is as good: what is left of it was of no use. Tolerance: 0.01 %, the solver's proof.
    loose = make(*small(), budget=INF, settings=QUICK)
    tight = make(*small(), budget=1.2 * loose.spent, settings=QUICK)
    assert tight.objective == pytest.approx(loose.objective, rel=1e-4)
    assert loose.spent <= tight.spent * (1 + 1e-4)


def test_more_money_is_never_worse(house):
    question = ask(*house)
    curve = make_curve(question)
    points = curve.points
    assert len(points) >= 20
    assert all(b.objective <= a.objective + 1e-9 for a, b in itertools.pairwise(points))
    assert all(
        point.bound <= point.objective + 1e-9 and point.spent <= point.budget + 1e-6 for point in points
    )


def test_a_cheaper_product_never_raises_the_cost():
    stated, shape, joints = small(aim=aim(target_ach50=0.5))
    dear = make(stated, shape, joints, settings=QUICK)
    cheap = make(replace(stated, prices={"silyl-flashing-20": 9.0}), shape, joints, settings=QUICK)
    assert cheap.spent <= dear.spent + 1e-6


def test_order_of_runs_changes_nothing(house):
    stated, shape, joints = house
    turned = replace(shape, faces=tuple(reversed(shape.faces)))
    one = make(stated, shape, joints, budget=6_000.0, settings=QUICK).to_json()
    two = make(
        replace(stated, surfaces=dict(reversed(stated.surfaces.items()))),
        turned,
        joints,
        budget=6_000.0,
        settings=QUICK,
    ).to_json()
    assert one == two
    assert one == make(stated, shape, joints, budget=6_000.0, settings=QUICK).to_json()


def test_us_and_metric_give_the_same_plan(house):
    stated, shape, joints = house
    us = make(stated, shape, joints, budget=6_000.0, settings=QUICK)
    metric = make(replace(stated, system="metric"), shape, joints, budget=6_000.0, settings=QUICK)
    assert [run.label for run in us.runs] == [run.label for run in metric.runs]
    assert us.spent == metric.spent
    assert "gal" in us.runs[0].why + us.runs[6].why
    assert any(" L of water" in run.why for run in metric.runs)


def test_nothing_sealed_can_be_compared(house):
    """With every joint left bare by the user's decision the open house comes out."""
    stated, shape, joints = house
    bare = replace(stated, aim=aim(fixed=(Fixed("unsealed"),)))
    plan = make(bare, shape, joints, budget=INF, settings=QUICK)
    assert {run.method for run in plan.runs} == {"unsealed"}
    assert plan.spent == 0
    # Source: worked example, nothing sealed 1 210 cm2; here 80 of the 100 ft of corners are outside corners, which have the same
    # figure bare, and 700 fasteners of 0.002 cm2 come on top.
    # Tolerance: half a unit of the last digit, 5 cm2.
    assert plan.area_cm2 == pytest.approx(1_210, abs=5)


def test_fixed_decision_is_honoured_and_priced(house):
    stated, shape, joints = house
    free = make(stated, shape, joints, budget=7_000.0, settings=QUICK)
    fixed = (Fixed("tape", face="main/south"),)
    plan = make(replace(stated, aim=aim(fixed=fixed)), shape, joints, budget=7_000.0, settings=QUICK)
    south = {run.kind: run for run in plan.runs if run.face == "main/south"}
    assert south[K.SEAM_UPRIGHT.value].method == "tape"
    assert south[K.RAFTER_TAIL.value].method == "tape"
    assert south[K.OPENING_CORNER.value].method != "tape"
    assert plan.fixed.objective == pytest.approx(plan.objective - free.objective)
    assert plan.fixed.objective > 0
    assert any("rough-opening corner" in text for text in plan.fixed.unmet)
    assert "Your own decision" in south[K.RAFTER_TAIL.value].why


def test_decision_on_one_run_against_a_hard_rule(house):
    stated, shape, joints = house
    fixed = (Fixed("tape", run="main/south/eave"),)
    with pytest.raises(InfeasibleError, match="eave has a least grade"):
        make(replace(stated, aim=aim(fixed=fixed)), shape, joints, settings=QUICK)
    with pytest.raises(InputError, match="no such product"):
        make(replace(stated, aim=aim(fixed=(Fixed("tape", "red-tape"),))), shape, joints, settings=QUICK)
    with pytest.raises(InputError, match="fits no joint"):
        make(
            replace(stated, aim=aim(fixed=(Fixed("tape", face="main/sauth"),))), shape, joints, settings=QUICK
        )


def test_budget_below_the_cheapest_plan(house):
    with pytest.raises(InfeasibleError) as caught:
        make(*house, budget=1_000.0, settings=QUICK)
    text = str(caught.value)
    assert "too much" in text
    assert "rafter tail" in text


def test_a_run_without_a_way_is_named(house):
    stated, shape, joints = house
    runs = tuple(
        replace(run, gap=0.05) if run.id == "main/south/vertical seam" else run for run in joints.runs
    )
    with pytest.raises(InfeasibleError, match="main/south/vertical seam") as caught:
        make(stated, shape, replace(joints, runs=runs), settings=QUICK)
    assert "wider than the product's sheet" in str(caught.value)


def test_target_is_kept_and_confirmed(house):
    stated, shape, joints = house
    plan = make(stated, shape, joints, target=0.25, settings=QUICK)
    assert plan.mode == "target"
    assert plan.confirmed.share >= 0.9
    # Source: definition, the 90th percentile keeps the target. Tolerance: its Monte Carlo error.
    assert plan.ach50.p90 <= 0.25 + 2 * plan.ach50.errors[2]
    assert plan.confirmed.text.count("%") >= 3
    looser = make(stated, shape, joints, target=0.4, settings=QUICK)
    assert looser.spent <= plan.spent + 1e-6


@pytest.mark.parametrize("target", [0.030, 0.034, 0.038, 0.042, 0.046])
def test_fresh_draws_always_confirm(target):
    """With so few draws the search is often too hopeful: the plan is tightened until fresh draws keep the target."""
    stated, shape, joints = small()
    plan = make(stated, shape, joints, target=target, settings=replace(QUICK, draws=60))
    assert plan.confirmed.share >= 0.9
    assert plan.confirmed.error > 0.01


def test_confirmation_draws_are_fresh():
    question = ask(*small())
    answer = question.solve(question.limits, question.goal)
    aimed = Aimed(0.5, 0.9, 100, Spreads())
    search = _Search(question.choice, question.house, aimed, question.limits, question.solve)
    assert not np.array_equal(search.ach50(answer, 1), search.ach50(answer, 2))


def test_target_out_of_reach_says_what_is_in_the_way(house):
    stated, shape, joints = house
    leaky = replace(stated, other_leakage={"kitchen hood": Figure(500.0, "m3/h", STATED)})
    with pytest.raises(InfeasibleError) as caught:
        make(leaky, shape, joints, target=0.2, settings=QUICK)
    text = str(caught.value)
    assert "kitchen hood 0.8" in text
    assert "above the target" in text


def test_other_leakage_is_in_the_forecast(house):
    stated, shape, joints = house
    more = replace(stated, other_leakage={"duct": Figure(100.0, "m3/h", STATED)})
    one = make(stated, shape, joints, budget=6_000.0, settings=QUICK)
    two = make(more, shape, joints, budget=6_000.0, settings=QUICK)
    # Source: by hand, 100 m3/h over the stated inner volume. Tolerance: rounding.
    assert two.expected_ach50 - one.expected_ach50 == pytest.approx(100 / (2400 * 9 * FOOT**3))
    assert one.expected_ach50 == pytest.approx(
        (flow(one.area_cm2) + one.whole.other_flow) / (2400 * 9 * FOOT**3)
    )


def test_percentiles_bracket(house):
    plan = make(*house, budget=6_000.0, settings=QUICK)
    assert plan.ach50.p10 < plan.ach50.p50 < plan.ach50.p90
    assert plan.water_l.p10 < plan.water_l.p50 < plan.water_l.p90
    # Source: the mean of the draws is the sum of the means. Tolerance: four of its Monte Carlo standard errors.
    assert abs(plan.ach50.mean - plan.expected_ach50) < 4 / 1.96 * plan.ach50.errors[3]


def test_worst_piece_limit_bars_loose_pieces(house):
    stated, shape, joints = house
    plan = make(replace(stated, aim=aim(worst_piece=0.2)), shape, joints, settings=QUICK)
    for run in plan.runs:
        if run.kind in (K.PIPE.value, K.CABLES.value, K.RAFTER_TAIL.value):
            assert run.air_cm2 <= 0.2 * run.quantity + 1e-9
    tail = next(run for run in plan.runs if run.id == "main/south/rafter tail")
    assert any(rule == "worst-piece" for _, rule, _ in tail.barred)
    # A cable group in liquid is 0.12 · 1.5 = 0.18 cm2: below that limit nothing is left, and the message says which limit.
    with pytest.raises(InfeasibleError, match=r"(?s)cable group.*limit that you set"):
        make(replace(stated, aim=aim(worst_piece=0.1)), shape, joints, settings=QUICK)


def test_stock_is_used_first(house):
    stated, shape, joints = house
    plain = make(stated, shape, joints, budget=6_000.0, settings=QUICK)
    stocked = make(
        replace(stated, stock={"acrylic-seam-tape": 8}), shape, joints, budget=6_000.0, settings=QUICK
    )
    assert stocked.objective <= plain.objective + 1e-9
    tape = next(pack for pack in stocked.packs if pack.product == "acrylic-seam-tape")
    assert tape.owned == 8
    # What is bought and not used up is priced; what lies in stock is not.
    rest = sum(
        (pack.count - max(pack.use - 8 * (pack is tape), 0)) * (pack.money / pack.count)
        for pack in stocked.packs
        if pack.count
    )
    assert stocked.left_over_money == pytest.approx(rest)
    assert stocked.left_over_money >= 0


def test_reasons_hold(house):
    """What is said of the next best is what its numbers are, and the flip is where both are worth the same."""
    question = ask(*house, budget=6_000.0)
    answer = question.solve(question.limits, question.goal)
    weighing = Weighing(question.choice, question.goal, answer.pick)
    flips = 0
    for number in range(len(question.choice.runs)):
        reason = weighing.reason(number, question.catalog)
        if reason.best is None:
            continue
        row = int(answer.pick[number])
        assert reason.money == pytest.approx(float(weighing.money[reason.best] - weighing.money[row]))
        if reason.flip is None or not reason.flip.key.startswith(("flaws.", "each.")):
            continue
        flips += 1
        changed = question.catalog.figures | {
            reason.flip.key: replace(question.catalog.figures[reason.flip.key], value=reason.flip.at)
        }
        scores = [rescored(question, changed, weighing, r) for r in (row, reason.best)]
        # Source: definition of a flip, equal h + λ·m. Tolerance: 1e-6 of the score.
        assert scores[0] == pytest.approx(scores[1], rel=1e-6)
    assert flips >= 5


def rescored(question, figures, weighing, row: int) -> float:
    choice = question.choice
    run = int(choice.run_of[row])
    catalog = replace(question.catalog, figures=figures)
    sound, flaws, hole, gather, enters, wide = terms_of(
        choice.spots[run], choice.options[row], catalog, practised=True
    )
    quantity, passing = choice.runs[run].quantity, float(choice.terms.passing[row])
    air = quantity * (sound + flaws * hole)
    water = quantity * (flaws * gather * enters + wide) * passing
    return (
        question.goal.air_weight * air
        + question.goal.water_weight * water
        + weighing.rate * float(weighing.money[row])
    )


def test_next_step_is_worth_its_money(house):
    plan = make(*house, budget=6_000.0, settings=QUICK)
    assert plan.step.gain > 0
    richer = make(*house, budget=plan.spent + plan.step.money + 1e-6, settings=QUICK)
    assert richer.objective <= plan.objective - plan.step.gain + 1e-6


def test_meetings_are_told_and_counted():
    at = np.array([1.0, 2.0, 3.0])
    base = small()[2]
    number = {run.id: n for n, run in enumerate(base.runs)}
    seam, corner = number["main/south/vertical seam"], number["main/south/outside corner"]
    sill = number["main/south/sill to foundation"]
    meetings = (Meeting((seam, corner), at, -1), Meeting((seam, sill), at, sill))
    fixed = (
        Fixed("tape", "butyl-flashing-tape", kind=K.SEAM_UPRIGHT.value),
        Fixed("liquid", kind=K.SILL.value),
    )
    stated, shape, joints = small(meetings, aim=aim(fixed=fixed))
    plan = make(stated, shape, joints, settings=QUICK)
    lap = next(lap for lap in plan.laps if "main/south/sill to foundation" in lap.runs)
    assert lap.verdict == "unknown"
    assert "patch test" in lap.text
    assert lap.text.startswith("First liquid flashing on main/south/sill to foundation")
    assert "cure" in lap.text
    assert plan.unverified_meetings == sum(one.verdict == "unknown" for one in plan.laps) >= 1
    with pytest.raises(InfeasibleError, match="unknown"):
        make(replace(stated, aim=aim(fixed=fixed, most_unknown_meetings=0)), shape, joints, settings=QUICK)


def test_known_failing_pair_is_never_side_by_side():
    at = np.zeros(3)
    base = small()[2]
    number = {run.id: n for n, run in enumerate(base.runs)}
    pair = (number["main/south/outside corner"], number["main/south/vertical seam"])
    black = {
        "id": "black", "form": "tape", "chemistry": "bitumen", "price": 1.0, "pack": "100 ft", "width": "4 in",
        "gap_direct": "1/4 in", "gap_filled": "1/2 in",
    }  # fmt: skip
    fixed = (Fixed("liquid", "silyl-flashing-20", kind=K.OUTSIDE_CORNER.value),)
    stated, shape, joints = small((Meeting(pair, at, -1),), products=(black,), aim=aim(fixed=fixed))
    plan = make(stated, shape, joints, budget=5_000.0, settings=QUICK)
    apart = make(stated, shape, replace(joints, meetings=()), budget=5_000.0, settings=QUICK)
    assert next(run for run in plan.runs if run.kind == K.SEAM_UPRIGHT.value).product != "black"
    assert apart.objective <= plan.objective + 1e-9


def test_sheet_that_disagrees_with_itself_is_refused(house):
    # Source: coverage = solids/dry film: 12 mil at 60 % is 80.2 ft2/gal; 120 ft2/gal can't be. Tolerance: printed rounding.
    wrong = {
        "id": "odd", "form": "liquid", "price": 20.0, "pack": "5 gal", "width": "3 in", "dry": "12 mil",
        "solids": "60 %", "coverage": ["120 ft2/gal"],
    }  # fmt: skip
    stated, shape, joints = house
    with pytest.raises(CatalogError, match="disagree"):
        make(replace(stated, products=(wrong,)), shape, joints, settings=QUICK)
    right = wrong | {"coverage": ["80 ft2/gal", "1.96 m2/L"]}
    assert make(replace(stated, products=(right,)), shape, joints, settings=QUICK).runs


def test_vapour_caution(house):
    stated, shape, joints = house
    tight = replace(
        stated,
        build_up=replace(stated.build_up, inside_vapour_class=2),
        aim=aim(fixed=(Fixed("tape", "butyl-flashing-tape", kind=K.SEAM_UPRIGHT.value),)),
    )
    runs = tuple(
        replace(run, quantity=200.0) if run.id == "main/south/vertical seam" else run for run in joints.runs
    )
    plan = make(tight, shape, replace(joints, runs=runs), settings=QUICK)
    assert any("Class I or II" in caution.text for caution in plan.cautions)
    assert not any("Class I or II" in caution.text for caution in make(*house, settings=QUICK).cautions)
    open_tape = replace(
        tight, aim=aim(fixed=(Fixed("tape", "acrylic-seam-tape", kind=K.SEAM_UPRIGHT.value),))
    )
    plan = make(open_tape, shape, replace(joints, runs=runs), settings=QUICK)
    assert not any("Class I or II" in caution.text for caution in plan.cautions)


def test_cut_tails_are_priced(house):
    stated, shape, joints = house
    cut = replace(stated, aim=aim(fixed=(Fixed("cut_tails", kind=K.RAFTER_TAIL.value),)))
    plan = make(cut, shape, joints, settings=QUICK)
    tails = [run for run in plan.runs if run.kind == K.RAFTER_TAIL.value]
    assert {run.method for run in tails} == {"cut_tails"}
    assert all(run.air_cm2 == 0 and run.water_l == 0 and run.money > 0 for run in tails)
    assert plan.fixed is not None
    assert any("tails" in caution.text for caution in plan.cautions)


def test_the_next_best_is_the_best_of_the_other_methods(house):
    question = ask(*house, budget=6_000.0)
    answer = question.solve(question.limits, question.goal)
    weighing = Weighing(question.choice, question.goal, answer.pick)
    for number in range(len(question.choice.runs)):
        reason = weighing.reason(number, question.catalog)
        if reason.best is None:
            continue
        mine = question.choice.options[int(answer.pick[number])].method
        others = [
            row
            for row in question.choice.rows(number)
            if question.choice.options[row].method != mine and weighing.open[row]
        ]
        if others:
            assert weighing.score[reason.best] == min(weighing.score[row] for row in others)


def test_hours_of_the_crew_are_a_limit(house):
    """Two people with 50 hours each have 100 person-hours."""
    stated, shape, joints = house
    free = make(stated, shape, joints, settings=QUICK)
    short = make(replace(stated, crew=replace(stated.crew, hours=50.0)), shape, joints, settings=QUICK)
    assert free.hours > 100.0 >= short.hours - 1e-6
    assert short.objective > free.objective


@pytest.mark.parametrize("wish", [{"target": 0.6}, {"budget": 10_000.0}, {}])
def test_a_stated_limit_on_rain_binds_on_the_figure_that_is_printed(house, wish):
    # Source: the rule that a stated limit binds, on the middle of the forecast. Tolerance: none.
    stated, shape, joints = house
    loose, tight = (replace(stated, aim=aim(water_limit=limit)) for limit in (60.0, 8.0))
    one, two = (make(s, shape, joints, settings=QUICK, **wish) for s in (loose, tight))
    assert one.water_l.p50 <= 60.0
    assert two.water_l.p50 <= 8.0 * (1 + 1e-6)
    assert two.bound <= two.objective
    if one.water_l.p50 > 8.0 and "target" in wish:
        assert two.spent > one.spent
    with pytest.raises(InfeasibleError, match="reachable water is above its limit"):
        make(replace(stated, aim=aim(water_limit=0.5)), shape, joints, settings=QUICK, **wish)


def test_the_default_limit_on_rain_never_refuses(house):
    # Source: the rule that only a stated limit binds. Tolerance: none.
    stated, shape, joints = house
    rain = replace(stated.site.monthly_rain, value=900.0)
    wet = replace(stated, site=replace(stated.site, monthly_rain=rain))
    plan = make(wet, shape, joints, target=0.6, settings=QUICK)
    assert plan.water_l.p50 > plan.whole.water_limit
    assert plan.confirmed.share >= 0.9


def test_rain_of_the_runs_adds_up_to_that_of_the_plan(house):
    # Source: the plan as a whole is its runs. Tolerance: rounding. The mean of the draws is near it: flaws draw the share that
    # enters, which bends below a straight line; 3 % and four of its Monte Carlo standard errors.
    plan = make(*house, budget=6_000.0, settings=QUICK)
    assert sum(run.water_l for run in plan.runs) == pytest.approx(plan.expected_water_l)
    apart = 4 / 1.96 * plan.water_l.errors[3] + 0.03 * plan.expected_water_l
    assert abs(plan.water_l.mean - plan.expected_water_l) < apart
