"""Marks of the record's pictures stand where their figures say, by hand from the frame."""

import math
import re
import xml.etree.ElementTree as ET

import pytest

from hullwright.report.lots_plot import LEFT, WIDE, LotRow, lots_plot
from hullwright.report.proof_along import Band, Bar, Stretch, proof_along
from hullwright.report.use_plot import UsePanel, use_plot
from hullwright.units import Show

SVG = "{http://www.w3.org/2000/svg}"


def of_class(text, tag, kind):
    return [e for e in ET.fromstring(text).iter(SVG + tag) if e.get("class") == kind]


def pairs(d):
    return [(float(x), float(y)) for x, y in re.findall(r"([\d.]+) ([\d.]+)", d)]


def test_joints_of_a_run_lie_end_to_end():
    bar = Bar(1.0, 4e-4, 4.5e-4, "enough")
    drawn = proof_along(
        [Stretch("A", 2.0, "sealed", (bar,)), Stretch("B", 2.0, "bare", (bar,))],
        Band(3e-4),
        Show("metric"),
        name="run",
    )
    bars = [float(e.get("x")) + 3 for e in of_class(drawn, "rect", "pass")][:2]
    # Source: by hand: 4 m over 780 units from 70 on; 1 m and 3 m. Tolerance: rounding in the file.
    assert bars == pytest.approx([70 + 195, 70 + 585], abs=0.01)


def test_a_reading_with_all_teeth_wet_reaches_the_top_and_none_fails_silently():
    bars = (Bar(0.5, 6e-4, math.inf, "enough"), Bar(1.5, 0.0, 2e-4, "too thin"))
    drawn = proof_along([Stretch("A", 2.0, "sealed", bars)], Band(3e-4), Show("us"), name="A")
    assert of_class(drawn, "path", "cross"), "what failed is crossed, not only coloured"
    assert "over " in drawn


def test_the_proved_film_is_marked_at_its_thickness():
    row = LotRow("liquid", "panel", ((4e-4, 5e-4),), 4.4e-4, 2.5e-4, 2e-4, "proved", "proved")
    drawn = lots_plot([row], Show("metric"), name="house")
    corners = pairs(of_class(drawn, "path", "pass")[0].get("d"))
    # Source: by hand: the scale ends at 1.05 x 500 µm. Tolerance: rounding in the file.
    assert sum(x for x, _ in corners) / 4 == pytest.approx(LEFT + WIDE * 250 / 525, abs=0.01)


def test_the_fan_ends_at_both_chances():
    panel = UsePanel("P × m", (("2025-05-05", 50.0, 10.0),), 10.0, 50.0, (10.0, 14.0), None, "")
    drawn = use_plot([panel], Show("metric"), name="house")
    start, high, low = pairs(of_class(drawn, "path", "good-fill")[0].get("d"))
    # Source: by hand: from 10 packs up to 24 and 20: rises of 14 and 10. Tolerance: rounding in the file.
    assert (start[1] - high[1]) / (start[1] - low[1]) == pytest.approx(1.4, rel=1e-3)
    assert high[0] == low[0] > start[0]


def test_words_of_a_person_stay_words():
    drawn = lots_plot(
        [LotRow("<script>", "&", (), None, None, 2e-4, "not yet", "<b>")], Show("us"), name="<x>"
    )
    assert "<script>" not in drawn
    ET.fromstring(drawn)
