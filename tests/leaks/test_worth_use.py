"""The use case of worth: a test file and a weather file in, the answer object out."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator

from hullwright.app.fantest import new_starter
from hullwright.app.schemas import schema
from hullwright.app.worth import load_weather, season_of, worth_of_test
from hullwright.errors import InputError
from hullwright.leaks.worth import Heat, House
from hullwright.leaks.worth.energy import heat_of_air

HEAD = [
    "LOCATION,Invented Town,ST,Nowhere,synthetic,000000,45.0,-93.0,-6.0,0.0",
    *(f"HEADER {k}" for k in range(7)),
]
ROW = "2001,1,{day},{hour},0,?,{t},1,60,101325,0,0,300,0,0,0,0,0,0,0,270,{wind},5,3,20,2000,9,999999999,12,0.1,0,88,0.2,0.0,1"


def test_from_files(tmp_path):
    rows = [ROW.format(day=d, hour=h, t=-2.0, wind=0.0) for d in range(1, 31) for h in range(1, 25)]
    weather = tmp_path / "town.epw"
    weather.write_text("\n".join([*HEAD, *rows]), encoding="utf-8")
    loaded = load_weather(weather)
    assert "a year has 8760" in loaded.questions[0]
    house = House(500.0, 200.0, 5.2, storeys=2, bedrooms=3, shelter=3)
    season = season_of(loaded, base_c=18.0, inside_c=20.0)
    found = worth_of_test(new_starter(tmp_path / "t.yaml"), house, season, heat=Heat(0.2, 1.0, "EUR"))
    # Source: closed form in still air, Q = c C_s dt^n of the constructed case (C_L 20.16411, n 0.6407099), C_s 0.078.
    flow = 20.16411 * 0.078 * 22.0**0.6407099
    assert found.enhanced_m3_h == pytest.approx(flow, rel=1e-6)
    assert found.energy_kwh == pytest.approx(heat_of_air() * flow * 20.0 * 720 / 1000, rel=1e-6)
    assert found.money == pytest.approx(0.2 * found.energy_kwh)
    data = json.loads(json.dumps(found.to_json(), allow_nan=False))
    Draft202012Validator(schema("worth")).validate(data)


def test_missing_weather(tmp_path):
    with pytest.raises(InputError, match="can't be read"):
        load_weather(tmp_path / "none.epw")
