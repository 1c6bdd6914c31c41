"""The film sums by hand, from what a person writes to the object that programs read."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hullwright.app.film import film
from hullwright.errors import InputError
from hullwright.units import FOOT, GALLON, INCH, MIL, Show

KEYS = {
    "schema",
    "cautions",
    "wet_um",
    "dry_um",
    "coverage_m2_l",
    "length_per_pack_m",
    "gap_share",
    "bead_mm",
}


def test_four_inches_at_12_mil_dry():
    # Source: hand: 12/.6 = 20 mil = 508 µm; 1604.17/20 = 80.21 ft2/gal = 1.9685 m2/L; 37.60 ft = 11.460 m per 20 fl oz;
    # one bead .3192 in = 8.107 mm; 200 ft are 5.32 packs -> 6
    # Tolerance: printed rounding
    out = film("4 in", "12 mil", "60 %", "20 fl oz", length="200 ft").to_json()
    assert set(out) >= KEYS
    assert out["wet_um"] == pytest.approx(508)
    assert out["dry_um"] == pytest.approx(304.8)
    assert out["coverage_m2_l"] == pytest.approx(1.9685, abs=5e-5)
    assert out["coverage_m2_l"] * 1e3 * GALLON / FOOT**2 == pytest.approx(80.21, abs=0.005)
    assert out["length_per_pack_m"] == pytest.approx(11.460, abs=1e-3)
    assert out["bead_mm"] == pytest.approx(8.107, abs=1e-3)
    assert out["gap_share"] == 0
    assert out["packs"] == 6
    assert json.loads(json.dumps(out, allow_nan=False)) == out


def test_gap_fill_is_in_the_length_per_pack():
    # Source: hand: 3 in × 20 mil over 1/8 × 1/4 in: 33.0 ft per 20 fl oz, the gap takes 34 %; bead of the film alone .2764 in
    # Tolerance: printed rounding
    out = film("3 in", "20 mil", 1.0, "20 fl oz", gap="1/8 in", depth="1/4 in").to_json()
    assert out["length_per_pack_m"] / FOOT == pytest.approx(33.0, abs=0.05)
    assert out["gap_share"] == pytest.approx(0.34, abs=0.005)
    assert out["bead_mm"] / 25.4 == pytest.approx(0.2764, abs=5e-5)
    assert out["bead_with_gap_mm"] > out["bead_mm"]
    assert "packs" not in out


def test_waste_and_thinning():
    # Source: hand: 11.460 m × .9 = 10.314 m; thinned 10 %: wet 558.8 µm, as far as before
    # Tolerance: printed rounding
    wasted = film("4 in", "12 mil", 0.6, "20 fl oz", waste="10 %")
    assert wasted.length_per_pack == pytest.approx(10.314, abs=1e-3)
    assert wasted.to_json()["waste"] == 0.1
    thinned = film("4 in", "12 mil", 0.6, "20 fl oz", thinned="10 %")
    assert thinned.to_json()["wet_um"] == pytest.approx(558.8)
    assert thinned.length_per_pack == pytest.approx(11.460, abs=1e-3)
    assert thinned.coverage == pytest.approx(film("4 in", "12 mil", 0.6, "20 fl oz").coverage)


def test_us_and_metric_give_the_same_answer():
    # Source: exact definitions, 1 in = 25.4 mm, 1 fl oz = 29.5735295625 mL
    # Tolerance: float rounding
    us = film(
        "4 in", "12 mil", 0.6, "20 fl oz", gap="1/8 in", depth="1/4 in", length="100 ft", waste=0.1
    ).to_json()
    metric = film(
        "101.6 mm",
        "304.8 µm",
        "60%",
        "591.47059125 mL",
        gap="3.175 mm",
        depth="6.35 mm",
        length="30.48 m",
        waste="10%",
    ).to_json()
    assert us.keys() == metric.keys()
    for key, value in us.items():
        assert metric[key] == (pytest.approx(value, rel=1e-9) if isinstance(value, float) else value), key
    assert film(4, 12, 0.6, 20, units="us").length_per_pack == pytest.approx(
        film(101.6, 304.8, 0.6, 591.47059125, units="metric").length_per_pack
    )


def test_whole_packs_at_the_very_edge():
    # Source: closed form: twice the length of a pack needs two, a hair more needs three
    # Tolerance: whole packs
    reach = film("4 in", "12 mil", 0.6, "600 mL").length_per_pack
    assert film("4 in", "12 mil", 0.6, "600 mL", length=f"{2 * reach!r} m").packs == 2
    assert film("4 in", "12 mil", 0.6, "600 mL", length=f"{2 * reach * 1.0001!r} m").packs == 3


def test_rows_in_both_systems():
    # Source: hand: 1200·(.08 + .03125)/.9 = 148.33 in3 on 36.094 in3 packs: 4.11 -> 5 packs, .89 of one (17.8 fl oz) left
    # Tolerance: printed rounding
    answer = film(
        "4 in", "12 mil", 0.6, "20 fl oz", gap="1/8 in", depth="1/4 in", length="100 ft", waste="10%"
    )
    us = dict(answer.rows(Show("us")))
    metric = dict(answer.rows(Show("metric")))
    assert us.keys() == metric.keys()
    assert us["wet film"] == "20 mil (dry 12 mil)"
    assert metric["wet film"] == "508 µm (dry 305 µm)"
    assert us["coverage, no gap, no waste"] == "80.2 ft2/gal"
    assert metric["coverage, no gap, no waste"] == "1.97 m2/L"
    assert us["one round bead"] == "0.32 in for the film"
    assert metric["one round bead"] == "8.1 mm for the film"
    assert us["waste"] == "10 % of what is used"
    assert us["the gap takes"] == "28 % of the material"
    assert us[""] == "0.38 in for film and gap in one pass"  # Source: hand: sqrt(4·.11125/π) = .376 in
    assert answer.to_json()["volume_per_m_l"] == pytest.approx(148.33 * 16.387064e-3 / 30.48, rel=1e-4)
    assert answer.to_json()["left_over_l"] == pytest.approx(0.89 * 0.59147, abs=2e-3)
    assert us["packs"].startswith("5 for 100 ft")
    assert metric["packs"].startswith("5 for 30.5 m")
    assert "packs" not in dict(film("4 in", "12 mil", 0.6, "20 fl oz").rows(Show("us")))
    assert (
        dict(film("4 in", "7.5 mil", 1, "20 fl oz").rows(Show("us")))["wet film"] == "7.5 mil (dry 7.5 mil)"
    )


def test_cautions_follow_the_numbers():
    def texts(**more: str) -> str:
        return " ".join(c.text for c in film("4 in", "12 mil", 0.6, "20 fl oz", **more).cautions)

    assert "product sheet rules" in texts()
    assert "No gap is counted" in texts()
    assert "No waste is counted" in texts()
    assert "No gap is counted" not in texts(gap="1/8 in", depth="1/4 in")
    assert "backer rod" not in texts(gap="1/4 in", depth="1/4 in")
    assert "backer rod" in texts(gap="3/8 in", depth="1/4 in")
    assert "bought = laid" in texts(waste="10%")
    out = film("4 in", "12 mil", 0.6, "20 fl oz").to_json()
    assert all(caution["mark"] for caution in out["cautions"])
    assert out["evidence"]["sums"]["mark"] == "published"


@pytest.mark.parametrize(
    ("change", "key"),
    [
        ({"width": "0 in"}, "width"), ({"width": "-4 in"}, "width"), ({"width": 4}, "width"), ({"width": "wide"}, "width"),
        ({"width": math.nan}, "width"), ({"dry": "12"}, "dry"), ({"dry": "12 ft2/gal"}, "dry"), ({"pack": "20 in"}, "pack"),
        ({"solids": "60"}, "solids"), ({"solids": 1.5}, "solids"), ({"solids": "0"}, "solids"),
        ({"solids": "70 % by weight"}, "solids"), ({"solids": math.nan}, "solids"),
        ({"waste": "100 %"}, "waste"), ({"waste": "-1 %"}, "waste"), ({"waste": "some"}, "waste"), ({"waste": True}, "waste"),
        ({"thinned": -0.1}, "thinned"), ({"thinned": "nan"}, "thinned"),
        ({"gap": "1/8 in"}, "depth"), ({"depth": "1/4 in"}, "gap"), ({"gap": "0 in", "depth": "1/4 in"}, "gap"),
        ({"gap": "5 in", "depth": "1/4 in"}, "gap"), ({"length": "-10 ft"}, "length"), ({"units": "imperial"}, "units"),
    ],
)  # fmt: skip
def test_bad_input_names_its_place(change, key):
    given_ = {"width": "4 in", "dry": "12 mil", "solids": 0.6, "pack": "20 fl oz"} | change
    with pytest.raises(InputError) as caught:
        film(**given_)
    assert key in {problem.where.key for problem in caught.value.problems}
    assert all(problem.allowed for problem in caught.value.problems)


def test_every_problem_at_once():
    with pytest.raises(InputError) as caught:
        film("wide", "0 mil", "60", "20 in", gap="1/8 in", waste="lots")
    assert [p.where.key for p in caught.value.problems] == [
        "width",
        "dry",
        "pack",
        "solids",
        "waste",
        "depth",
    ]


@given(st.floats(1, 12), st.floats(5, 60), st.integers(20, 100), st.floats(0.05, 3), st.floats(1, 2))
def test_more_never_goes_farther(width, dry, percent, length, more):
    def reach(w: float, d: float) -> float:
        return film(f"{w!r} in", f"{d!r} mil", f"{percent} %", "20 fl oz").length_per_pack

    base = reach(width, dry)
    assert reach(width * more, dry) == pytest.approx(base / more, rel=1e-9)
    assert reach(width, dry * more) == pytest.approx(base / more, rel=1e-9)
    # Source: volume is kept: reach × width × wet film is the pack
    answer = film(f"{width!r} in", f"{dry!r} mil", f"{percent} %", "20 fl oz", length=f"{length * base!r} m")
    assert base * width * INCH * dry * MIL / (percent / 100) == pytest.approx(20 * GALLON / 128, rel=1e-9)
    assert answer.packs == math.ceil(length - 1e-9)
