"""Worth of a house from its building file: the curve over tightness, and its picture."""

import json
import re
import xml.etree.ElementTree as ET

import pytest
from jsonschema import Draft202012Validator

from hullwright.app.fantest import new_starter
from hullwright.app.schemas import schema
from hullwright.app.worthhouse import Asked, worth_of_house
from hullwright.app.worthpicture import worth_picture
from hullwright.cli.main import main
from hullwright.readers.fantest_files import starter

SEASON = {"degree_days": 3000.0, "days": 210.0, "wind": 4.0, "price": 0.2, "to_ach50": 1.0}


@pytest.fixture
def answer(plain, tmp_path):
    return worth_of_house(plain, new_starter(tmp_path / "t.yaml"), Asked(**SEASON))


def test_heat_is_in_proportion_to_the_leaks_and_the_curve_goes_through_the_tested_house(answer):
    steps = answer.to_json()["curve"]
    tested = answer.worth.leak.q50_m3_h / answer.volume
    for step in steps:
        # Source: closed form; both models scale with the leakage coefficient at the same exponent (ASHRAE Fundamentals 2021
        # ch. 16 eq. 48 and 49). Tolerance: rounding.
        assert step["energy_kwh"] == pytest.approx(answer.worth.energy_kwh * step["ach50"] / tested, rel=1e-9)
        assert step["money"] == pytest.approx(0.2 * step["energy_kwh"], rel=1e-9)
    assert steps[-1]["ach50"] == pytest.approx(1.25 * max(tested, 1.0))
    assert answer.tightened.energy_kwh == pytest.approx(answer.tightening["energy_kwh"]["to"], rel=1e-12)


def test_with_a_weather_factor_fans_have_less_to_bring_in_a_leakier_house(plain, tmp_path):
    answer = worth_of_house(plain, new_starter(tmp_path / "t.yaml"), Asked(**SEASON, weather_factor=0.6))
    fans = [step["fans_m3_h"] for step in answer.to_json()["curve"]]
    assert fans == sorted(fans, reverse=True)
    assert fans[0] > fans[-1]


def test_the_answer_keeps_its_schema(answer):
    Draft202012Validator(schema("worth")).validate(json.loads(json.dumps(answer.to_json(), allow_nan=False)))


def test_the_picture_marks_both_houses_at_their_place(answer):
    drawn = worth_picture(answer)
    root = ET.fromstring(drawn)
    xs = sorted({round(float(c.get("cx")), 2) for c in root.iter("{http://www.w3.org/2000/svg}circle")})
    tested = answer.worth.leak.q50_m3_h / answer.volume
    far = answer.to_json()["curve"][-1]["ach50"]
    # Source: linear axis from 74 over 770 units of the drawing. Tolerance: three decimals are printed.
    assert xs == pytest.approx(sorted(74 + 770 * value / far for value in (tested, 1.0)), abs=0.01)
    assert re.search(r"as tested: [\d.]+, [\d,]+ kWh", drawn)
    assert "[cfm]" in drawn


def test_the_floor_area_it_counts_on_is_said_as_stated(tmp_path, capsys):
    """Seen: worth printed the need for fans without the stated floor area that it stands on."""
    house, test = tmp_path / "box.yaml", tmp_path / "may.yaml"
    house.write_text(
        "units: ft\nname: Box\nbarrier: {top: roof deck, bottom: slab}\n"
        "masses: [{name: main, size: [40, 30], storeys: [10], roof: flat}]\nbuild_up: {floor_area: 1100 ft2}\n"
    )
    test.write_text(starter("yaml"))
    words = [
        "worth",
        str(house),
        "--test",
        str(test),
        "--degree-days",
        "3000",
        "--days",
        "200",
        "--wind",
        "4 m/s",
    ]
    assert main(words) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "Counted on 1,100 ft2 of floor [stated by user]" in text
    assert main([*words, "--json"]) == 0
    # Source: 1 ft = 0.3048 m by definition. Tolerance: rounding.
    assert json.loads(capsys.readouterr().out)["floor_area_m2"]["value"] == pytest.approx(1100 * 0.3048**2)
