"""Packs, the order at P50 and P90, the over-application table, columns."""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hullwright.errors import InputError
from hullwright.material import columns, draws, packs, small, tape
from hullwright.material.draws import LIQUID_SPREAD, TAPE_SPREAD, Quantity, Simulation, Spread
from hullwright.material.film import Gap, Line, Liquid
from hullwright.material.order import Item, order
from hullwright.material.over import LiquidRuns, SheetLiquid, over_application
from hullwright.material.small import Work
from hullwright.units import FLUID_OUNCE, FOOT, INCH, MIL

CERTAIN = Spread(1.0, 1.0, 1.0, 1.0)


def sausage(**changes: object) -> Item:
    base = Item("sausage", "l", 0.6, 6.2, 14.0, LIQUID_SPREAD, waste=0.1, crew_days=3, cures_in_pack=True)
    return replace(base, **changes)


def test_half_a_pack_each_evening():
    # Source: hand: 6.2 L in 0.6 L packs is 10.33; 3 crew-days lose 1.5; 11.83 -> 12 packs; left 12·.6 − 6.2 − .9 = 0.1 L
    # Tolerance: float rounding
    result = order([sausage()], Work(), hours=20.0, currency="USD")
    line = result.lines[0]
    assert (line.packs, line.money) == (12, 168.0)
    assert line.left_over == pytest.approx(0.1)
    assert line.lost == pytest.approx(0.9)
    assert order([sausage(cures_in_pack=False)], Work(), hours=0, currency="USD").lines[0].packs == 11


def test_a_product_that_is_not_used_loses_nothing():
    line = order([sausage(use=0.0)], Work(), hours=0, currency="USD").lines[0]
    assert (line.packs, line.p50, line.p90, line.left_over) == (0, 0, 0, 0.0)


def test_stock_is_used_first():
    # Source: hand: 12 packs needed, 5 at hand: 7 to buy; 20 at hand: none
    # Tolerance: whole packs
    line = order([sausage(stock=5)], Work(), hours=0, currency="USD").lines[0]
    assert (line.packs, line.from_stock, line.money) == (7, 5, 98.0)
    assert line.left_over == pytest.approx(0.1)
    none = order([sausage()], Work(), hours=0, currency="USD")
    assert (line.p50, line.p90) == (none.lines[0].p50 - 5, none.lines[0].p90 - 5)
    some = order([sausage(stock=5)], Work(), hours=0, currency="USD")
    assert (some.money_p50, some.money_p90) == (none.money_p50 - 5 * 14, none.money_p90 - 5 * 14)
    assert (none.money_p50, none.money_p90) == (14 * none.lines[0].p50, 14 * none.lines[0].p90)
    plenty = order([sausage(stock=20)], Work(), hours=0, currency="USD").lines[0]
    assert (plenty.packs, plenty.from_stock, plenty.p90, plenty.money) == (0, 12, 0, 0.0)


def test_quantiles_are_those_of_the_log_normal():
    # Source: closed form: with length, width and thickness only, ln(use) is normal with s² = Σ ln²GSD and mean −s²/2;
    # quantile q is mean·exp(z_q·s − s²/2)
    # Tolerance: 1 % at 200 000 draws (Monte Carlo)
    spread = Spread(1.03, 1.10, 1.20, 1.0)
    s = math.sqrt(sum(math.log(g) ** 2 for g in (1.03, 1.10, 1.20)))
    uses = draws.draw_uses([Quantity("x", 100.0, 0.0, 0.0, 0.0, spread)], Simulation(200_000))[:, 0]
    assert uses.mean() == pytest.approx(100, rel=0.01)
    for q in (0.5, 0.9):
        expected = 100 * math.exp(NormalDist().inv_cdf(q) * s - s * s / 2)
        assert np.quantile(uses, q) == pytest.approx(expected, rel=0.01)


def test_waste_and_evenings_keep_their_means():
    # Source: means add up: 50 packs of which 20 % lost, and 4 packs over 8 evenings
    # Tolerance: 0.5 % at 200 000 draws
    quantity = Quantity("x", 50.0, 0.2, 4.0, 8.0, LIQUID_SPREAD)
    uses = draws.draw_uses([quantity], Simulation(200_000))[:, 0]
    assert uses.mean() == pytest.approx(54.0, rel=0.005)
    many = Quantity("x", 0.0, 0.0, 50.0, 100.0, CERTAIN)
    evenings = draws.draw_uses([many], Simulation(100_000))[:, 0]
    # Source: sum of 100 uniforms: mean 50, sd sqrt(100/12) = 2.887
    assert evenings.mean() == pytest.approx(50, abs=0.05)
    assert evenings.std() == pytest.approx(2.887, rel=0.01)
    few = draws.draw_uses([replace(many, lost=2.0, crew_days=4.0)], Simulation(100_000))[:, 0]
    assert few.std() == pytest.approx(math.sqrt(4 / 12), rel=0.01)


