"""A fan test takes from the house what it does not state itself, and reads what this program prints."""

from __future__ import annotations

import json

import pytest

from hullwright.app.fantest import analyse
from hullwright.cli.main import main
from hullwright.errors import FanTestError, QuantityError
from hullwright.readers.fantest_files import starter
from hullwright.units import FOOT, read

HOUSE = """units: ft
name: Box
barrier: {top: roof deck, bottom: slab}
masses: [{name: main, size: [40, 30], storeys: [10], roof: flat}]
build_up: {inner_volume: 11500 ft3}
"""


def written(tmp_path, **building):
    """The starter test with a building of its own, '' for none."""
    lines = starter("yaml").splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("building:"))
    stop = next(i for i in range(start + 1, len(lines)) if lines[i] and not lines[i].startswith(" "))
    told = ["building:", *(f"  {key}: {value}" for key, value in building.items())] if building else []
    file = tmp_path / "may.yaml"
    file.write_text("\n".join([*lines[:start], *told, *lines[stop:]]))
    return file


def without_units(text):
    """The starter states a unit for each quantity: those lines go."""
    lines = text.splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("units:"))
    stop = next(
        (i for i in range(start + 1, len(lines)) if lines[i] and not lines[i].startswith(" ")), len(lines)
    )
    return "\n".join([*lines[:start], *lines[stop:]])


@pytest.fixture
def house(tmp_path):
    file = tmp_path / "box.yaml"
    file.write_text(HOUSE)
    return file


def test_volume_and_height_come_from_the_house(tmp_path, house):
    found = analyse(written(tmp_path), house=house)
    building = found.result.raw.building
    # Source: by hand: 11 500 ft3 stated; walls and both lids 2 (40 + 30) 10 + 2 x 40 x 30 = 3 800 ft2; one story of 10 ft.
    # Tolerance: rounding.
    assert building.volume_m3 == pytest.approx(11500 * FOOT**3)
    assert building.envelope_m2 == pytest.approx(3800 * FOOT**2)
    assert building.height_m == pytest.approx(10 * FOOT)
    assert len(found.from_house) == 4
    q50 = found.to_json()["mean"]["q50_m3_h"]
    assert found.to_json()["mean"]["ach50"] == pytest.approx(q50 / (11500 * FOOT**3))


def test_what_the_test_states_stays_and_a_difference_is_said(tmp_path, house):
    same = analyse(written(tmp_path, volume="11,400 ft3"), house=house)
    assert same.result.raw.building.volume_m3 == pytest.approx(11400 * FOOT**3)
    assert not [text for text in same.from_house if "volume" in text]
    apart = analyse(written(tmp_path, volume="14,000 cu. ft."), house=house)
    (text,) = [text for text in apart.from_house if "volume" in text]
    # Source: 14 000 / 11 500 = 1.217. Tolerance: whole percent are told.
    assert "+22%" in text
    assert "14,000 ft3" in text


def test_bare_numbers_take_the_units_of_the_file(tmp_path):
    file = written(tmp_path, volume="11500", height="10")
    with pytest.raises(FanTestError, match="can't be used"):
        analyse(file)
    file.write_text(without_units(file.read_text()) + "\nunits: us\n")
    building = analyse(file).result.raw.building
    assert (building.volume_m3, building.height_m) == pytest.approx((11500 * FOOT**3, 10 * FOOT))


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        # Source: the foot is 0.3048 m by definition. Tolerance: rounding.
        ("28,515 ft3", "volume", 28515 * FOOT**3),
        ("28,515 cu ft", "volume", 28515 * FOOT**3),
        ("1,028,515.5 cubic feet", "volume", 1028515.5 * FOOT**3),
        ("6,633 sq. ft.", "area", 6633 * FOOT**2),
        ("1,200 cfm", "flow", 1200 * FOOT**3 / 60),
    ],
)
def test_thousands_as_this_program_prints_them(text, kind, value):
    assert read(text, kind) == pytest.approx(value)


@pytest.mark.parametrize(
    "text", ["28,515 m3", "1,5 ft3", "0,125 ft3", "1,23,456 ft3", "28,515", "12,5000 ft3"]
)
def test_a_comma_that_may_be_a_decimal_sign_is_never_read_in_silence(text):
    with pytest.raises(QuantityError, match="write"):
        read(text, "volume")


def test_house_on_the_command_line(tmp_path, house, capsys):
    file = str(written(tmp_path))
    assert main(["fantest", file, "--house", str(house), "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["from_house"]) == 4
    assert main(["fantest", file, file, "--house", str(house)]) == 2
    assert "one test" in capsys.readouterr().err
