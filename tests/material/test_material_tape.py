"""Tape against hand counts."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hullwright.errors import InputError
from hullwright.material import tape
from hullwright.material.tape import Laying
from hullwright.units import FOOT, GALLON, INCH


def test_strips_and_laps_by_hand():
    # Source: hand: 40 ft in 10 ft strips lapping 2 in: four strips reach 40 ft − 6 in, so five are cut; tape = 40 ft + 4 × 2 in
    # Tolerance: float rounding
    use = tape.run_tape(40 * FOOT, Laying(10 * FOOT, 2 * INCH))
    assert use.strips == 5
    assert use.length / INCH == pytest.approx(480 + 8)


def test_t_joints_and_corners_add_tape():
    # Source: hand: 8 ft + 2 T-joints × 2 in + 2 ends × 4 in = 108 in, one strip of 10 ft
    # Tolerance: float rounding
    use = tape.run_tape(8 * FOOT, Laying(10 * FOOT, 2 * INCH), t_joints=2, past=4 * INCH)
    assert (use.strips, use.length / INCH) == (1, pytest.approx(108))


def test_an_exact_strip_needs_no_second():
    # Source: hand: 3 strips of 3 m with 2 laps of 0.05 m cover 8.9 m exactly
    # Tolerance: whole strips
    assert Laying(3.0, 0.05).strips(8.9) == 3
    assert Laying(3.0, 0.05).strips(8.9001) == 4
    assert tape.run_tape(0.0, Laying()).length == 0
    assert tape.run_tape(0.0, Laying(), t_joints=1).strips == 0


def test_bond_on_each_side():
    # Source: hand: (4 − 1/8)/2 = 1.94 in, (6 − 1/8)/2 = 2.94 in
    # Tolerance: printed rounding
    assert tape.bond_each_side(4 * INCH, INCH / 8) / INCH == pytest.approx(1.94, abs=0.005)
    assert tape.bond_each_side(6 * INCH, INCH / 8) / INCH == pytest.approx(2.94, abs=0.005)
    with pytest.raises(InputError, match="narrower than the tape"):
        tape.bond_each_side(0.05, 0.05)


def test_rolls_lose_their_ends():
    # Source: hand: 90-ft rolls losing 1 ft give 89 ft; 890 ft are 10 rolls; at 5 % waste 10.526
    # Tolerance: printed rounding
    assert tape.rolls(890 * FOOT, 90 * FOOT, rest=1 * FOOT) == pytest.approx(10.0)
    assert tape.rolls(890 * FOOT, 90 * FOOT, rest=1 * FOOT, waste=0.05) == pytest.approx(10.526, abs=5e-4)
    with pytest.raises(InputError, match="less than a roll"):
        tape.rolls(10.0, 1.0, rest=1.0)


def test_stretch_ring():
    # Source: hand: 4-in pipe, 3-in flange, 2-in lap: π·4 + 2 = 14.57 in; outer circle π·10, stretched by 6/4 = 150 %
    # Tolerance: printed rounding
    ring = tape.stretch_ring(4 * INCH, 3 * INCH, lap=2 * INCH)
    assert ring.length / INCH == pytest.approx(14.57, abs=0.005)
    assert ring.stretch == pytest.approx(1.5)


def test_primer():
    # Source: hand: 1000 ft of 4 in is 333.3 ft2; at 200 ft2/gal 1.667 gal, at 10 % waste 1.852 gal
    # Tolerance: printed rounding
    spread = 200 * FOOT**2 / GALLON
    assert tape.primer(1000 * FOOT, 4 * INCH, spread) / GALLON == pytest.approx(1.667, abs=5e-4)
    assert tape.primer(1000 * FOOT, 4 * INCH, spread, waste=0.1) / GALLON == pytest.approx(1.852, abs=5e-4)


def test_liner_is_bagged_with_a_caution():
    # Source: hand: 12 m of 0.1 m tape: 1.2 m2; split in two and four strips: 8 pieces, 24 m
    # Tolerance: float rounding
    found = tape.liner(tape.TapeUse(12.0, 4), 0.1, splits=2)
    assert (found.length, found.area, found.pieces) == (24.0, pytest.approx(1.2), 8)
    assert "slip" in found.cautions[0].text
    assert tape.liner(tape.TapeUse(12.0, 4), 0.1).pieces == 4
    with pytest.raises(InputError, match="splits"):
        tape.liner(tape.TapeUse(12.0, 4), 0.1, splits=0)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf, None])
def test_bad_numbers(bad):
    with pytest.raises(InputError):
        Laying(bad, 0.05)
    with pytest.raises(InputError):
        Laying(3.0, bad)
    with pytest.raises(InputError):
        tape.run_tape(bad, Laying())
    with pytest.raises(InputError):
        tape.run_tape(1.0, Laying(), t_joints=bad)
    with pytest.raises(InputError):
        tape.rolls(bad, 30.0)
    with pytest.raises(InputError):
        tape.rolls(1.0, bad)
    with pytest.raises(InputError):
        tape.stretch_ring(bad, 0.05)
    with pytest.raises(InputError):
        tape.primer(1.0, 0.1, bad)
    with pytest.raises(InputError):
        tape.liner(tape.TapeUse(1.0, 1), bad)
    with pytest.raises(InputError, match="longer than its lap"):
        Laying(0.05, 0.05)


@given(st.floats(0.01, 300), st.floats(0.5, 30), st.floats(0, 0.2))
def test_strips_reach_and_none_is_spare(length, strip, lap):
    laying = Laying(strip, lap)
    use = tape.run_tape(length, laying)
    assert use.length <= use.strips * strip + 1e-6
    assert use.length >= length
    if use.strips > 1:
        assert (use.strips - 1) * strip - (use.strips - 2) * lap < length + 1e-6


@given(st.floats(0, 300), st.floats(0, 300))
def test_longer_runs_never_take_less(a, b):
    short, long = sorted((a, b))
    assert tape.run_tape(short, Laying()).length <= tape.run_tape(long, Laying()).length
    assert tape.rolls(short, 20.0) <= tape.rolls(long, 20.0)
