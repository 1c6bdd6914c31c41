"""Own product sheets, as they come from a building file."""

from __future__ import annotations

import pytest

from hullwright import building
from hullwright.catalog import load
from hullwright.errors import CatalogError
from hullwright.evidence import Mark

HOUSE = """
units: m
name: Shed
barrier: {top: roof deck, bottom: slab}
masses:
  - {name: main, size: [8, 6], storeys: [2.7], roof: {form: gable, pitch: 30 deg, ridge: east-west}}
products:
  - id: my-tape
    form: tape
    pack: 25 m
    width: 60 mm
    price: 20
    vapour_class: 2
    waste: 5 %
    primer: {concrete: needed, plywood: no}
  - id: my-liquid
    form: liquid
    chemistry: silyl
    pack: 600 mL
    width: 60 mm
    dry: [300 µm, 11.8 mil]
    solids: 98 %
    price: 14
    temperature: [0 C, 40 C]
"""


def test_sheets_of_a_building_file_are_read():
    # Source: the sheets above, by hand: 600 mL = 6e-4 m3. Tolerance: rounding.
    catalog = load(building.parse(HOUSE))
    tape, liquid = catalog.products["my-tape"], catalog.products["my-liquid"]
    assert (tape.pack, tape.width, tape.price, tape.vapour_class) == (25.0, 0.06, 20.0, 2)
    assert tape.primer == {"concrete": "needed"}
    assert liquid.pack == pytest.approx(6e-4)
    assert (liquid.solids, liquid.temp_low, liquid.temp_high) == (0.98, 0.0, 40.0)
    assert not liquid.generic


def test_mistake_on_a_sheet_names_its_line():
    lines = HOUSE.splitlines()
    lines.insert(lines.index("    price: 14"), "    sun_dayz: 100")
    with pytest.raises(CatalogError) as caught:
        load(building.parse("\n".join(lines), file="shed.yaml"))
    (problem,) = caught.value.problems
    assert problem.where.file == "shed.yaml"
    assert problem.where.line == lines.index("    sun_dayz: 100") + 1
    assert "sun_days" in problem.hint


@pytest.mark.parametrize(
    ("form", "pack", "chemistry", "said", "cures"),
    [
        ("liquid", "600 mL", "silyl", None, True),
        ("sealant", "20 fl oz", "unknown", None, True),
        ("liquid", "600 mL", "acrylic liquid", None, False),
        ("liquid", "3.5 gal", "silyl", None, False),
        ("liquid", "600 mL", "silyl", "no", False),
        ("liquid", "3.5 gal", "silyl", "yes", True),
    ],
)
def test_what_cures_in_its_pack(form, pack, chemistry, said, cures):
    # Source: common practice: what cures by moisture is hard in its opened cartridge or sausage by the next morning.
    own = f"cures_in_pack: {said}" if said else ""
    text = HOUSE + (
        f"  - {{id: x, form: {form}, pack: {pack}, chemistry: {chemistry}, width: 5 cm, dry: 0.3 mm, solids: 90 %, "
        f"price: 9{', ' + own if own else ''}}}\n"
    )
    if form == "sealant":
        text = text.replace("width: 5 cm, dry: 0.3 mm, ", "")
    assert load(building.parse(text)).products["x"].cures_in_pack is cures


def test_what_invented_sheets_say_of_each_other_is_marked_so():
    catalog = load()
    said = [(one, name) for one in catalog.products.values() for name in one.fits]
    assert said
    for one, name in said:
        assert name in catalog.products, (one.id, name)
        assert one.generic
        pair = catalog.together(one, catalog.products[name])
        assert pair == catalog.together(catalog.products[name], one)
        assert pair.evidence.mark is Mark.SHEET
        assert "invented" in pair.evidence.source
    assert "invented" in catalog.cautions["invented"].text


def test_some_pairs_of_the_set_stay_unknown():
    made = list(load().products.values())
    unknown = {(a.id, b.id) for a in made for b in made if load().together(a, b).verdict == "unknown"}
    assert ("acrylic-flashing-5gal", "butyl-flashing-tape") in unknown
    assert ("acrylic-seam-tape", "listed-sealant-10") in unknown


def test_no_sheet_overrules_a_known_failure():
    catalog = load()
    for one in catalog.products.values():
        for name in one.fits:
            assert catalog.pair(one.chemistry, catalog.products[name].chemistry).verdict != "fails"
