"""What must hold of every plan: units, order of the file, prices and budgets.

The twin houses are one house written by hand in feet and inches and in metres: the lengths are the same to the last digit.
"""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import replace

import pytest
import yaml

from hullwright import building
from hullwright.app.plan import Wish, plan

US = """
units: ft
name: Twin
currency: EUR
barrier: {top: roof deck, bottom: {kind: slab, level: 0}}
masses:
  - {name: main, size: [30, 20], base: 8 in, storeys: [9], roof: {form: gable, pitch: 30 deg, ridge: east-west}}
  - {name: wing, size: [10, 15], at: [10, 15], base: 8 in, storeys: [9], roof: {form: gable, pitch: 30 deg, ridge: north-south}}
openings:
  - {name: a, mass: main, side: south, kind: window, size: [3, 4], sill: 3, at: [4, 12]}
  - {name: b, mass: main, side: east, kind: door, size: [3, 7], at: 5, frame: wood}
penetrations:
  - {name: vent, mass: main, through: roof south, kind: pipe, diameter: 4, at: [[10, 5]]}
  - {name: outlet, mass: main, through: west, kind: box, size: [4, 4], at: [[3, 1], [12, 1]]}
eaves:
  - {mass: main, sides: [south], kind: rafter tails, section: [1.5, 5.5], spacing: 24}
sheathing:
  wall: {substrate: coated panel, panel_width: 4, panel_length: 8, gap: 0.125, stagger: 4, framing: 16, least_offcut: 12,
         nails: {edge: 6, field: 12, overdriven: {expected: 15 %}}}
  roof: {substrate: wood panel, panel_width: 4, panel_length: 8, gap: 0.125, stagger: 4, framing: 24, least_offcut: 12,
         nails: {edge: 6, field: 12, overdriven: {expected: 20 %}}}
surfaces: {wall: clean, roof: dusty, foundation: dusty}
build_up: {wall: 6, roof: 12, floor: 4, inner_volume: 5000 ft3}
site: {bare_days: 30, monthly_rain: 4}
crew: {people: 2, rate: 50, day: 8}
aim: {budget: 3500, water_limit: 5 gal}
"""
METRIC = """
units: m
name: Twin
currency: EUR
barrier: {top: roof deck, bottom: {kind: slab, level: 0}}
masses:
  - {name: main, size: [9.144, 6.096], base: 203.2 mm, storeys: [2.7432], roof: {form: gable, pitch: 30 deg, ridge: east-west}}
  - {name: wing, size: [3.048, 4.572], at: [3.048, 4.572], base: 203.2 mm, storeys: [2.7432], roof: {form: gable, pitch: 30 deg, ridge: north-south}}
openings:
  - {name: a, mass: main, side: south, kind: window, size: [0.9144, 1.2192], sill: 0.9144, at: [1.2192, 3.6576]}
  - {name: b, mass: main, side: east, kind: door, size: [0.9144, 2.1336], at: 1.524, frame: wood}
penetrations:
  - {name: vent, mass: main, through: roof south, kind: pipe, diameter: 101.6, at: [[3.048, 1.524]]}
  - {name: outlet, mass: main, through: west, kind: box, size: [101.6, 101.6], at: [[0.9144, 0.3048], [3.6576, 0.3048]]}
eaves:
  - {mass: main, sides: [south], kind: rafter tails, section: [38.1, 139.7], spacing: 609.6}
sheathing:
  wall: {substrate: coated panel, panel_width: 1.2192, panel_length: 2.4384, gap: 3.175, stagger: 1.2192, framing: 406.4, least_offcut: 304.8,
         nails: {edge: 152.4, field: 304.8, overdriven: {expected: 15 %}}}
  roof: {substrate: wood panel, panel_width: 1.2192, panel_length: 2.4384, gap: 3.175, stagger: 1.2192, framing: 609.6, least_offcut: 304.8,
         nails: {edge: 152.4, field: 304.8, overdriven: {expected: 20 %}}}
surfaces: {wall: clean, roof: dusty, foundation: dusty}
build_up: {wall: 152.4, roof: 304.8, floor: 101.6, inner_volume: 141.5842329600000 m3}
site: {bare_days: 30, monthly_rain: 101.6}
crew: {people: 2, rate: 50, day: 8}
aim: {budget: 3500, water_limit: 18.92705892 L}
"""


def made(text: str | building.Building, **wish):
    house = building.parse(text) if isinstance(text, str) else text
    return plan(house, Wish(quick=True, **wish)).plan


def work(found) -> dict[tuple[str, str, str], float]:
    """Metres or pieces by joint kind, method and product: two faces alike may swap theirs."""
    sums: Counter[tuple[str, str, str]] = Counter()
    for run in found.runs:
        sums[run.kind, run.method, run.product] += run.quantity
    return dict(sums)


def turned(value):
    """The same file with every table of it the other way round; lists of things without an order too."""
    if isinstance(value, dict):
        return {key: turned(item) for key, item in reversed(value.items())}
    if isinstance(value, list) and value and all(isinstance(item, dict) for item in value):
        return [turned(item) for item in reversed(value)]
    return value


@pytest.fixture(scope="module")
def base():
    return made(US)


def test_feet_and_metres_give_the_same_plan(base):
    # Source: 1 ft = 0.3048 m, 1 in = 25.4 mm, 1 gal = 3.785411784 L exactly. Tolerance: 1e-6, the rounding of the sums.
    twin = made(METRIC)
    assert twin.spent == pytest.approx(base.spent, rel=1e-6)
    assert twin.objective == pytest.approx(base.objective, rel=1e-6)
    assert twin.hours == pytest.approx(base.hours, rel=1e-6)
    assert work(twin) == pytest.approx(work(base), rel=1e-6)
    assert {p.product: p.count for p in twin.packs} == {p.product: p.count for p in base.packs}


def test_order_of_the_file_changes_nothing(base):
    stated = yaml.load(US, Loader=yaml.BaseLoader)
    other = made(yaml.safe_dump(turned(stated), sort_keys=False))
    assert work(other) == pytest.approx(work(base), rel=1e-9)
    assert other.spent == pytest.approx(base.spent, rel=1e-9)
    assert other.objective == pytest.approx(base.objective, rel=1e-9)


@pytest.mark.parametrize("product", ["silyl-flashing-20", "acrylic-seam-tape", "sill-gasket"])
def test_a_cheaper_product_never_makes_it_worse(base, product):
    # Tolerance: the proven gap of the search: the dearer plan stays allowed at the lower price.
    house = building.parse(US)
    cheaper = made(replace(house, prices={product: 5.0}))
    assert cheaper.objective <= base.objective * (1 + 1e-9) + (cheaper.objective - cheaper.bound)


def test_a_cheaper_product_never_raises_the_cost_of_a_target():
    house = building.parse(US.replace("budget: 3500", "target: 1.0"))
    dear, cheap = made(house), made(replace(house, prices={"silyl-flashing-20": 8.0}))
    assert cheap.spent <= dear.spent * (1 + 1e-9) + (cheap.objective - cheap.bound)
    assert cheap.spent < dear.spent


def test_more_money_is_never_worse(base):
    # Tolerance: the proven gap of the search.
    found = [made(US, budget=money) for money in (3050.0, 3250.0)] + [base, made(US, budget=4200.0)]
    for less, more in itertools.pairwise(found):
        assert more.objective <= less.objective * (1 + 1e-9) + (more.objective - more.bound)
    assert found[-1].objective < found[0].objective
