"""Figures as people write them: every kind, every unit, and junk without a traceback."""

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.errors import HullwrightError, InputError
from hullwright.proof.figures_in import changed, figures, neighbours
from hullwright.proof.kinds import KINDS

SAID = {
    "text": "words",
    "flag": "yes",
    "count": "3",
    "coat": "2",
    "number": "0.5",
    "numbers": "1 2 3",
    "texts": "a; b",
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_figure_of_every_kind_can_be_said(kind):
    got = figures(
        kind,
        [
            f"{field.name}={SAID[field.type]}"
            for field in KINDS[kind]
            if field.name not in {"last_wet_um", "next_dry_um"}
        ],
    )
    assert set(got) >= {field.name for field in KINDS[kind]} - {"last_wet_um", "next_dry_um"}
    assert all(value is not None for value in got.values())


def test_units_of_both_systems():
    # Source: 1 in = 25.4 mm, 32 F = 0 degC, 1 mph = 0.44704 m/s (NIST Handbook 44, Appendix C). Tolerance: rounding.
    assert figures("width", ["width=4 in"])["width_m"] == pytest.approx(0.1016)
    assert figures("width", ["width=102 mm"])["width_m"] == pytest.approx(0.102)
    assert figures("surface", ["surface=32 F", "dew_point=-2 C", "moisture=14 %", "dry=yes"]) == {
        "surface_c": pytest.approx(0.0), "dew_point_c": -2.0, "moisture_share": pytest.approx(0.14), "dry": True,
    }  # fmt: skip
    assert figures("weather", ["wind=10 mph"])["wind_m_s"] == pytest.approx(4.4704)
    assert figures("cut", ["dry=12 mil"])["dry_um"] == pytest.approx(304.8)
    assert figures("done", ["from=2 ft", "to=1 m"]) == {"from_m": pytest.approx(0.6096), "to_m": 1.0}


def test_a_unit_that_is_missing_is_asked_for():
    with pytest.raises(InputError) as caught:
        figures("gauge reading", ["last_wet=20", "crew=B", "colour=red"])
    assert [problem.where.key for problem in caught.value.problems] == ["last_wet", "colour"]
    with pytest.raises(InputError, match="can't be read"):
        figures("nailing", ["passed=yes", "passed=no"])


def test_the_gauge_tells_the_tooth_that_was_not_said():
    teeth = [1.0, 2.0, 3.0]
    assert neighbours({"notches_um": teeth, "next_dry_um": 3.0})["last_wet_um"] == 2.0
    assert "last_wet_um" not in neighbours({"notches_um": teeth, "next_dry_um": 1.0})
    assert neighbours({"notches_um": teeth, "next_dry_um": None})["last_wet_um"] == 3.0
    assert neighbours({"notches_um": teeth, "last_wet_um": 1.5}) == {
        "notches_um": teeth,
        "last_wet_um": 1.5,
    }  # no such tooth: refused later
    old = {"notches_um": teeth, "last_wet_um": 1.0, "next_dry_um": 2.0}
    assert changed("gauge reading", old, figures("gauge reading", ["last_wet=none"])) == {
        "notches_um": teeth,
        "next_dry_um": 1.0,
    }


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(sorted(KINDS)), st.lists(st.text(max_size=30), max_size=4), st.data())
def test_any_text_is_read_or_refused(kind, words, data):
    names = [field.name for field in KINDS[kind]] + ["last_wet", "teeth", "width", "from"]
    said = [f"{data.draw(st.sampled_from(names))}={word}" for word in words]
    with contextlib.suppress(HullwrightError):
        figures(kind, [*said, *words])
    with contextlib.suppress(HullwrightError):
        figures(kind, said)