def test_one_crew_has_one_habit():
    # Source: closed form: thickness is shared, so two liquids with no other spread move together
    # Tolerance: float rounding
    spread = Spread(1.0, 1.0, 1.2, 1.0)
    uses = draws.draw_uses([Quantity(p, 10.0, 0.0, 0.0, 0.0, spread) for p in "ab"], Simulation(1000))
    assert uses[:, 0] == pytest.approx(uses[:, 1])
    own = draws.draw_uses([Quantity(p, 10.0, 0.0, 0.0, 0.0, TAPE_SPREAD) for p in "ab"], Simulation(1000))
    assert abs(np.corrcoef(own.T)[0, 1]) < 0.15


def test_a_certain_quantity_has_one_answer():
    line = order([sausage(spread=CERTAIN, cures_in_pack=False)], Work(), hours=0, currency="USD").lines[0]
    assert (line.packs, line.p50, line.p90) == (11, 11, 11)


def test_p90_is_what_nine_in_ten_need():
    item = sausage(use=62.0, cures_in_pack=False)
    line = order([item], Work(), hours=0, currency="USD").lines[0]
    uses = draws.draw_uses([Quantity("sausage", 62 / 0.6, 0.1, 0.0, 3, LIQUID_SPREAD)], Simulation())[:, 0]
    assert np.mean(uses <= line.p90) >= 0.9
    assert np.mean(uses <= line.p90 - 1) < 0.9
    assert line.p50 < line.p90


def test_order_of_products_changes_nothing():
    others = [
        sausage(),
        sausage(product="tape", unit="m", pack_size=30.0, use=200.0),
        sausage(product="a", use=2.0),
    ]
    one = order(others, Work(), hours=0, currency="USD")
    assert one == order(others[::-1], Work(), hours=0, currency="USD")
    alone = order([sausage()], Work(), hours=0, currency="USD").lines[0]
    assert alone in one.lines
    assert one.money_p50 <= one.money_p90


def test_order_on_p90():
    line = order([sausage()], Work(), hours=0, currency="USD", basis="p90").lines[0]
    assert line.packs == line.p90
    assert line.left_over > order([sausage()], Work(), hours=0, currency="USD").lines[0].left_over


def test_order_object():
    result = order([sausage()], Work(tubes=12, liquid_days=3, people=2), hours=20.0, currency="USD").to_json()
    assert {"schema", "cautions", "currency", "lines", "hours"} <= set(result)
    assert {"product", "packs", "pack_size", "p50", "p90", "left_over", "money"} <= set(result["lines"][0])
    assert result["hours"] == 20.0
    assert all(item["rate"]["evidence"]["mark"] == "estimate" for item in result["consumables"])
    assert any("P50 and P90" in caution["text"] for caution in result["cautions"])


def test_an_empty_order_costs_nothing():
    result = order([], Work(), hours=0, currency="USD")
    assert (result.lines, result.money, result.money_p90) == ((), 0, 0.0)


def test_bad_orders():
    with pytest.raises(InputError, match="each product once"):
        order([sausage(), sausage()], Work(), hours=0, currency="USD")
    with pytest.raises(InputError, match="hours"):
        order([], Work(), hours=math.nan, currency="USD")
    with pytest.raises(InputError, match="basis"):
        order([], Work(), hours=0, currency="USD", basis="p95")
    for key, bad in (
        ("pack_size", 0.0), ("use", -1.0), ("use", math.nan), ("price", -1.0), ("waste", 1.0), ("crew_days", -1.0),
        ("stock", -1), ("stock", 1.5), ("unit", "kg"),
    ):  # fmt: skip
        with pytest.raises(InputError, match=key):
            sausage(**{key: bad})
    with pytest.raises(InputError, match="1 \\(certain\\) or more"):
        Spread(0.9, 1.0, 1.0, 1.0)
    with pytest.raises(InputError, match="draws"):
        Simulation(10)
    with pytest.raises(InputError, match="per_day"):
        packs.evening_loss(1, cures_in_pack=True, per_day=1.5)


