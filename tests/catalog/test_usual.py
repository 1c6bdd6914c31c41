"""What an own product sheet leaves out takes the usual value of its form, with its mark; a missing value never bars."""

from __future__ import annotations

import pytest

from hullwright import building
from hullwright.app.house import House
from hullwright.catalog import load
from hullwright.catalog.reading import table
from hullwright.evidence import Mark
from hullwright.units import INCH, MIL

SHED = """
units: ft
name: Shed
barrier: {top: roof deck, bottom: slab}
masses: [{name: main, size: [24, 16], storeys: [9], roof: flat}]
products:
  - {id: mine, form: FORM, price: 20, pack: PACK, MORE}
"""
PACKS = {
    "tape": "75 ft",
    "stretch tape": "50 ft",
    "gasket": "50 ft",
    "boot": 1,
    "primer": "1 gal",
    "lumber": "8 ft",
}


def sheet(form, **more):
    wet = {"solids": 0.95} if form not in PACKS else {}
    text = ", ".join(f"{key}: {value}" for key, value in {**wet, **more}.items()) or "note: none"
    told = SHED.replace("FORM", form).replace("PACK", str(PACKS.get(form, "20 fl oz"))).replace("MORE", text)
    return House(building.parse(told))


# Source: data table `usual.toml`, read here a second time by hand for the seam tape: 3 in wide, bridges 1/4 in, 1/2 in filled, 5 % waste.
# Tolerance: none, the inch is 0.0254 m by definition.
def test_a_bare_tape_sheet_takes_the_usual_tape():
    tape = sheet("tape").catalog.products["mine"]
    assert (tape.width, tape.gap_direct, tape.gap_filled) == (3 * INCH, INCH / 4, INCH / 2)
    assert tape.waste == 0.05
    assert {one.evidence.mark for one in tape.usual} == {Mark.PRACTICE}


def test_what_the_sheet_states_stays_and_is_not_told():
    house = sheet("tape", width="4 in", gap_direct="1/8 in", waste="0 %")
    tape = house.catalog.products["mine"]
    assert (tape.width, tape.gap_direct, tape.waste) == (4 * INCH, INCH / 8, 0.0)
    assert [one.key for one in tape.usual] == ["gap_filled"]
    (line,) = [text for text in house.assumed if text.startswith("product mine")]
    assert line == "product mine: gap_filled 1/2 in, usual of its form [common practice, no source]"


def test_an_aim_stands_for_the_least_and_a_low_greatest_is_never_contradicted():
    assert sheet("liquid", aim="12 mil").catalog.products["mine"].least == 0.0
    assert sheet("liquid", greatest="20 mil").catalog.products["mine"].least == pytest.approx(10 * MIL)
    # the sheet fills 1/8 in at most, so it cannot bridge the usual 1/4 in unfilled
    assert sheet("tape", gap_filled="1/8 in").catalog.products["mine"].gap_direct == INCH / 8


@pytest.mark.parametrize("form", sorted(table("usual")))
def test_every_form_of_the_table_makes_a_whole_product(form):
    """A sheet of nothing but id, form, price, pack (and solids) is read, and every usual figure is told with its mark."""
    house = sheet(form)
    product = house.catalog.products["mine"]
    told = " ".join(text for text in house.assumed if text.startswith("product mine"))
    assert product.usual
    for one in product.usual:
        assert one.told() in told
        assert one.evidence.mark in {Mark.PRACTICE, Mark.ESTIMATE}


def test_the_invented_set_is_whole_without_it():
    assert not [product.id for product in load().products.values() if product.usual]
