"""The jobs of the record as functions of the package, with the names of the commands."""

import jsonschema
import pytest

import hullwright
from hullwright.app import schemas
from hullwright.app.files import demo_file

SEAM = "studio/south/2.2.1"
LIQUID = {"method": "liquid", "crew": "B", "surface": "plywood", "product": "silyl-flashing-20"}


@pytest.fixture
def house(tmp_path, monkeypatch):
    monkeypatch.setenv("HULLWRIGHT_DATA", str(tmp_path / "data"))
    path = tmp_path / "studio.yaml"
    path.write_bytes(demo_file().with_name("kiln-studio.yaml").read_bytes())
    return path


def test_the_record_from_python(house, tmp_path):
    def add(kind, what, **place):
        return hullwright.log_add(house, kind, what, author="lead", place=place or {"joint": SEAM}).entry

    add("done", LIQUID)
    comb = {**LIQUID, "notches_um": [300, 350, 400, 450], "last_wet_um": 400, "next_dry_um": 450}
    placed = add("gauge reading", comb, joint=SEAM, at="1 m")
    assert placed.spot.place == pytest.approx((2.5, 0.0, 1.55))
    hole = add("hole", {"text": "bracket", "made_by": "plumber"})
    add("overdriven", {"perimeter": 100, "over_1_16": 21, "over_1_8": 0}, face="studio/south")
    answers = {
        "film lots": hullwright.film_lots(str(house)),
        "tape": hullwright.tape(house),
        "fasteners": hullwright.fasteners(house),
        "states": hullwright.states(house),
        "ready": hullwright.ready(house, "studio/south"),
        "holes": hullwright.holes(house),
        "use": hullwright.use(house),
        "rates": hullwright.rates(house),
        "experience": hullwright.experience(house),
        "verify": hullwright.verify(),
        "backup": hullwright.backup(str(tmp_path / "saved.sqlite3")),
        "readings": hullwright.readings("24 mil", "2 mil", least="20 mil", step="2 mil"),
        "mockup": hullwright.mockup({"length": "10 ft", "width": "4 in", "used": "9 fl oz"}),
    }
    for name, answer in answers.items():
        jsonschema.validate(answer.to_json(), schemas.schema(name))
    assert answers["fasteners"].to_json()["add"] == 11
    assert [entry.kind for entry in hullwright.log(house).standing()] == [
        "done",
        "gauge reading",
        "hole",
        "overdriven",
    ]
    assert hullwright.ticket(house, hole.receipt.number, product="P", detail="D").hole.entry.id == hole.id
    with pytest.raises(hullwright.HullwrightError, match="can't be covered"):
        hullwright.ok_to_cover(house, "studio/south", signed_by="lead")
    assert "film_lots" in dir(hullwright)