def test_consumables():
    # Source: hand, at the starting rates: 12 tubes 12 nozzles; 1.5 days: 2 spreaders, 15 rags; (1.5 + 2)·2 people·2 = 14 pairs
    # Tolerance: whole pieces
    work = Work(tubes=12, liquid_days=1.5, tape_days=2, tape_crews=1, people=2)
    found = {item.name: item.count for item in small.consumables(work)}
    assert found == {"nozzle": 12, "spreader": 2, "rag": 15, "tape roller": 1, "gloves, pair": 14}
    coat = {item.name: item.count for item in small.consumables(Work(coat_days=1.5))}
    assert coat == {"paint roller sleeve": 3, "gloves, pair": 3}
    assert small.consumables(Work()) == []
    with pytest.raises(InputError, match="tubes"):
        Work(tubes=-1)


@settings(max_examples=40)
@given(st.floats(0, 500), st.floats(0, 500), st.floats(0, 0.5))
def test_packs_never_fall_when_use_grows(a, b, waste):
    less, more = sorted((a, b))
    assert packs.whole_packs(less) <= packs.whole_packs(more)
    one = order(
        [sausage(use=less, waste=waste)], Work(), hours=0, currency="USD", simulation=Simulation(200)
    ).lines[0]
    other = order(
        [sausage(use=more, waste=waste)], Work(), hours=0, currency="USD", simulation=Simulation(200)
    ).lines[0]
    assert (one.packs, one.p50, one.p90) <= (other.packs, other.p50, other.p90)
    assert one.p50 <= other.p50
    assert one.p90 <= other.p90
    assert -1e-6 <= one.left_over < 0.6 + 1e-6


@given(st.floats(0, 1e6))
def test_whole_packs_hold_the_use(use):
    count = packs.whole_packs(use)
    assert use - 1e-5 <= count < use + 1


# --- over-application


def house(**changes: object) -> LiquidRuns:
    base = LiquidRuns([100.0, 60.0, 40.0], 2.25 * INCH, Gap(INCH / 8, INCH / 4).section)
    return replace(base, **changes)


SHEET = SheetLiquid("sausage", 15 * MIL, Liquid(0.97, waste=0.1), 600e-6, 14.0)


def test_wider_and_thicker_than_the_sheet():
    # Source: hand: 3.75/2.25 and 22/15: 67 % and 47 % more film; savings 40.0 %, 31.8 %, both 59.1 % before gap fill
    # Tolerance: printed rounding
    grid = over_application(
        house(), SHEET, extra_widths=[0, 1.5 * INCH], drys=[15 * MIL, 22 * MIL], currency="USD"
    )
    assert 100 * grid.more_film[1, 0] == pytest.approx(67, abs=0.5)
    assert 100 * grid.more_film[0, 1] == pytest.approx(47, abs=0.5)
    saved = 100 * grid.saving_film
    assert [saved[1, 0], saved[0, 1], saved[1, 1]] == pytest.approx([40.0, 31.8, 59.1], abs=0.05)
    assert (grid.saving[1:, :] < grid.saving_film[1:, :]).all()


def test_the_table_by_hand():
    # Source: hand: 200 m × (57.15 mm × 381 µm ÷ .97 + 3.175 × 6.35 mm²) ÷ .9: film 4.9883 L, gap 4.4803 L, 15.8 packs -> 16
    # Tolerance: printed rounding
    grid = over_application(house(), SHEET, extra_widths=[0], drys=[15 * MIL], currency="USD")
    assert grid.film[0, 0] * 1e3 == pytest.approx(4.9883, abs=5e-4)
    assert grid.gap * 1e3 == pytest.approx(4.4803, abs=5e-4)
    assert (grid.packs[0, 0], grid.sheet_packs, grid.money[0, 0]) == (16, 16, 224.0)
    line = Line(2.25 * INCH, 15 * MIL, SHEET.liquid, Gap(INCH / 8, INCH / 4))
    assert grid.film[0, 0] + grid.gap == pytest.approx(200 * line.bought)


