"""What can leak: the component table, and how much a single piece varies."""

import math

import numpy as np
import pytest

from hullwright.app.leaks import components, leaks
from hullwright.app.plan import Wish, plan
from hullwright.evidence import ESTIMATE, Mark
from hullwright.joints.model import JointKind
from hullwright.leaks.components import Component, draw, prior, published, spread, table

# Source: ASHRAE Handbook—Fundamentals 1997–2005, effective air leakage areas, low-rise residential: best, min, max; the best
# values of the first five were seen in a secondary copy, the others are from memory, unverified. Tolerance: none, table values.
ROWS = {
    "outlet-plain": (2.5, 0.5, 6.2),
    "ceiling": (1.8, 0.79, 2.8),
    "window-frame-wood-sealed": (0.3, 0.3, 0.5),
    "door-frame": (12, 2.4, 25),
    "wall-cast-concrete": (0.5, 0.049, 1.8),
    "sole-plate-sealed": (0.8, 0.075, 1.2),
    "penetration-plain": (6, 2, 24),
    "attic-stair-plain": (44, 23, 86),
    "recessed-light": (10, 1.5, 21),
    "window-double-hung": (0.65, 0.2, 1.9),
}


@pytest.mark.parametrize("key", ROWS)
def test_a_row_of_the_table_is_as_printed(key):
    row = table()[key]
    assert (row["best"], row["low"], row["high"]) == ROWS[key]


def test_every_row_has_a_mark_a_source_and_a_best_value_within_its_span():
    for key, row in table().items():
        assert Mark(row["mark"]) in (Mark.PUBLISHED, Mark.MEMORY), key
        assert "ASHRAE" in row["source"], key
        assert row["low"] <= row["best"] <= row["high"], key


def test_a_span_of_sixteen_is_a_factor_of_four_each_way():
    # Source: closed form, sqrt(1.2 / 0.075) = 4. Tolerance: rounding.
    assert published("sole-plate-sealed")[1] == pytest.approx(4.0, rel=1e-12)
    figure = spread(JointKind.SILL.value)
    assert figure.value == pytest.approx(4.0, rel=1e-12)
    assert figure.evidence.mark is Mark.MEMORY


def test_a_kind_without_a_row_varies_by_ten_and_says_from_where():
    # Source: ASHRAE Handbook—Fundamentals 2021, ch. 16, "about a factor of 10" for one component. Tolerance: none, stated.
    figure = spread(JointKind.VALLEY.value)
    assert figure.value == 10.0
    assert figure.evidence.mark is Mark.PUBLISHED


def test_a_narrow_row_is_widened_to_three_and_marked_an_estimate():
    figure = spread(JointKind.PIPE.value)
    # Source: estimate (our own least). Tolerance: none.
    assert figure.value == 3.0
    assert figure.evidence.mark is Mark.ESTIMATE
    assert "narrower" in figure.evidence.source


@pytest.mark.parametrize("kind", ["sill to foundation", "pipe", "valley"])
def test_the_factor_holds_95_percent_of_the_draws_and_the_mean_stays(kind):
    part = Component("a", kind, "joint", 2.0, spread(kind), ESTIMATE, (0, 0, 0), "F1", 0.0, 1.0)
    columns = prior([part], house_gsd=1.0)
    flows = draw(columns, 200_000, 1)[:, 0]
    median = float(np.median(flows))
    factor = spread(kind).value
    inside = np.mean((flows > median / factor) & (flows < median * factor))
    # Source: definition of the spread, 95 % within the factor each way. Tolerance: 0.3 %, six standard errors of 200 000 draws.
    assert inside == pytest.approx(0.95, abs=0.003)
    assert columns.mean[0] == pytest.approx(
        float(np.exp(columns.location[0] + columns.own[0] ** 2 / 2)), rel=1e-12
    )
    # Source: closed form, the mean of the log-normal is the stated one. Tolerance: 4 %, sampling of a heavy tail.
    assert flows.mean() == pytest.approx(columns.mean[0], rel=0.04)


def test_windows_are_units_and_panels_are_material(plain):
    parts, _ = components(plan(plain, Wish(quick=True)))
    sorts = {part.id: part.sort for part in parts if part.sort != "joint"}
    assert sorts["windows"] == "unit"
    assert sorts["doors"] == "unit"
    assert sorts["through the panels"] == "material"


def test_every_joint_of_the_answer_says_its_spread_and_mark(plain):
    rows = leaks(plain).to_json()["joints"]
    by_kind = {row["kind"]: row for row in rows}
    assert by_kind["sill to foundation"]["spread_factor"] == pytest.approx(4.0)
    assert all(row["spread_evidence"]["mark"] for row in rows)
    assert all(math.isfinite(row["ela_cm2"]["high"]) for row in rows)
