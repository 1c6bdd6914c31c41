"""Pieces against hand sums and closed form."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import ellipe

from hullwright.errors import InputError
from hullwright.material import pieces
from hullwright.material.film import Liquid
from hullwright.units import FLUID_OUNCE, INCH, MIL

CARTRIDGE = 10.1 * FLUID_OUNCE


def test_fastener_spots():
    # Source: hand: π/4·1.5²·.020 = .0353 in3; 18.227/.0353 = 516; 100 panels × 33 nails × 20 % = 660 spots = 23.3 in3 =
    # 1.28 cartridges
    # Tolerance: printed rounding
    one = pieces.spot(1.5 * INCH).laid(20 * MIL)
    assert one / INCH**3 == pytest.approx(0.0353, abs=5e-5)
    assert CARTRIDGE / one == pytest.approx(516, abs=0.5)
    assert 660 * one / INCH**3 == pytest.approx(23.3, abs=0.05)
    assert 660 * one / CARTRIDGE == pytest.approx(1.28, abs=0.005)


def test_rafter_tail():
    # Source: hand, 2×8 (1.5 × 7.25 in), 2-in legs, 30 mil wet, 3/8 fillet: 86.0 in2, 17.5 in of fillet, 3.81 in3, 4.8 a
    # 10.1 fl oz cartridge
    # Tolerance: printed rounding
    tail = pieces.rectangle(1.5 * INCH, 7.25 * INCH, 2 * INCH, on_piece=2 * INCH, fillet_leg=3 / 8 * INCH)
    assert tail.area / INCH**2 == pytest.approx(86.0, abs=0.05)
    assert tail.edge / INCH == pytest.approx(17.5, rel=1e-12)
    assert tail.laid(30 * MIL) / INCH**3 == pytest.approx(3.81, abs=0.005)
    assert CARTRIDGE / tail.laid(30 * MIL) == pytest.approx(4.8, abs=0.05)


def test_pipe():
    # Source: hand, OD 4.5 in, 2-in legs, 30 mil wet, 3/8 fillet: 69.1 in2, 3.12 in3, 5.8 a cartridge
    # Tolerance: printed rounding
    collar = pieces.pipe(4.5 * INCH, 2 * INCH, on_pipe=2 * INCH, fillet_leg=3 / 8 * INCH)
    assert collar.area / INCH**2 == pytest.approx(69.1, abs=0.05)
    assert collar.laid(30 * MIL) / INCH**3 == pytest.approx(3.12, abs=0.005)
    assert CARTRIDGE / collar.laid(30 * MIL) == pytest.approx(5.8, abs=0.05)


@pytest.mark.parametrize("tilt", [0, 18.43, 45, 60])
def test_vertical_pipe_through_a_roof_leaves_an_ellipse(tilt):
    # Source: perimeter of an ellipse by the complete elliptic integral, 4·a·E(1 − b²/a²) (scipy.special.ellipe)
    # Tolerance: 1e-6, Ramanujan's second formula
    collar = pieces.pipe(0.1, 0.05, on_pipe=0.0, tilt_deg=tilt)
    a, b = 0.05 / math.cos(math.radians(tilt)), 0.05
    assert collar.edge == pytest.approx(4 * a * ellipe(1 - (b / a) ** 2), rel=1e-6)


def test_ring_of_constant_width_round_a_disc():
    # Source: closed form, annulus π/4·((D + 2b)² − D²)
    # Tolerance: float rounding
    ring = pieces.pipe(0.1, 0.05, on_pipe=0.0)
    assert ring.area == pytest.approx(math.pi / 4 * (0.2**2 - 0.1**2), rel=1e-12)


def test_fillet_round_a_pipe_by_integration():
    # Source: volume of revolution, ∫ 2π·r·(L − (r − R)) dr from R to R + L, numerically
    # Tolerance: quadrature
    radius, leg = 0.05, 0.01
    volume, _ = quad(lambda r: 2 * math.pi * r * (leg - (r - radius)), radius, radius + leg)
    assert pieces.pipe(0.1, 0.05, on_pipe=0, fillet_leg=leg).fill == pytest.approx(volume, rel=1e-9)


def test_cables_fill_what_is_left_of_the_hole():
    # Source: hand: π/4·(40² − 3·12²)·11 mm3 = 10.09 mL
    # Tolerance: printed rounding
    group = pieces.cables(3, 0.012, 0.05, on_cable=0.05, hole=0.040, depth=0.011)
    assert group.fill * 1e6 == pytest.approx(10.09, abs=0.005)
    # Source: hand: ring π·50·(40 + 50) + face π/4·(40² − 3·12²) + collars 3·π·12·50 = 14137 + 917 + 5655 = 20709 mm2;
    # edges π·(40 + 3·12) = 238.8 mm
    assert group.area * 1e6 == pytest.approx(20709, abs=0.5)
    assert group.edge * 1e3 == pytest.approx(238.8, abs=0.05)
    with pytest.raises(InputError, match="a hole they fit"):
        pieces.cables(12, 0.012, 0.05, on_cable=0.05, hole=0.040, depth=0.011)
    with pytest.raises(InputError, match="a hole they fit"):
        pieces.cables(0, 0.012, 0.05, on_cable=0.05, hole=0.040, depth=0.011)


def test_corners_and_patches():
    # Source: hand: 2·6·(4 + 2) + 2² = 76 in2; 3·4² = 48 in2; (4 + 2·2)² = 64 in2; 100 in of 3/8 fillet = 7.03 in3
    # Tolerance: printed rounding
    assert pieces.opening_corner(6 * INCH, depth=4 * INCH, face=2 * INCH).area / INCH**2 == pytest.approx(76)
    assert pieces.three_way_corner(4 * INCH).area / INCH**2 == pytest.approx(48)
    assert pieces.t_joint(4 * INCH, 2 * INCH).area / INCH**2 == pytest.approx(64)
    assert pieces.fillet_run(100 * INCH, 3 / 8 * INCH).fill / INCH**3 == pytest.approx(7.03, abs=0.005)
    # Source: hand: sealed edges 2·6 + 4 = 16 in, 3·4 = 12 in, 1.5 sides of 8 in = 12 in, 100 in
    assert pieces.opening_corner(6, depth=4, face=2).edge == pytest.approx(16)
    assert pieces.three_way_corner(4).edge == pytest.approx(12)
    assert pieces.t_joint(4, 2).edge == pytest.approx(12)
    assert pieces.fillet_run(100, 0.375).edge == 100
    # Source: hand: 4 in of 3/8 fillet in the corner of an opening = .281 in3
    assert pieces.opening_corner(6, depth=4, face=2, fillet_leg=0.375).fill == pytest.approx(0.281, abs=5e-4)
    inside = pieces.three_way_corner(4 * INCH, fillet_leg=3 / 8 * INCH)
    assert inside.fill / INCH**3 == pytest.approx(12 * 0.0703, abs=1e-3)


def test_bought_counts_solids_and_waste():
    # Source: hand: 1 m2 at 300 µm dry, 60 % solids, 15 % waste: 0.5 L laid, 0.588 L bought
    # Tolerance: printed rounding
    assert pieces.Cover(1.0, 0.0, 0.0).bought(300e-6, Liquid(0.6, waste=0.15)) * 1e3 == pytest.approx(
        0.588, abs=5e-4
    )


def test_no_fillet_no_fill():
    # Source: by definition
    # Tolerance: exact
    for flat in (
        pieces.opening_corner(6, depth=4, face=2),
        pieces.three_way_corner(4),
        pieces.t_joint(4, 2),
        pieces.spot(1.5),
        pieces.pipe(4, 2, on_pipe=2),
        pieces.rectangle(4, 2, 2, on_piece=2),
    ):
        assert flat.fill == 0
        assert flat.area > 0


def test_how_many_cables_fit():
    # Source: geometry: two circles of diameter d need a hole of 2 d, one needs d
    # Tolerance: none, yes or no
    assert pieces.cables(2, 0.01, 0.05, on_cable=0.05, hole=0.0201, depth=0.01).fill > 0
    assert pieces.cables(1, 0.01, 0.05, on_cable=0.05, hole=0.0101, depth=0.01).fill > 0
    for count, hole in ((2, 0.0199), (1, 0.01)):
        with pytest.raises(InputError, match="a hole they fit"):
            pieces.cables(count, 0.01, 0.05, on_cable=0.05, hole=hole, depth=0.01)


def test_a_duct_is_a_rectangle_and_a_round_one_takes_less():
    # Source: closed form: a disc lies inside its square
    # Tolerance: none, an inequality
    square = pieces.rectangle(0.15, 0.15, 0.05, on_piece=0.05, fillet_leg=0.01)
    disc = pieces.pipe(0.15, 0.05, on_pipe=0.05, fillet_leg=0.01)
    assert disc.area < square.area
    assert disc.fill < square.fill


@pytest.mark.parametrize("bad", [-0.01, math.nan, math.inf, None])
def test_bad_sizes(bad):
    with pytest.raises(InputError):
        pieces.pipe(bad, 0.05, on_pipe=0.05)
    with pytest.raises(InputError):
        pieces.pipe(0.1, 0.05, on_pipe=bad)
    with pytest.raises(InputError):
        pieces.rectangle(0.1, bad, 0.05, on_piece=0.05)
    with pytest.raises(InputError):
        pieces.spot(bad)
    with pytest.raises(InputError):
        pieces.t_joint(0.1, bad)
    with pytest.raises(InputError):
        pieces.three_way_corner(bad)
    with pytest.raises(InputError):
        pieces.fillet_run(bad, 0.01)
    with pytest.raises(InputError):
        pieces.opening_corner(0.1, depth=bad, face=0.05)


def test_a_tilt_beyond_a_steep_roof_is_refused():
    for tilt in (-1, 80, math.nan):
        with pytest.raises(InputError, match="tilt"):
            pieces.pipe(0.1, 0.05, on_pipe=0.05, tilt_deg=tilt)


@given(st.floats(0.01, 0.3), st.floats(0.02, 0.1), st.floats(0.1, 10))
def test_areas_scale_with_the_square_and_fills_with_the_cube(size, leg, k):
    for form in (
        lambda f: pieces.pipe(size * f, leg * f, on_pipe=leg * f, fillet_leg=leg * f / 5, tilt_deg=30),
        lambda f: pieces.rectangle(size * f, 2 * size * f, leg * f, on_piece=leg * f, fillet_leg=leg * f / 5),
        lambda f: pieces.opening_corner(size * f, depth=leg * f, face=leg * f, fillet_leg=leg * f / 5),
    ):
        one, other = form(1.0), form(k)
        assert other.area == pytest.approx(k**2 * one.area, rel=1e-9)
        assert other.fill == pytest.approx(k**3 * one.fill, rel=1e-9)
        assert other.edge == pytest.approx(k * one.edge, rel=1e-9)


@given(st.integers(0, 500))
def test_many_like_pieces_add_up(count):
    one = pieces.spot(0.04)
    assert (one * count).laid(5e-4) == pytest.approx(count * one.laid(5e-4), abs=1e-15)
    assert (one + one).area == pytest.approx(2 * one.area)
    tail = pieces.rectangle(0.04, 0.18, 0.05, on_piece=0.05, fillet_leg=0.01)
    assert (tail + tail).fill == pytest.approx(2 * tail.fill)
    assert (tail + one).edge == pytest.approx(tail.edge + one.edge)
