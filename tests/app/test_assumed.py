"""Default ratings of units and panels are told like every other default, with their mark and in the reader's units."""

from __future__ import annotations

import pytest

from hullwright.app.house import House, check
from hullwright.building import parse

TEXT = """units: {units}
name: T
barrier: {{top: roof deck, bottom: slab}}
masses: [{{name: main, size: [10, 8], storeys: [3 m], roof: flat}}]
openings:
  - {{side: south, kind: window, size: [1, 1], sill: 1, at: 2{rating}}}
  - {{side: north, kind: door, size: [1 m, 2.1 m], at: 2}}
{more}"""


def assumed(units="m", rating="", more=""):
    house = House(parse(TEXT.format(units=units, rating=rating, more=more)))
    assert check(house).to_json()["assumed"] == list(house.assumed)
    return [text for text in house.assumed if "at 75 Pa" in text]


def test_every_default_rating_that_is_used_is_told():
    openings, sheathing = assumed()
    # Source: figures.toml and substrates.toml of the catalogue, marked estimate there.
    assert openings == (
        "openings: leakage of a door 1.5 L/(s m2) at 75 Pa, leakage of a window 0.5 L/(s m2) at 75 Pa [estimate]"
    )
    assert sheathing == (
        "sheathing: air through coated panel 0.001 L/(s m2) at 75 Pa, air through wood panel 0.005 L/(s m2) at 75 Pa [estimate]"
    )


def test_in_a_file_in_feet_they_are_told_in_cfm():
    # Source: 1 cfm/ft2 = 5.08 L/(s m2), from 1 ft = 0.3048 m. Tolerance: two digits are told.
    assert "door 0.3 cfm/ft2" in assumed("ft")[0]


@pytest.mark.parametrize(
    ("rating", "more"),
    [
        (", leakage: 0.2 L/(s m2)", ""),
        ("", "figures: {leak.window: {value: 0.3, unit: L/(s m2), source: own}}\n"),
    ],
)
def test_what_is_stated_is_not_assumed(rating, more):
    assert "window" not in assumed(rating=rating, more=more)[0]
