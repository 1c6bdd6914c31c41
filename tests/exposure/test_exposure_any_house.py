"""Water is neither made nor lost, on houses put together at random and on the examples."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st
from joint_random import houses

from hullwright import building as building_room
from hullwright import exposure, hull, joints
from hullwright.choice import ask
from hullwright.errors import HullwrightError

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.yaml"))
SLOW = settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow]
)


def wet(building):
    body = hull.build(building)
    result = joints.find(building, body)
    return body, result, exposure.passing(building, body, result)


def every_path_is_kept(building, body, result, given_, seed):
    streams = given_.streams
    links, rain = streams.links, exposure.rain(building, body)
    fallen = float(sum(r * face.area for r, face in zip(rain, body.faces, strict=True)))
    # Source: water is neither made nor lost. Tolerance: 1e-9 of what fell, rounding of some thousand sums.
    slack = 1e-9 * max(fallen, 1.0)
    assert streams.fallen == pytest.approx(fallen, abs=slack)
    assert float(links.own.sum()) + links.away == pytest.approx(fallen, abs=slack)
    leaves = links.off + np.bincount(links.source, links.amount, minlength=len(links.own))
    assert links.reach == pytest.approx(leaves, abs=slack)  # at each place, nothing taken in
    chain = links.chain()
    shares = chain.off.copy()
    for step in chain.steps:
        np.add.at(shares, step.source, step.share)
    assert shares == pytest.approx(1.0)
    rng = np.random.default_rng(seed)
    none = np.zeros(len(links.own))
    for taken in (none, none + 1.0, rng.random(len(none)), (rng.random(len(none)) < 0.3) * 1.0):
        entered, off = chain.run(taken)
        assert (entered >= 0).all()
        assert float(entered.sum() + off) == pytest.approx(fallen, abs=slack)
    entered, off = chain.run(none)
    assert float(off) == pytest.approx(fallen, abs=slack)
    entered, off = chain.run(none + 1.0)
    assert float(off) == pytest.approx(links.away, abs=slack)
    return chain


@SLOW
@given(houses(), st.integers(0, 2**32))
def test_what_enters_and_what_runs_off_is_what_fell(building, seed):
    try:
        body, result, found = wet(building)
    except HullwrightError:
        reject()  # masses that make no sound body are the hull's business
    chain = every_path_is_kept(building, body, result, found, seed)
    # Letting more in at one joint never brings more to another.
    rng = np.random.default_rng(seed)
    taken = rng.random(len(chain.own))
    more = taken.copy()
    place = int(rng.integers(len(taken)))
    more[place] = 1.0
    before, after = chain.run(taken)[0], chain.run(more)[0]
    others = np.delete(after - before, place)
    assert others.max(initial=0.0) <= 1e-9 * max(found.streams.fallen, 1.0)


@SLOW
@given(houses(), st.integers(0, 2**32))
def test_the_plan_as_a_whole_never_lets_in_more_than_fell(building, seed):
    try:
        body = hull.build(building)
        choice = ask(building, body, joints.find(building, body)).choice
    except HullwrightError:
        reject()
    drainage = choice.drainage
    rng = np.random.default_rng(seed)
    instance = choice.instance
    pick = np.array(
        [rng.integers(a, b) for a, b in zip(instance.first[:-1], instance.first[1:], strict=True)]
    )
    terms = choice.terms.take(pick)
    entered, off = drainage.entered(terms)
    # Source: water is neither made nor lost. Tolerance: 1e-9 of what fell.
    assert float(entered.sum()) + off == pytest.approx(drainage.fallen, abs=1e-9 * max(drainage.fallen, 1.0))
    assert (entered >= 0).all()
    # Nothing lost above is the most there can be at each run.
    assert (entered <= terms.water * (1 + 1e-9) + 1e-9).all()


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_examples(file):
    building = building_room.read(file)
    body, result, found = wet(building)
    every_path_is_kept(building, body, result, found, 7)
    assert found.streams.fallen > 0
    assert (found.joints >= 0).all()
    assert (found.joints > 0).sum() > 50