def test_over_object_has_a_cell_per_width_and_film():
    grid = over_application(
        house(), SHEET, extra_widths=[0, 0.02], drys=[15 * MIL, 22 * MIL, 30 * MIL], currency="USD"
    )
    out = grid.to_json()
    assert len(out["cells"]) == 6
    assert out["cells"][0]["more"] == pytest.approx(0)
    # Source: hand: last cell 77.15 mm × 762 µm: 200·(.07715·.000762/.97 + 2.0161e-5)/.9 = 17.948 L, 29.9 -> 30 packs, 420;
    # film by the sheet 4.9883 L, gap 4.4803 L: 170.0 % more film, 89.6 % more in all, saving 47.2 %
    # Tolerance: printed rounding
    last = out["cells"][5]
    assert (last["extra_width_mm"], last["dry_um"]) == (pytest.approx(20), pytest.approx(762))
    assert last["volume_l"] == pytest.approx(17.948, abs=5e-3)
    assert (last["packs"], last["money"]) == (30, 420.0)
    assert 100 * last["more_film"] == pytest.approx(170.0, abs=0.05)
    assert 100 * last["more"] == pytest.approx(89.6, abs=0.06)
    assert 100 * last["saving"] == pytest.approx(47.2, abs=0.06)
    assert out["sheet"] == {
        "widths_mm": [pytest.approx(57.15)],
        "dry_um": pytest.approx(381),
        "packs": 16,
        "money": 224.0,
    }
    assert out["gap_l"] == pytest.approx(4.4803, abs=5e-4)
    assert "mock-up" in str(out["cautions"])


def test_bad_tables():
    with pytest.raises(InputError, match="some length"):
        over_application(house(lengths=[0.0]), SHEET, extra_widths=[0], drys=[1e-4], currency="USD")
    with pytest.raises(InputError, match=r"lengths\[1\]"):
        over_application(house(lengths=[1.0, math.nan]), SHEET, extra_widths=[0], drys=[1e-4], currency="USD")
    with pytest.raises(InputError, match="one length"):
        over_application(house(widths=[0.1, 0.1]), SHEET, extra_widths=[0], drys=[1e-4], currency="USD")
    with pytest.raises(InputError, match="drys"):
        over_application(house(), SHEET, extra_widths=[-0.01], drys=[0.0], currency="USD")
    with pytest.raises(InputError, match="pack"):
        replace(SHEET, pack=0.0)


# --- columns


@given(
    st.lists(
        st.tuples(st.floats(0, 50), st.floats(0.02, 0.3), st.floats(1e-4, 1e-3), st.floats(0, 1e-4)),
        min_size=1,
        max_size=8,
    )
)
def test_columns_agree_with_one_by_one(rows):
    liquid = Liquid(0.6, thinned=0.05, waste=0.1)
    length, width, dry, gap = (list(c) for c in zip(*rows, strict=True))
    found = columns.line_volumes(length, width, dry, liquid, gap_sections=gap)
    for i, row in enumerate(rows):
        section = row[1] * Line(row[1], row[2], liquid).wet + row[3]
        assert found[i] == pytest.approx(row[0] * section * liquid.bought_per_laid, rel=1e-9)


@given(st.lists(st.tuples(st.floats(0, 80), st.integers(0, 2)), min_size=1, max_size=8))
def test_tape_columns_agree_with_one_by_one(rows):
    laying = tape.Laying(3.0, 0.05)
    found = columns.tape_lengths([r[0] for r in rows], laying, t_joints=[r[1] for r in rows])
    for i, (length, ends) in enumerate(rows):
        assert found[i] == pytest.approx(tape.run_tape(length, laying, t_joints=ends).length, abs=1e-9)


def test_pieces_in_columns_by_hand():
    # Source: hand: 10 pieces of 0.05 m2 at 300 µm ÷ .6 and 10 mL of fillet, 10 % waste: 10·(25 + 10)/.9 = 388.9 mL; 0.5·10 none
    # Tolerance: printed rounding
    found = columns.cover_volumes([0.05, 0.5], [1e-5, 0.0], [10, 0], 300e-6, Liquid(0.6, waste=0.1))
    assert found * 1e6 == pytest.approx([388.9, 0.0], abs=0.05)


def test_us_and_metric_are_the_same_sum():
    # Source: exact definitions: 4 in = 101.6 mm, 20 mil = 508 µm, 20 fl oz = 591.47 mL
    # Tolerance: float rounding
    us = Line(4 * INCH, 20 * MIL, Liquid(1.0)).length_per(20 * FLUID_OUNCE) / FOOT
    metric = Line(0.1016, 508e-6, Liquid(1.0)).length_per(591.470591e-6) / 0.3048
    assert us == pytest.approx(metric, rel=1e-8)


def test_bad_columns_name_their_row():
    with pytest.raises(InputError, match=r"widths\[1\]"):
        columns.line_volumes([1.0, 2.0], [0.1, 0.0], 1e-4, Liquid(1.0))
    with pytest.raises(InputError, match="numbers only"):
        columns.tape_lengths(["long"], tape.Laying())
    with pytest.raises(InputError, match="one length"):
        columns.cover_volumes([1.0, 2.0], [0.0, 0.0, 0.0], 1.0, 1e-4, Liquid(1.0))
    with pytest.raises(InputError, match="use"):
        columns.whole([math.inf])
