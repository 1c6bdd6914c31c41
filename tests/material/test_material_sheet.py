"""Printed figures of product sheets, held against each other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hullwright.errors import CatalogError, QuantityError
from hullwright.material import sheet
from hullwright.units import FOOT, GALLON, MIL


def test_a_sheet_that_agrees():
    # Source: hand: 20 mil × 60 % = 12 mil; 1604.17/20 = 80.2 ft2/gal = 1.97 m2/L; 20 mil = 508 µm, 12 mil = 305 µm
    # Tolerance: as printed
    film = sheet.cross_check(
        wet=["20 mil", "508 µm"],
        dry=["12 mil", "305 µm"],
        solids="60 %",
        coverage=["80.2 ft2/gal", "1.97 m2/L", "0.51 L/m2"],
    )
    assert film.derived == ()
    assert film.wet / MIL == pytest.approx(20)
    assert film.coverage * GALLON / FOOT**2 == pytest.approx(80.2, abs=0.05)
    assert sheet.feet_per_gallon(film.coverage) == pytest.approx(80.2, abs=0.05)


def test_trade_rounding_is_let_pass():
    # Source: hand: 500 µm for 20 mil (508) and 1600 for 1604 ft2/gal at 1 mil are the trade's roundings
    # Tolerance: half a printed unit, half a ten from 100 up
    sheet.cross_check(wet=["20 mil", "500 µm"], solids=1.0)
    sheet.cross_check(wet=["1.0 mil"], solids=1.0, coverage=["1600 ft2/gal"])


def test_each_disagreement_comes_with_its_numbers():
    # Source: hand: 20 mil × 60 % = 12 mil, not 15; 1604.17/20 = 80, not 107 ft2/gal (which is the coverage at 15 mil)
    # Tolerance: as printed
    with pytest.raises(CatalogError) as caught:
        sheet.cross_check(wet=["20 mil"], dry=["15 mil"], solids="60 %", coverage=["107 ft2/gal"])
    text = str(caught.value)
    assert len(caught.value.problems) == 3
    assert "20 mil × 60 % gives 12.0 mil (305 µm) dry, the sheet prints 15 mil" in text
    assert "107 ft2/gal gives 15.0 mil" in text
    assert "9.0 mil" in text  # 15 mil by the coverage × 60 %


def test_the_same_figure_in_two_units_must_agree():
    # Source: hand: 12 mil is 305 µm, not 350; 80 ft2/gal is 1.96 m2/L, not 2.4
    # Tolerance: as printed
    with pytest.raises(CatalogError) as caught:
        sheet.cross_check(dry=["12 mil", "350 µm"], solids="60 %", coverage=["80 ft2/gal", "2.40 m2/L"])
    assert [problem.where.key for problem in caught.value.problems] == ["dry", "coverage"]


def test_a_coverage_with_loss_taken_off():
    # Source: hand: 80.21·0.85 = 68.2 ft2/gal
    # Tolerance: as printed
    film = sheet.cross_check(wet=["20 mil"], solids=0.6, coverage=["68.2 ft2/gal"], loss=0.15)
    assert film.coverage * GALLON / FOOT**2 == pytest.approx(80.21, abs=0.005)
    assert sheet.cross_check(solids=0.6, coverage=["68.2 ft2/gal"], loss=0.15).wet / MIL == pytest.approx(
        20, abs=0.01
    )
    assert sheet.cross_check(dry=["12 mil"], solids=0.6, coverage=["68.2 ft2/gal"], loss=0.15).derived == (
        "wet",
    )
    with pytest.raises(CatalogError, match="disagree beyond rounding"):
        sheet.cross_check(wet=["20 mil"], solids=0.6, coverage=["68.2 ft2/gal"])


def test_weight_solids_alone_are_refused():
    with pytest.raises(CatalogError, match="solids by weight only"):
        sheet.cross_check(dry=["12 mil"], weight_solids="70 %")
    with pytest.raises(CatalogError, match="weight says nothing on thickness"):
        sheet.cross_check(dry=["12 mil"], solids="70 % by weight")
    for text in ("70 wt%", "70 wt %", "0.7 w/w", "70% by mass"):
        with pytest.raises(QuantityError, match="volume"):
            sheet.printed_share(text)


def test_missing_figures_are_worked_out_and_named():
    # Source: hand: 12/0.6 = 20 mil; 12/20 = 60 %
    # Tolerance: float rounding
    film = sheet.cross_check(dry=["12 mil"], solids="60%")
    assert film.wet / MIL == pytest.approx(20)
    assert film.derived == ("wet", "coverage")
    film = sheet.cross_check(dry=["12 mil"], wet=["20 mil"])
    assert film.solids == pytest.approx(0.6)
    assert film.derived == ("solids", "coverage")
    film = sheet.cross_check(solids=0.6, coverage=["80.21 ft2/gal"])
    assert film.dry / MIL == pytest.approx(12, abs=0.01)
    assert film.derived == ("wet", "dry")


@pytest.mark.parametrize(
    "figures",
    [{}, {"dry": ["12 mil"]}, {"solids": 0.6}, {"wet": ["20 mil"]}, {"wet": ["10 mil"], "dry": ["12 mil"]}],
)
def test_too_little_or_impossible(figures):
    with pytest.raises(CatalogError, match="can't be worked out"):
        sheet.cross_check(**figures)


@pytest.mark.parametrize("solids", ["60", 60, "0", 0, "-5 %", "101 %", "nan", float("nan"), "lots", True, ""])
def test_bad_solids(solids):
    with pytest.raises(QuantityError, match="solids"):
        sheet.printed_share(solids)


def test_bare_per_cent_gets_a_hint():
    with pytest.raises(QuantityError, match="write 60 %"):
        sheet.printed_share(60)


@pytest.mark.parametrize("text", ["0 mil", "-3 mil", "twelve mil", "12", "1/64 in", "12 ft2/gal"])
def test_bad_films(text):
    with pytest.raises(QuantityError):
        sheet.printed(text, "length")


def test_every_problem_at_once():
    with pytest.raises(CatalogError) as caught:
        sheet.cross_check(wet=["x"], dry=["0 mil"], solids="7", coverage=["12 mil"], loss=1.0)
    assert {problem.where.key for problem in caught.value.problems} == {
        "wet",
        "dry",
        "solids",
        "coverage",
        "loss",
    }


@given(st.integers(5, 90), st.integers(30, 100))
def test_a_sheet_rounded_by_its_maker_always_passes(wet, percent):
    dry = wet * percent / 100
    film = sheet.cross_check(
        wet=[f"{wet} mil", f"{wet * 25.4:.0f} µm"],
        dry=[f"{dry:.1f} mil", f"{dry * 25.4:.0f} µm"],
        solids=f"{percent} %",
        coverage=[f"{1604.1667 / wet:.0f} ft2/gal", f"{1000 / (wet * 25.4):.2f} m2/L"],
    )
    assert film.solids == percent / 100


@given(st.integers(5, 90), st.integers(30, 80))
def test_a_dry_film_a_tenth_off_never_passes(wet, percent):
    dry = wet * percent / 100 * 1.1
    with pytest.raises(CatalogError, match="disagree"):
        sheet.cross_check(wet=[f"{wet}.00 mil"], dry=[f"{dry:.3f} mil"], solids=f"{percent}.0 %")
