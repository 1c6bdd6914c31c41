"""Documents are well formed, and what a person typed stays text."""

import csv
import io
from xml.etree import ElementTree as ET

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hullwright.report.curve import CurvePoint, curve, ticks
from hullwright.report.page import Listing, Page, Picture, Sum, page
from hullwright.report.sheets import csv_text, workbook
from hullwright.report.svg import document, element, number, text

NASTY = '<script>alert("x")</script>&\'"'


def test_typed_text_is_escaped_in_drawings():
    drawing = document(10, 10, text(NASTY, 1, 2) + element("path", d="M0 0", class_=NASTY), name=NASTY)
    root = ET.fromstring(drawing)
    assert NASTY in [node.text for node in root.iter() if node.text]
    assert "<script" not in drawing


def test_typed_text_is_escaped_on_the_page():
    content = Page(
        NASTY,
        NASTY,
        [Sum(NASTY, NASTY, NASTY)],
        [Picture(NASTY, "<svg/>", NASTY)],
        [Listing(NASTY, [NASTY], [[NASTY]])],
        [(NASTY, NASTY)],
        [NASTY],
    )
    html = page(content)
    assert "<script" not in html


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e6, max_value=1e6))
def test_numbers_read_back(value):
    # Source: what was written. Tolerance: three decimals are written
    assert float(number(value)) == pytest.approx(value, abs=0.00051)
    assert "e" not in number(value)


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_no_drawing_holds_what_is_not_a_number(value):
    with pytest.raises(ValueError, match="can't hold"):
        number(value)


FORMULAS = ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1"]


@pytest.mark.parametrize("formula", FORMULAS)
def test_csv_keeps_formulas_as_text(formula):
    rows = list(csv.reader(io.StringIO(csv_text(["a"], [[formula]]).decode("utf-8-sig"))))
    assert rows[1][0] == "'" + formula


@pytest.mark.parametrize("formula", FORMULAS)
def test_xlsx_keeps_formulas_as_text(formula):
    book = openpyxl.load_workbook(io.BytesIO(workbook([("joints", ["a", "b"], [[formula, 1.5]])], ["note"])))
    cell = book["joints"]["A2"]
    assert cell.data_type == "s"
    assert cell.value == formula
    assert book["joints"]["B2"].value == 1.5


def test_the_same_table_gives_the_same_bytes():
    table = [("order", ["product", "packs"], [["tape", 4]])]
    assert workbook(table, ["n"]) == workbook(table, ["n"])


def test_curve_is_well_formed_with_one_point_and_with_many():
    one = [CurvePoint(0.0, 9.5, 8.0, 12.0, 40.0)]
    many = [CurvePoint(100.0 * k, 3 / (k + 1), 2 / (k + 1), 5 / (k + 1), 3.0) for k in range(21)]
    for points in (one, many):
        ET.fromstring(
            curve(points, currency="$", taken=points[-1].spent, target=0.6, following="tails to liquid")
        )


def test_ticks_are_round_and_inside():
    # Source: counting by hand
    assert ticks(0, 1) == [0, 0.2, 0.4, 0.6, 0.8, 1.0]
    assert ticks(37, 62) == [40.0, 45.0, 50.0, 55.0, 60.0]
