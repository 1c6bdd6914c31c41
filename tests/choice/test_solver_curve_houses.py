"""The curve of the real example houses is alive: money buys something, and every point is near its bound."""

import itertools

import pytest

import hullwright
from hullwright.app.files import demo_file


@pytest.mark.parametrize("name", ["saltgrass-house", "six-flats"])
def test_more_money_buys_more_on_the_example_houses(name):
    points = hullwright.curve(demo_file().with_name(f"{name}.yaml")).curve.points
    assert len(points) >= 20
    budgets, values = [p.budget for p in points], [p.objective for p in points]
    # Source: the archive's rule: any plan serves all larger budgets
    assert all(b > a for a, b in itertools.pairwise(budgets))
    assert all(b <= a for a, b in itertools.pairwise(values))
    assert len({round(p.spent, 2) for p in points}) >= 10, "the curve must not stand still"
    assert values[-1] < 0.8 * values[0]
    # Tolerance: each point within 5 % of its proven bound, the first within 25 % (its budget is the cheapest plan)
    assert all((p.objective - p.bound) <= 0.05 * p.objective for p in points[1:])
    assert points[0].objective - points[0].bound <= 0.25 * points[0].objective
