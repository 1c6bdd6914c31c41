"""Sizes that a crew lays and draws, against sums by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from choice_houses import K, paper_house

from hullwright.catalog import load
from hullwright.catalog.loading import Nothing
from hullwright.choice.laid import Laid, laid
from hullwright.choice.options import Option
from hullwright.evidence import STATED, Figure

INCH, MIL = 0.0254, 25.4e-6
LIQUID = Option("liquid", "silyl-flashing-20")


def steady():
    """The catalogue of a crew so steady that the sheet's own aim proves it: sums by hand stand on that film."""
    hand = {"film.spread.any": Figure(0.2 * MIL, "m", STATED), "film.gauge.any": Figure(1 * MIL, "m", STATED)}
    return load(Nothing(figures=hand))


def one(kind: K, **changes):
    runs = paper_house()[2].runs
    return replace(next(run for run in runs if run.kind is kind), **changes)


def test_film_on_a_seam_and_its_bead():
    # Source: by hand. 2 1/4 in wide, 15 mil dry at 98 % solids: 15/0.98 = 15.31 mil wet, section 2.25 x 0.015306 = 0.034439 in2; a
    # gap of 1/8 in filled to the usual 1/4 in adds 0.03125 in2. Round bead sqrt(4A/pi): 0.2094 in for the film, 0.2892 in with the gap.
    # Tolerance: four digits.
    seam = one(K.SEAM_UPRIGHT, quantity=10.0, gap=INCH / 8, depth=7 / 16 * INCH)
    alone = laid(seam, replace(LIQUID, filler="silyl-flashing-20"), steady())
    assert alone.width == pytest.approx(2.25 * INCH)
    assert alone.wet == pytest.approx(15 / 0.98 * MIL)
    assert alone.gap == pytest.approx(INCH / 8)
    assert alone.bead == pytest.approx(0.2094 * INCH, rel=2e-4)
    assert laid(seam, LIQUID, steady()).bead == pytest.approx(0.2892 * INCH, rel=2e-4)
    assert alone.least_wet is not None
    assert alone.wet is not None
    assert alone.least_wet < alone.wet
    assert alone.lap is None


def test_nothing_gapes_nothing_is_said():
    seam = one(K.SEAM_UPRIGHT, gap=0.0, depth=0.0)
    found = laid(seam, LIQUID, steady())
    assert found.gap is None
    assert found.bead == pytest.approx(0.2094 * INCH, rel=2e-4)  # Source, Tolerance: as above, film alone


def test_tape_has_width_and_lap_and_no_film():
    # Source: invented product sheet, 3 3/4 in; catalogue lap. Tolerance: none.
    catalog = load()
    found = laid(one(K.SEAM_UPRIGHT), Option("tape", "acrylic-seam-tape"), catalog)
    assert found.width == pytest.approx(3.75 * INCH)
    assert found.lap == catalog.value("size.lap")
    assert (found.wet, found.least_wet, found.bead) == (None, None, None)


def test_sealant_is_as_wide_as_its_gap_and_no_narrower_than_a_quarter_inch():
    # Source: by hand. Joint of 1/2 in: 1/4 in deep, round bead sqrt(4·0.125/pi) = 0.3989 in. A hair of a gap: 1/4 x 1/4 in,
    # sqrt(4·0.0625/pi) = 0.2821 in. Tolerance: four digits.
    sealant = Option("sealant", "hybrid-sealant-20")
    wide = laid(one(K.SEAM_UPRIGHT, gap=INCH / 2), sealant, load())
    assert (wide.width, wide.bead) == pytest.approx((INCH / 2, 0.3989 * INCH), rel=2e-4)
    thin = laid(one(K.SEAM_UPRIGHT, gap=0.001), sealant, load())
    assert (thin.width, thin.bead) == pytest.approx((INCH / 4, 0.2821 * INCH), rel=2e-4)
    assert wide.wet is None


def test_round_a_piece_and_on_a_head():
    # Source: catalogue figures size.leg, size.spot, size.fillet. Tolerance: none but rounding.
    catalog = load()
    tail = laid(one(K.RAFTER_TAIL), LIQUID, catalog)
    assert (tail.width, tail.bead) == (catalog.value("size.leg"), None)
    pipe = laid(one(K.PIPE), Option("listed", "listed-sealant-10"), catalog)
    assert pipe.width == catalog.value("size.fillet")
    assert pipe.bead == pytest.approx(2 * catalog.value("size.fillet") / math.sqrt(math.pi))


def test_whole_face_has_a_film_and_no_width():
    # Source: the coat covers the face; invented sheet. Tolerance: none.
    found = laid(one(K.SEAM_UPRIGHT), Option("coat", "fluid-membrane-5gal"), load())
    assert found.width is None
    assert found.wet is not None
    assert found.bead is None


def test_what_has_no_size_says_none():
    assert laid(one(K.PIPE), Option("unsealed", ""), load()) == Laid()
    boot = laid(one(K.PIPE), Option("boot", "pipe-boot"), load())
    assert (boot.width, boot.wet, boot.bead) == (None, None, None)
    assert set(boot.to_json()) == {
        "width_m", "wet_um", "least_um", "aim_um", "greatest_um", "least_wet_um", "greatest_wet_um", "readings", "gap_m", "bead_m", "lap_m",
    }  # fmt: skip
