"""The page of a plan: the answer first, then why, then the numbers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

from hullwright.app.plan import Ordered, Planned
from hullwright.app.words import answer_words, proof_words, unit_words
from hullwright.choice.plan import RunPlan
from hullwright.report.faces import pieces_words
from hullwright.report.page import Listing, Page, Picture, Sum, page
from hullwright.units import Show


def by_kind(planned: Planned) -> list[tuple[str, str, float, float, float, float, bool]]:
    """Kind, method, quantity, money, hours, leakage, counted in pieces: the plan in its shortest form, dearest first."""
    sums: defaultdict[tuple[str, str, bool], list[float]] = defaultdict(lambda: [0.0, 0.0, 0.0, 0.0])
    for run in planned.plan.runs:
        row = sums[run.kind, planned.catalog.methods[run.method].name, run.piece]
        for k, value in enumerate((run.quantity, run.money, run.hours, run.air_cm2)):
            row[k] += value
    rows = [
        (kind, method, q, money, hours, air, piece)
        for (kind, method, piece), (q, money, hours, air) in sums.items()
    ]
    return sorted(rows, key=lambda row: (-row[3], row[0], row[1]))


def quantity(show: Show, amount: float, *, piece: bool) -> str:
    """Pieces or length as the reader has it."""
    if piece:
        return pieces_words(amount)
    return show.run_length(amount)


def kind_rows(planned: Planned) -> list[list[str]]:
    """Rows of the short form; whole-face coats stand in rows of their own, the joints they cover at no money."""
    show, money = Show(planned.house.building.system), planned.plan.currency
    rows = [
        [
            kind,
            method,
            quantity(show, q, piece=piece),
            f"{spent:,.0f} {money}",
            f"{hours:,.1f} h",
            show.hole(air * 1e-4),
        ]
        for kind, method, q, spent, hours, air, piece in by_kind(planned)
    ]
    return [*coat_rows(planned), *rows]


def coat_rows(planned: Planned) -> list[list[str]]:
    """One row a coated face."""
    show, hull = Show(planned.house.building.system), planned.house.hull
    return [
        [
            f"whole face {coat.face}",
            f"coat: {planned.catalog.called(coat.product)}",
            show.area(hull.faces[hull.number(coat.face)].net_area),
            f"{coat.money:,.0f} {planned.plan.currency}",
            f"{coat.hours:,.1f} h",
            "with the joints",
        ]
        for coat in sorted(planned.plan.coats, key=lambda coat: (-coat.money, coat.face))
    ]


KIND_HEADS = ("joint", "method", "how much", "money", "hours", "expected leak")


def order_lines(ordered: Ordered) -> list[list[str]]:
    """Rows of the order as a person reads them."""
    catalog, show = ordered.planned.catalog, Show(ordered.planned.house.building.system)
    return [
        [
            catalog.called(line.product), str(line.packs), _size(show, line.unit, line.pack_size), str(line.p50), str(line.p90),
            _size(show, line.unit, max(line.left_over, 0.0)), f"{line.money:,.0f} {ordered.order.currency}",
        ]
        for line in ordered.order.lines
    ]  # fmt: skip


def _size(show: Show, unit: str, size: float) -> str:
    """Content of a pack in the reader's units; liquids come in litres."""
    if unit == "l":
        return show.liquid(size * 1e-3)
    return show.run_length(size) if unit == "m" else f"{size:.0f}"


ORDER_WORDS = ("product", "packs", "pack", "enough in 50 of 100", "enough in 90 of 100", "left over", "money")


def over_lines(ordered: Ordered) -> list[list[str]]:
    """Rows of the over-application table."""
    show = Show(ordered.planned.house.building.system)
    rows: list[list[str]] = []
    for table in ordered.over:
        name = ordered.planned.catalog.called(table.product)
        for i, extra in enumerate(table.extra_widths):
            for k, dry in enumerate(table.drys):
                wider = "sheet's width" if extra == 0 else f"{show.size(float(extra))} wider"
                more = float(table.money[i, k]) - table.sheet_money
                rows.append(
                    [
                        name,
                        wider,
                        show.film(float(dry)),
                        f"{table.more_film[i, k]:+.0%}",
                        str(int(table.packs[i, k])),
                        f"{more:+,.0f} {table.currency}",
                    ]
                )
    return rows


OVER_HEADS = ("liquid", "width", "dry film", "more film", "packs", "more money")


