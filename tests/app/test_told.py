"""Entries in trade words: every kind, in both systems of units, nothing hidden."""

from datetime import UTC, datetime

import pytest

from hullwright.app.told import NOT_SAID, told
from hullwright.proof.entries import Entry, Spot, Stamp
from hullwright.proof.kinds import KINDS
from hullwright.units import Show

LOT = {"method": "liquid", "crew": "B", "surface": "wood panel", "product": "Kestrel 40"}
METHODS = {"tape": "tape, rolled", "liquid": "liquid flashing"}


def say(kind, what, system="us", joint_kind=""):
    stamp = Stamp("lead", "p1", datetime(2024, 5, 3, tzinfo=UTC), 1)
    return told(Entry("e", kind, stamp, Spot("J", joint_kind), what), Show(system), METHODS)


def reading(low, high, system="us"):
    return say("gauge reading", {"notches_um": [1, 2], "last_wet_um": low, "next_dry_um": high}, system)


def test_what_was_done_and_on_which_part():
    # Source: foot 0.3048 m by definition. Tolerance: 1/16 in.
    words = say("done", {**LOT, "from_m": 0.3048, "to_m": 1.524})
    assert words == "done: liquid flashing, Kestrel 40, from 1'-0\", to 5'-0\", on wood panel, crew B"
    words = say("done", {"method": "own_way", "crew": "B", "surface": "x", "to_m": 1.524}, "metric")
    assert words == "done: own way, to 1.524 m, on x, crew B"


def test_a_film_reading_is_an_interval():
    # Source: ASTM D4414, section 7 (an interval between two teeth); mil 25.4 um by definition. Tolerance: whole mil.
    assert reading(406.4, 508) == "film reading: 16 to 20 mil wet"
    assert reading(400, 500, "metric") == "film reading: 400 to 500 µm wet"
    assert reading(None, 101.6) == "film reading: under 4 mil wet"
    assert reading(1016, None) == "film reading: 40 mil wet or more"
    assert say("cut", {**LOT, "dry_um": 304.8}).startswith("film cut: 12 mil dry, liquid flashing")


def test_checks_say_what_came_of_them():
    # Source: pound-force 4.4482216152605 N by definition. Tolerance: two digits.
    failed = {"force_n": 44.482216, "held": False, "failure": "off the panel"}
    assert say("pull", failed) == "pull test: let go, 10 lbf, failure off the panel"
    assert say("peel", {"force_n": 44.482216, "held": True}, "metric") == "peel test: held, 44 N"
    assert say("peel", {"force_n": 444.82216, "held": True}, "metric") == "peel test: held, 440 N"
    assert say("peel", {"force_n": 0.0, "held": True}, "metric") == "peel test: held, 0 N"
    assert say("tug", {"method": "tape", "crew": "A", "held": True}) == "tug test: held, tape, crew A"
    assert say("probe", {"tried": 8, "failed": 0}) == "probed: 8 tried, 0 failed"
    assert say("smoke", {"leaked": True}) == "smoke: a leak"
    assert say("smoke", {"leaked": False}) == "smoke: no leak"
    assert say("seen", {"seen_by": "Ines", "sound": False}) == "seen: not sound, seen by Ines"


def test_weather_and_surface_in_the_units_of_the_house():
    # Source: F = 1.8 C + 32; mile an hour 0.44704 m/s by definition. Tolerance: whole units.
    what = {"dry": True, "moisture_share": 0.14, "surface_c": 10, "dew_point_c": 0}
    assert say("surface", what) == "surface: dry, moisture 14 %, 50 °F, dew point 32 °F"
    assert say("surface", {"dry": False, "surface_c": 10}, "metric") == "surface: not dry, 10 °C"
    assert say("weather", {"wind_m_s": 4.4704, "rain": False}) == "weather: no rain, wind 10 mph"


def test_holes_their_makers_and_seals_and_a_note():
    # Source: inch 25.4 mm by definition. Tolerance: 1/8 in.
    what = {"text": "drain", "made_by": "plumber", "size_m": 0.0508, "temporary": True, "note": "wet"}
    assert say("hole", what) == 'hole: drain, 2", by plumber, for a time. wet'
    assert say("hole sealed", {"hole": "id", "product": "P", "detail": "boot"}) == "hole sealed: boot, P"
    assert say("photo", {"sha256": "0" * 64}) == "photo"
    assert say("remark", {"text": "{0} {} {x}"}) == "remark: {0} {} {x}"
    assert say("opened", {"product": "{0}", "lot": "{}"}) == "pack opened: {0}, lot {}"


def test_a_quantity_is_in_pieces_where_the_joint_is_counted_and_both_where_nobody_knows():
    assert say("looked", {"quantity": 12, "pieces": True, "flaws": 1}) == "looked over: 12 pieces, flaws 1"
    assert say("looked", {"quantity": 12, "flaws": 0}, "metric") == "looked over: 12.0 m, flaws 0"
    assert say("hours", {"hours": 3.5, "quantity": 12}, "metric", "pipe") == "hours: 3.5 h, 12 pieces"
    assert "12.0 m" in say("hours", {"hours": 3.5, "quantity": 12}, "metric", "outside corner")
    assert say("hours", {"hours": 3.5, "quantity": 12}, "metric") == "hours: 3.5 h, 12.0 m or 12 pieces"


def test_fasteners_name_their_depth():
    # Source: 1/16 in and 1/8 in, the two depths of the entry's own keys; inch 25.4 mm. Tolerance: 0.05 mm.
    what = {"perimeter": 100, "over_1_16": 3, "over_1_8": 1}
    assert say("overdriven", what) == "fasteners looked at: 100 at edges, 3 over 1/16 in, 1 over 1/8 in"
    assert "3 over 1.6 mm, 1 over 3.2 mm" in say("overdriven", what, "metric")


VALUES = {
    "text": "some words",
    "number": 0.5,
    "count": 7,
    "coat": 2,
    "flag": True,
    "numbers": [1.0, 2.0],
    "texts": ["a", "b"],
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_every_figure_of_every_kind_is_said(kind, system):
    """Taking a figure away changes the line, but for hashes, ids and the teeth; ``pieces`` stands in the quantity."""
    what = {field.name: VALUES[field.type] for field in KINDS[kind]}
    whole = say(kind, what, system)
    for name in what:
        less = say(kind, {key: value for key, value in what.items() if key != name}, system)
        assert (less == whole) == (name in NOT_SAID - {"note", "pieces"}), (name, whole)
