"""Experience of earlier houses takes the place of starting figures, and the plan says so."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from hullwright import catalog
from hullwright.app.house import load
from hullwright.app.plan import Wish, plan
from hullwright.errors import InputError
from hullwright.evidence import Mark

HOUSE = """units: m
name: Shed
barrier: {top: roof deck, bottom: slab}
masses:
  - {name: main, size: [8, 6], base: 0.2, storeys: [2.7], roof: {form: gable, pitch: 30 deg, ridge: east-west}}
penetrations:
  - {name: vent, through: south, kind: pipe, diameter: 100, at: [[2, 1]]}
  - {name: outlet, through: south, kind: box, size: [100, 100], at: [[4, 1]]}
aim: {budget: 5000}
"""


def row(method, kind, flaws, looked_at, *, pieces=False):
    return {"method": method, "kind": kind, "flaws": flaws, "looked_at": looked_at, "pieces": pieces}


def spent(method, kind, *hours):
    logs = [math.log(value) for value in hours]
    mean = sum(logs) / len(logs)
    squares = sum((value - mean) ** 2 for value in logs)
    return {"method": method, "kind": kind, "n": len(logs), "mean_log": mean, "sum_squares": squares}


@pytest.fixture
def house(tmp_path: Path):
    def make(*, flaws=(), hours=(), more="", houses=2):
        data = {
            "schema": {"name": "experience", "version": 1}, "houses": houses, "flaws": list(flaws),
            "hours": list(hours), "yields": [], "cautions": [],
        }  # fmt: skip
        (tmp_path / "old.json").write_text(json.dumps(data))
        file = tmp_path / "house.yaml"
        file.write_text(HOUSE + "experience: old.json\n" + more)
        return file

    return make


def figures(file):
    return catalog.load(load(file).building).figures


def rate(found, method, place):
    return found[f"flaws.{method}"].value * found[f"place.{method}.{place}"].value


def test_flaws_along_lines_are_posterior_means(house):
    # Source: by hand: the starting 1.5 per 100 m is worth one flaw in 66.7 m; 9 flaws in 200 m of level and upright seams together:
    # 10 / 266.7 m = 3.75 per 100 m. Tolerance: rounding.
    found = figures(
        house(flaws=[row("tape", "horizontal seam", 6, 120.0), row("tape", "vertical seam", 3, 80.0)])
    )
    assert rate(found, "tape", "panel seam") == pytest.approx(10 / (1 / 0.015 + 200))
    assert rate(found, "tape", "panel seam, unbacked") == pytest.approx(10 / (1 / 0.015 + 200))
    evidence = found["place.tape.panel seam"].evidence
    assert evidence.mark is Mark.EARLIER
    assert "2 house(s), 9 flaws in 200 m" in evidence.source
    plain = catalog.load().figures
    assert found["place.tape.ridge, hip"] == plain["place.tape.ridge, hip"]
    assert found["flaws.tape"] == plain["flaws.tape"]


def test_flaws_of_pieces_are_posterior_means(house):
    # Source: by hand: Beta(1, 1/0.05 - 1) and 4 of 60 pipes: (1 + 4)/(20 + 60) = 0.0625. Tolerance: rounding.
    found = figures(house(flaws=[row("liquid", "pipe", 4, 60, pieces=True)]))
    assert found["each.liquid.pipe"].value == pytest.approx(5 / 80)
    assert found["each.liquid.pipe"].evidence.mark is Mark.EARLIER


def test_hours_go_where_the_log_says(house):
    # Source: the mean of a hundred stretches of 0.12 h/m all alike lies near 0.12, whatever the start of 0.03 h/m. Tolerance: 4 %, the
    # start still weighs as one stretch.
    found = figures(house(hours=[spent("tape", "horizontal seam", *[0.12] * 100)]))
    assert found["hours.tape"].value * found["slow.tape.panel seam"].value == pytest.approx(0.12, rel=0.04)
    found = figures(house(hours=[spent("liquid", "pipe", *[0.5] * 100)]))
    assert found["hours_each.liquid.pipe"].value == pytest.approx(0.5, rel=0.04)


def test_without_data_the_starting_hours_stay(house):
    found = figures(
        house(
            flaws=[row("tape", "ridge", 1, 10.0)],
            hours=[{**spent("tape", "ridge", 1.0), "n": 0, "mean_log": 0.0}],
        )
    )
    assert found.get("slow.tape.ridge, hip") == catalog.load().figures.get("slow.tape.ridge, hip")


def test_what_the_file_states_wins(house):
    file = house(flaws=[row("liquid", "pipe", 4, 60, pieces=True)], more="figures: {each.liquid.pipe: 0.2}\n")
    assert figures(file)["each.liquid.pipe"].value == 0.2
    assert figures(file)["each.liquid.pipe"].evidence.mark is Mark.STATED


def test_the_plan_follows_and_says_so(house, tmp_path):
    file = house(flaws=[row("liquid", "box or duct", 60, 60, pieces=True)])
    made = plan(file, Wish(quick=True)).plan
    told = [caution for caution in made.cautions if caution.evidence.mark is Mark.EARLIER]
    assert len(told) == 1
    assert "flaws of liquid flashing, box or duct" in told[0].text
    assert next(run for run in made.runs if run.kind == "box or duct").method != "liquid"
    file.write_text(HOUSE)
    plain = plan(file, Wish(quick=True)).plan
    assert not [caution for caution in plain.cautions if caution.evidence.mark is Mark.EARLIER]
    assert next(run for run in plain.runs if run.kind == "box or duct").method == "liquid"


def test_the_harm_says_what_its_figures_rest_on(house):
    file = house(
        flaws=[
            row("liquid", "rough-opening corner", 5, 60, pieces=True),
            row("liquid", "sill to foundation", 9, 40.0),
        ]
    )
    told = plan(file, Wish(quick=True)).plan.estimates
    assert any(text.endswith("[estimate]") for text in told)
    assert all(text.endswith(("[estimate]", "[measured on earlier jobs]")) for text in told)


@pytest.mark.parametrize(
    "flaws", [[], [row("glue", "horizontal seam", 1, 10.0)], [row("tape", "no joint", 1, 10.0)]]
)
def test_experience_that_says_nothing_is_an_error(house, flaws):
    with pytest.raises(InputError, match="experience"):
        load(house(flaws=flaws))


def test_a_broken_file_is_an_error(house, tmp_path):
    file = house(flaws=[row("liquid", "pipe", 4, 60, pieces=True)])
    (tmp_path / "old.json").write_text("{")
    with pytest.raises(InputError) as caught:
        load(file)
    assert "old.json" in str(caught.value.problems[0].where.file)