def run_lines(planned: Planned) -> list[list[str]]:
    """One row a run, with the reason."""
    show = Show(planned.house.building.system)
    return [
        [run.face, run.kind, quantity(show, run.quantity, piece=run.piece), run.label, run.stage, _why(run)]
        for run in planned.plan.runs
    ]


def _why(run: RunPlan) -> str:
    return " ".join([run.why, *(f"Mind: {text}" for text in run.advice)])


def own_words(planned: Planned) -> list[str]:
    """Own products that are not used, or that a rule bars somewhere, each with what to state; then what stands in."""
    show, plan = Show(planned.house.building.system), planned.plan
    stand = [
        f"{pack.name} is in the plan where no product of yours may be used."
        for pack in plan.packs
        if pack.stand_in
    ]
    return [*(text for one in plan.mine for text in one.words(show)), *stand]


FILES = (
    ("joints.csv", "every joint (csv)"),
    ("joints.xlsx", "every joint and run (xlsx)"),
    ("order.csv", "order (csv)"),
    ("order.xlsx", "order (xlsx)"),
    ("unrolled.svg", "hull unrolled"),
    ("curve.svg", "curve"),
    ("hull.glb", "3D model (glTF)"),
    ("plan.json", "all of it (JSON)"),
)
"""Files beside the page, in words."""


def summary(planned: Planned, ordered: Ordered, flat: str, line: str, *, faces: Sequence[str] = ()) -> str:
    """Write the page.

    Parameters
    ----------
    planned : Planned
    ordered : Ordered
    flat : str
        SVG of the unrolled hull.
    line : str
        SVG of the curve, '' for none.
    faces : sequence of str
        Names of the elevations beside the page.
    """
    plan, building = planned.plan, planned.house.building
    show = Show(building.system)
    pictures = [
        Picture(
            "The hull unrolled",
            flat,
            "Every joint of the house once, by method. Touch or point at a line to read what it is.",
        )
    ]
    if line:
        pictures.append(Picture("Where the money goes", line, "The best plan for each amount of money."))
    met = [lap for lap in plan.laps if lap.verdict == "unknown"]
    listings = [
        Listing("Your own products", ("what to know",), [[text] for text in own_words(planned)]),
        Listing("What is done", KIND_HEADS, kind_rows(planned), (2, 3, 4, 5)),
        Listing(
            "What to buy",
            ORDER_WORDS,
            order_lines(ordered),
            (1, 2, 3, 4, 5, 6),
            "Small things with it: " + _small(ordered),
        ),
        Listing(
            "What wider and thicker than the sheet would cost, on lines (pieces not counted)",
            OVER_HEADS,
            over_lines(ordered),
            (3, 4, 5),
            folded=True,
        ),
        Listing(
            "Every run, with the reason",
            ("face", "joint", "how much", "how", "stage", "why"),
            run_lines(planned),
            (2,),
            folded=True,
        ),
        Listing(
            "Materials that meet and are not known to fit: patch test first",
            ("where", "what"),
            [[" / ".join(lap.runs), lap.text] for lap in met],
            folded=True,
        ),
    ]
    content = Page(
        title=building.name,
        answer=answer_words(planned),
        sums=[
            Sum("Money", f"{plan.spent:,.0f} {plan.currency}", proof_words(planned)),
            Sum("Hours", f"{plan.hours:,.0f} h", f"person-hours, crew of {building.crew.people}"),
            Sum(
                "Air changes at 50 Pa",
                f"{plan.ach50.p50:.2f}",
                f"{plan.ach50.p10:.2f} to {plan.ach50.p90:.2f} in 8 of 10",
            ),
            Sum(
                "Water while bare",
                show.water(plan.water_l.p50),
                f"{show.water(plan.water_l.p10)} to {show.water(plan.water_l.p90)}",
            ),
        ],
        pictures=pictures,
        listings=[item for item in listings if item.rows],
        dangers=[(caution.text, str(caution.evidence)) for caution in plan.cautions],
        assumed=planned.house.assumed,
        links=[*FILES, *((name, name.removeprefix("faces/").removesuffix(".svg")) for name in faces)],
        notes=[*plan.estimates, unit_words(planned)],
        made="Made by hullwright. Product sheet, local code and licensed practice rule over everything here.",
    )
    return page(content)


def _small(ordered: Ordered) -> str:
    return ", ".join(f"{item.count} × {item.name}" for item in ordered.order.small) or "none"
