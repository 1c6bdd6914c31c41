"""Mock-up and planned readings from what a person writes."""

import json

import pytest

from hullwright.app.mockup import mockup, plan_readings
from hullwright.errors import InfeasibleError, InputError

GIVEN = {
    "length": "10 ft",
    "width": "4 in",
    "used": "0.05 gal",
    "used_u": "0.002 gal",
    "width_u": "1/16 in",
    "time": "2 min",
}
COMB = {
    "teeth": [f"{mil} mil" for mil in range(10, 40, 2)],
    "wet": ["22 mil", "24 mil", "24 mil", "22 mil", "26 mil", "20 mil"],
}
TARGET = {"target_width": "4 in", "target_dry": "12 mil", "solids": 0.6, "house_length": "300 ft"}


def test_the_whole_answer():
    # Source: by hand: 1604.1667 x 0.05 gal / 3.3333 ft2 = 24.06 mil wet; target 12/0.6 = 20 mil wet: bead .3192 in, saving 1 - 20/24.06.
    # Tolerance: printed digits.
    out = mockup({**GIVEN, **COMB, **TARGET}).to_json()
    assert out["wet_um"]["value"] / 25.4 == pytest.approx(24.06, abs=0.005)
    assert out["bead_mm"] / 25.4 == pytest.approx(0.3192, abs=5e-5)
    assert out["saving"]["share"]["value"] == pytest.approx(1 - 20 / 24.0625, abs=1e-4)
    # pace: 0.05 gal in 2 min over 4 in x 20 mil: 11.55 in3 / 0.08 in2 = 144.4 in in 2 min = 1.834 m/min
    assert out["pace_m_min"] == pytest.approx(11.55 / 0.08 * 0.0254 / 2, rel=1e-9)
    assert out["agreement"]["agree"]
    assert out["wet_um"]["low"] < out["wet_um"]["value"] < out["wet_um"]["high"]
    assert json.dumps(out)


def test_the_least_that_is_needed():
    out = mockup({"length": "3 m", "width": "100 mm", "used": "200 mL"}).to_json()
    assert out["wet_um"]["value"] == pytest.approx(200e-6 / 0.3 * 1e6)
    assert (out["agreement"], out["bead_mm"], out["pace_m_min"], out["saving"]) == (None, None, None, None)


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"length": "3"}, "length"),
        ({"used": "3 m"}, "used"),
        ({"colour": "red"}, "colour"),
        ({"teeth": ["10 mil", "12 mil"]}, "teeth"),
    ],
)
def test_what_is_wrong_is_named(change, key):
    with pytest.raises(InputError) as caught:
        mockup({**GIVEN, **change})
    assert caught.value.problems[0].where.key == key


def test_all_problems_at_once():
    with pytest.raises(InputError) as caught:
        mockup({"width": "wide", "colour": "red"})
    assert {problem.where.key for problem in caught.value.problems} == {"width", "colour", "length", "used"}
    for change in (
        {"target_width": "4 in"},
        {**TARGET, "solids": "thick"},
        {"wet": ["23 mil"], "teeth": COMB["teeth"]},
    ):
        with pytest.raises(InputError):
            mockup({**GIVEN, **change})


def test_readings_to_plan():
    found = plan_readings("25 mil", "2 mil", least="20 mil", step="2 mil")
    metric = plan_readings("635 um", "50.8 um", least="508 um", step="50.8 um")
    assert found.readings == metric.readings
    more = plan_readings("25 mil", "2 mil", least="20 mil", step="2 mil", chance=0.99)
    assert more.readings > found.readings
    assert json.dumps(found.to_json())
    with pytest.raises(InfeasibleError):
        plan_readings("20.5 mil", "2 mil", least="20 mil", step="2 mil")
    with pytest.raises(InputError):
        plan_readings("25 mil", "2 mil", least="20 mil", step="2 mil", chance=1.0)
