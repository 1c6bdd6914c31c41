"""Nail counts and the overdriven rule."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hullwright.errors import InputError
from hullwright.evidence import Mark
from hullwright.material import fasteners
from hullwright.material.fasteners import Schedule
from hullwright.units import FOOT, INCH

LONG, SHORT = 96 * INCH, 48 * INCH


# Source: hand: N = 2(48/e + 1) + (96/sp − 1)(48/f + 1)
# Tolerance: whole nails
@pytest.mark.parametrize(
    ("supports", "edge", "field", "nails"),
    [(24, 6, 12, 33), (24, 6, 6, 45), (24, 4, 8, 47), (24, 4, 4, 65), (16, 6, 12, 43), (16, 6, 6, 63)],
)
def test_roof_panels(supports, edge, field, nails):
    found = fasteners.across_supports(LONG, SHORT, Schedule(edge * INCH, field * INCH, supports * INCH))
    assert found.total == nails


def test_nails_per_square_foot():
    # Source: hand: 33/32 = 1.03, 45/32 = 1.41 per ft2
    # Tolerance: printed to 0.01
    area = LONG * SHORT / FOOT**2
    for field, printed in ((12, 1.03), (6, 1.41)):
        nails = fasteners.across_supports(LONG, SHORT, Schedule(6 * INCH, field * INCH, 24 * INCH))
        assert nails.total / area == pytest.approx(printed, abs=0.005)


def test_open_heads_of_a_roof_panel():
    # Source: hand, 24 in oc 6/12: three rows of 5 between the ends are 15; their two end nails each lie at the long edges
    # under tape, so 9 stay open
    # Tolerance: whole nails
    assert fasteners.across_supports(LONG, SHORT, Schedule(6 * INCH, 12 * INCH, 24 * INCH)).interior == 9


def test_blocked_edges():
    # Source: hand, 24 in oc 6/12: each long edge 96/6 + 1 = 17 nails of which 5 are there already: 33 + 2·12 = 57
    # Tolerance: whole nails
    nails = fasteners.across_supports(LONG, SHORT, Schedule(6 * INCH, 12 * INCH, 24 * INCH), blocked=True)
    assert (nails.total, nails.interior) == (57, 9)


def test_wall_panels():
    # Source: hand: 16 in oc 34 + 14 + 14 = 62, with own plate nails on the stud lines 66; 24 in oc 55
    # Tolerance: whole nails
    sixteen = Schedule(6 * INCH, 12 * INCH, 16 * INCH)
    assert fasteners.along_supports(LONG, SHORT, sixteen).total == 62
    assert fasteners.along_supports(LONG, SHORT, sixteen, stud_ends=True).total == 66
    assert fasteners.along_supports(LONG, SHORT, Schedule(6 * INCH, 12 * INCH, 24 * INCH)).total == 55
    assert fasteners.along_supports(LONG, SHORT, sixteen).interior == 14
    assert fasteners.along_supports(LONG, SHORT, sixteen, stud_ends=True).interior == 14
    # Without plates (hand): 34 + 2·9 = 52, of which the four stud ends lie at the edges
    bare = fasteners.along_supports(LONG, SHORT, sixteen, plates=False)
    assert (bare.total, bare.interior) == (52, 14)


def test_starting_schedule_is_the_code_table():
    # Source: IRC Table R602.3(1), older editions, wood panels 3/8 to 1 in: 6 in edges, 12 in field
    # Tolerance: float rounding
    assert fasteners.STARTING_EDGE.value / INCH == pytest.approx(6)
    assert fasteners.STARTING_FIELD.value / INCH == pytest.approx(12)
    assert "local code" in fasteners.STARTING_FIELD.evidence.source


def test_metric_panels_count_alike():
    # Source: hand: 2.4 × 1.2 m, 150/300 mm, supports 600 mm: same spaces as 96 × 48 in, 6/12, 24
    # Tolerance: whole nails
    assert fasteners.across_supports(2.4, 1.2, Schedule(0.15, 0.3, 0.6)).total == 33
    assert fasteners.along_supports(2.4, 1.2, Schedule(0.15, 0.3, 0.4)).total == 62


def test_overdriven_rule():
    # Source: panel trade association TT-012(A), restated: 20 of 100 perimeter at 3/32 in -> nothing; 21 -> add 11
    # (21/2 rounded up); 1 of 100 at 5/32 in -> add 1
    # Tolerance: whole nails
    def add(count: int, depth: float) -> fasteners.Overdriven:
        shallow, deep = fasteners.sort_depths([depth] * count + [0.0] * (100 - count))
        return fasteners.overdriven(100, shallow, deep)

    assert add(20, 3 / 32 * INCH).add == 0
    assert add(21, 3 / 32 * INCH).add == 11
    assert add(1, 5 / 32 * INCH).add == 1
    assert add(100, 1 / 16 * INCH).add == 0
    assert add(21, 3 / 32 * INCH).staples == 33
    assert add(20, 1 / 8 * INCH).add == 0  # 1/8 in itself is still allowed


def test_overdriven_is_flagged_for_an_engineer():
    # Source: same rule: spacing already 4 in or less, or panel not dry (16 %): ask an engineer
    # Tolerance: none, yes or no
    assert fasteners.overdriven(100, 21, 0, edge_spacing=4 * INCH).engineer
    assert not fasteners.overdriven(100, 21, 0, edge_spacing=6 * INCH).engineer
    assert not fasteners.overdriven(100, 20, 0, edge_spacing=4 * INCH).engineer
    assert fasteners.overdriven(100, 1, 0, moisture=0.16).engineer
    assert not fasteners.overdriven(100, 1, 0, moisture=0.15).engineer


def test_the_caution_defers_to_an_engineer_and_says_where_the_rule_was_seen():
    result = fasteners.overdriven(10, 0, 0)
    assert "engineer" in result.cautions[0].text
    assert result.cautions[0].evidence.mark is Mark.PUBLISHED
    assert "restated" in result.cautions[0].evidence.source
    assert fasteners.DEEP.evidence.source


def test_spots_to_seal():
    # Source: hand: 100 panels × 33 × 20 % = 660 if every head were open; 9 open heads a panel make 180
    # Tolerance: float rounding
    assert fasteners.open_spots(3300, 0.2) == pytest.approx(660)
    assert fasteners.open_spots(900, 0.2) == pytest.approx(180)


def test_seam_share():
    # Source: hand: a 4×8 panel has 12 ft of seam per 32 ft2 (.375 ft/ft2); 4-in band 12.5 %, 6 in 18.8 %, 9 in 28 %
    # Tolerance: printed rounding
    seam = fasteners.seam_per_area(8 * FOOT, 4 * FOOT)
    assert seam * FOOT == pytest.approx(0.375, rel=1e-12)
    for band, percent, half in ((4, 12.5, 0.05), (6, 18.8, 0.051), (9, 28, 0.5)):
        assert 100 * seam * band * INCH == pytest.approx(percent, abs=half)


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf, None])
def test_bad_schedules_and_panels(bad):
    for args in ((bad, 0.3, 0.4), (0.15, bad, 0.4), (0.15, 0.3, bad)):
        with pytest.raises(InputError):
            Schedule(*args)
    with pytest.raises(InputError):
        fasteners.across_supports(bad, 1.2, Schedule(0.15, 0.3, 0.6))
    with pytest.raises(InputError):
        fasteners.along_supports(2.4, bad, Schedule(0.15, 0.3, 0.6))


def test_bad_counts():
    with pytest.raises(InputError, match="no more overdriven"):
        fasteners.overdriven(10, 8, 3)
    with pytest.raises(InputError, match="whole number"):
        fasteners.overdriven(10, 1.5, 0)
    with pytest.raises(InputError, match=r"depths\[1\]"):
        fasteners.sort_depths([0.0, -0.001])
    with pytest.raises(InputError):
        fasteners.open_spots(100, 1.2)


@given(st.integers(1, 500), st.data())
def test_more_overdriven_never_asks_for_less(perimeter, data):
    shallow = data.draw(st.integers(0, perimeter - 1))
    few = fasteners.overdriven(perimeter, shallow, 0).add
    assert fasteners.overdriven(perimeter, shallow + 1, 0).add >= few
    assert fasteners.overdriven(perimeter, shallow, 1).add >= few


@given(st.floats(0.3, 3), st.floats(0.3, 3), st.floats(0.05, 0.3), st.floats(0.05, 0.3), st.floats(0.2, 0.7))
def test_no_nail_is_farther_apart_than_the_schedule(length, width, edge, field, supports):
    schedule = Schedule(edge, field, supports)
    across = fasteners.across_supports(length, width, schedule)
    assert across.total >= 2 * (width / edge + 1) - 1e-6
    assert 0 <= across.interior <= across.total
    closer = Schedule(edge / 2, field / 2, supports)
    assert fasteners.across_supports(length, width, closer).total >= across.total
    assert (
        fasteners.along_supports(length, width, closer).total
        >= fasteners.along_supports(length, width, schedule).total
    )
