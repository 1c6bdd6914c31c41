"""A thing on the wrong mass: the hint names the one on which it fits, in the file's units."""

from __future__ import annotations

import re

import pytest

from hullwright.building import parse
from hullwright.errors import BuildingFileError
from hullwright.hull import build
from hullwright.units import Show

HEAD = "units: {units}\nname: T\nbarrier: {{top: roof deck, bottom: slab}}\nmasses:\n"
US = HEAD.format(units="ft") + (
    "  - {name: main, size: [34, 24], storeys: [8], roof: {form: hip, pitch: 5:12}}\n"
    "  - {name: wing, size: [10, 10], at: [12, -3], storeys: [8], roof: {form: gable, pitch: 5:12, ridge: north-south}}\n"
)
METRIC = HEAD.format(units="m") + (
    "  - {name: main, size: [10, 8], storeys: [2.5], roof: {form: hip, pitch: 20 deg}}\n"
    "  - {name: wing, size: [3, 3], at: [4, -1], storeys: [2.5], roof: {form: gable, pitch: 20 deg, ridge: north-south}}\n"
)


def wrong(text: str):
    with pytest.raises(BuildingFileError) as caught:
        build(parse(text))
    return caught.value.problems


@pytest.mark.parametrize(
    "more",
    [
        "openings: [{mass: wing, side: west, kind: window, size: [3, 4], head: 7, at: 20}]\n",
        "openings: [{mass: wing, side: west, kind: window, size: [3, 4], head: 7, center: 20}]\n",
        "penetrations: [{mass: wing, through: west, kind: pipe, diameter: 4, at: [[20, 2]]}]\n",
        "penetrations: [{mass: wing, through: roof north, kind: pipe, diameter: 4, at: [[20, 2]]}]\n",
        "later: [{mass: wing, kind: ledger, side: west, at: 12, width: 10, top: 0, depth: 1}]\n",
        # told by the reader's own sums above; by the hull where only the other mass stands in the way:
        "openings: [{mass: wing, side: north, kind: window, size: [3, 4], head: 7, at: 2}]\n",
        "penetrations: [{mass: wing, through: north, kind: pipe, diameter: 4, at: [[2, 2]]}]\n",
    ],
)
def test_the_mass_on_which_it_fits_is_named(more):
    (problem,) = wrong(US + more)
    assert "`main`" in problem.hint
    assert "`mass: wing`" in problem.hint


def test_nothing_is_hinted_where_it_fits_nowhere():
    (problem,) = wrong(
        US + "openings: [{mass: wing, side: west, kind: window, size: [3, 4], head: 7, at: 40}]\n"
    )
    assert "`main`" not in problem.hint
    (problem,) = wrong(
        US + "openings: [{mass: main, side: west, kind: window, size: [3, 4], head: 9, at: 4}]\n"
    )
    assert "`wing`" not in problem.hint


def test_nothing_is_hinted_where_something_else_is_wrong():
    (problem,) = wrong(US + "openings: [{mass: main, side: west, kind: window, size: [3, 4], at: 4}]\n")
    assert "how high" in problem.message
    assert "fits on" not in problem.hint


@pytest.mark.parametrize(
    ("row", "fits"),
    [
        ("{side: west, kind: window, size: [3, 4], head: 7, at: 15}", "it fits on `main`"),
        ("{side: south, kind: window, size: [3, 4], head: 7, at: 4}", "it fits on `main` or `wing`"),
        ("{side: west, kind: window, size: [3, 4], head: 7, at: 50}", "inside the hull"),
    ],
)
def test_where_no_mass_is_named_those_are_named_on_which_it_fits(row, fits):
    (problem,) = wrong(US + f"openings: [{row}]\n")
    assert problem.hint.endswith(fits)


def test_places_are_told_in_feet_and_inches_in_a_file_in_feet():
    rows = "penetrations: [{mass: main, through: south, kind: box, size: [4, 4], at: [[17, 1]]}]\n"
    (problem,) = wrong(US + rows)
    # Source: by hand: a 4 in box round 17 ft, 1 ft over the floor; the wing covers 12 to 22 ft.
    assert problem.got == '16\'-10" to 17\'-2" across and 10" to 1\'-2" up'
    assert 'main/south: 0" to 12\'-0" across, 0" to 8\'-0" up' in problem.allowed
    assert not re.search(r"\d m\b", str(problem))
    assert "-0" not in re.sub(r"'-0", "", str(problem))


def test_places_are_told_in_metres_in_a_metric_file_and_never_as_minus_zero():
    rows = "penetrations: [{mass: main, through: south, kind: box, size: [100, 100], at: [[5, 1]]}]\n"
    (problem,) = wrong(METRIC + rows)
    assert problem.got == "4.950 m to 5.050 m across and 0.950 m to 1.050 m up"
    assert "-0.000" not in str(problem)
    assert "'" not in problem.allowed


def test_bodies_that_do_not_join_are_told_in_feet():
    text = US.replace("at: [12, -3]", "at: [60, 0]")
    with pytest.raises(Exception, match=r"a body of [\d,.]+ ft3"):
        build(parse(text))


L_PLAN = "outline: [[0, 0], [40, 0], [40, 20], [20, 20], [20, 36], [0, 36]]"


@pytest.mark.parametrize(
    "roof",
    [
        "{form: hip, pitch: 6:12}",
        "{form: hip}",
        "{form: gable, pitch: 6:12, ridge: east-west}",
        "{form: gable}",
        "{form: gable, pitch: 6:12, ridge: 33 deg}",
        "{form: shed}",
        "{form: other}",
        "flat",
    ],
)
def test_under_a_vented_attic_any_roof_over_any_plan_is_the_same_hull(roof):
    text = f"""units: ft
name: T
barrier: {{top: ceiling, bottom: slab}}
ceiling: {{partition_plates: 40}}
masses: [{{name: main, {L_PLAN}, storeys: [9], roof: {roof}}}]
"""
    hull = build(parse(text))
    # Source: by hand: 40 x 20 + 20 x 16 = 1 120 ft2 of plan, 9 ft high, 152 ft round.
    assert hull.volume / 0.3048**3 == pytest.approx(1120 * 9, rel=1e-9)
    assert hull.area / 0.3048**2 == pytest.approx(2 * 1120 + 152 * 9, rel=1e-9)


@pytest.mark.parametrize("roof", ["{form: hip, pitch: 6:12}", "{form: other}", "{form: gable}"])
def test_where_the_layer_is_on_the_roof_its_form_must_be_known(roof):
    text = f"units: ft\nname: T\nbarrier: {{top: roof deck, bottom: slab}}\nmasses: [{{name: main, {L_PLAN}, storeys: [9], roof: {roof}}}]\n"
    assert all(problem.hint or problem.allowed for problem in wrong(text))


def test_a_zero_has_no_sign():
    # Source: a length of less than half of the finest step is none.
    show = Show("us")
    assert (show.size(-1e-6), show.place(-1e-6), show.size(-0.05)) == ('0"', '0"', '-2"')
    assert (Show("metric").size(-1e-6), Show("metric").place(-1e-6), Show("metric").at(-1e-6)) == (
        "0 mm",
        "0.000 m",
        "(0.000) m",
    )
