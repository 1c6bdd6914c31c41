"""What the user owns wins: invented products stand in, and the plan says where an own one may not be used and what to state."""

from __future__ import annotations

import json

import pytest
import yaml
from tests.choice.random_houses import house as invented

from hullwright import building, choice
from hullwright.app.house import House
from hullwright.app.plan import Wish, order, plan
from hullwright.choice.options import OWN_FIRST
from hullwright.cli.main import main
from hullwright.errors import InfeasibleError

TAPE = {
    "id": "blue-tape",
    "name": "blue tape",
    "form": "tape",
    "chemistry": "acrylic tape",
    "price": 60,
    "pack": "75 ft",
}
LIQUID = {
    "id": "my-liquid", "name": "my liquid", "form": "liquid", "chemistry": "silyl", "price": 40, "pack": "20 fl oz",
    "solids": 0.98, "temperature": ["50 F", "100 F"],
}  # fmt: skip
SHED = {
    "units": "ft", "name": "Shed", "barrier": {"top": "roof deck", "bottom": "slab"},
    "masses": [{"name": "main", "size": [24, 16], "storeys": [9], "roof": {"form": "gable", "pitch": "6:12", "ridge": "east-west"}}],
    "openings": [{"side": "south", "kind": "window", "size": [3, 4], "sill": 3, "at": 4}],
}  # fmt: skip


def asked(told):
    house = House(building.parse(yaml.safe_dump(told, sort_keys=False)))
    return choice.ask(house.building, house.hull, house.joints).choice, house.catalog


def planned(told):
    return plan(House(building.parse(yaml.safe_dump(told, sort_keys=False))), Wish(quick=True))


@pytest.mark.parametrize("seed", range(4))
def test_an_invented_product_is_offered_only_where_no_own_one_of_its_method_is(seed):
    told = yaml.safe_load(invented(seed)) | {
        "products": [TAPE, LIQUID],
        "figures": {"site.low_temperature": 2},
    }
    made, catalog = asked(told)
    mine = stand_in = 0
    for number in range(len(made.runs)):
        offered = [made.options[row] for row in made.rows(number) if made.options[row].product]
        own = {one.method for one in offered if not catalog.products[one.product].generic}
        invented_ones = {one.method for one in offered if catalog.products[one.product].generic}
        assert not own & invented_ones
        mine, stand_in = mine + len(own), stand_in + ("liquid" in invented_ones)
    assert mine
    assert stand_in, "too cold for the own liquid: the invented one stands in"


def test_without_own_products_all_are_offered_and_none_is_called_a_stand_in():
    made, catalog = asked(SHED)
    assert {option.product for option in made.options} >= {"acrylic-seam-tape", "butyl-flashing-tape"}
    assert not any("stand-in" in option.label(catalog) for option in made.options)
    assert not any(bar.rule is OWN_FIRST for bars in made.barred for bar in bars)


def test_a_tape_without_a_gap_limit_bridges_the_usual_panel_gap():
    """Seen: such a tape was barred from every seam."""
    made, _ = asked(SHED | {"products": [TAPE], "sheathing": {"wall": {"gap": "1/8 in", "blocking": True}}})
    seams = [
        n
        for n, run in enumerate(made.runs)
        if run.kind.value.endswith("seam") and run.face.startswith("main/")
    ]
    walls = [n for n in seams if made.runs[n].backed]
    assert walls
    for number in walls:
        assert "blue-tape" in {made.options[row].product for row in made.rows(number)}


def test_use_mine_forbids_stand_ins_and_says_what_is_missing():
    fair = LIQUID | {"temperature": ["20 F", "100 F"]}
    made, catalog = asked(SHED | {"products": [TAPE, fair], "use": "mine"})
    taken = {one for option in made.options for one in option.takes}
    assert {one for one in taken if catalog.products[one].generic} <= {"blocking-2x4"}
    with pytest.raises(InfeasibleError, match="no allowed method") as caught:
        asked(SHED | {"products": [TAPE], "use": "mine"})
    assert "use: mine" in str(caught.value)


def test_a_decision_that_names_an_invented_product_keeps_it():
    fixed = [{"kind": "outside corner", "method": "tape", "product": "butyl-flashing-tape"}]
    made, _ = asked(SHED | {"products": [TAPE], "aim": {"fixed": fixed}})
    corners = [n for n, run in enumerate(made.runs) if run.kind.value == "outside corner"]
    assert corners
    assert {made.options[row].product for n in corners for row in made.rows(n)} == {"butyl-flashing-tape"}


def test_the_plan_says_where_an_own_product_is_barred_by_which_rule_and_what_to_state():
    told = SHED | {"products": [TAPE, LIQUID], "figures": {"site.low_temperature": 2}}
    answer = planned(told).to_json()
    (row,) = [one for one in answer["own_products"] if one["product"] == "my-liquid"]
    assert (row["used"], row["runs_allowed"]) == (False, 0)
    (bar,) = row["barred"]
    # Source: 2 degC is 35.6 F, below the 50 F of the sheet above. Tolerance: none, words.
    assert bar["rule"] == "too-cold"
    assert "`temperature`" in bar["state"]
    assert bar["length_m"] > 0
    stated = planned(told | {"products": [TAPE, LIQUID | {"temperature": ["30 F", "100 F"]}]}).to_json()
    (row,) = [one for one in stated["own_products"] if one["product"] == "my-liquid"]
    assert row["runs_allowed"] > 0
    assert not row["barred"]


def test_stand_ins_are_called_so_in_plan_and_order(tmp_path, capsys):
    told = SHED | {"products": [TAPE, LIQUID], "figures": {"site.low_temperature": 2}}
    made = planned(told)
    generic = {pack.product for pack in made.plan.packs if made.catalog.products[pack.product].generic}
    assert generic
    assert {pack["product"] for pack in made.to_json()["packs"] if pack["stand_in"]} == generic
    assert set(order(made).to_json()["stand_ins"]) == generic
    file = tmp_path / "shed.yaml"
    file.write_text(yaml.safe_dump(told, sort_keys=False))
    assert main(["plan", str(file), "--quick", "--no-files"]) == 0
    text = capsys.readouterr().out
    assert "Your own products" in text
    assert "stand-in" in text.replace("\n", "")
    assert main(["order", str(file), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["stand_ins"] == sorted(generic)
