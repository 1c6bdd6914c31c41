"""All film lots at a glance: readings, best estimate and proved film against the least film."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from hullwright.report.chart import STYLE, Frame, sheet
from hullwright.report.svg import document, element, path, text, title
from hullwright.units import MIL, Show

LEFT: Final = 240.0
WIDE: Final = 410.0
TOP: Final = 66.0
ROW: Final = 58.0


@dataclass(frozen=True, slots=True)
class LotRow:
    """One lot.

    Parameters
    ----------
    head, place : str
        Method and crew; day and surface.
    readings : tuple of (float, float)
        Wet film between [m]; the upper end may be infinite.
    mean, bound : float or None
        Best estimate and proved film [m].
    least : float
        Least wet film [m].
    answer, sentence : str
    """

    head: str
    place: str
    readings: tuple[tuple[float, float], ...]
    mean: float | None
    bound: float | None
    least: float
    answer: str
    sentence: str


def lots_plot(rows: Sequence[LotRow], show: Show, *, name: str) -> str:
    """Draw the lots.

    Parameters
    ----------
    rows : sequence of LotRow
    show : Show
    name : str
        House or table.

    Returns
    -------
    str
        SVG document.

    Examples
    --------
    >>> row = LotRow("liquid, B", "wood panel", ((4e-4, 4.5e-4),), 4.2e-4, None, 3.2e-4, "not yet", "not yet: 9 more readings")
    >>> "not yet" in lots_plot([row], Show("metric"), name="house")
    True
    """
    unit, film = (MIL, "mil") if show.us else (1e-6, "µm")
    ends = [high if math.isfinite(high) else low * 1.1 for row in rows for low, high in row.readings]
    most = max([*ends, *(row.least * 1.5 for row in rows)], default=5e-4) * 1.05
    high = ROW * max(1, len(rows))
    frame = Frame(LEFT, TOP, WIDE, high, 0.0, most / unit, 0.0, 1.0)
    proved = sum(row.answer == "proved" for row in rows)
    out = [
        text(f"Film lots of {name}", 24, 26, class_="head"),
        text(f"{proved} of {len(rows)} proved", 24, 46),
    ]
    out += [_row(frame, row, TOP + ROW * number, unit, show) for number, row in enumerate(rows)]
    out += [
        frame.edge(),
        frame.x_ticks(6),
        text(f"wet film, {film}", LEFT + WIDE, TOP + high + 36, class_="faint", text_anchor="end"),
    ]
    out.append(_key(TOP + high + 60))
    return document(900, TOP + high + 78, sheet(900.0, TOP + high + 78) + "".join(out), name=f"Film lots of {name}", style=STYLE, description=f"{proved} of {len(rows)} lots proved")  # fmt: skip


def _row(frame: Frame, row: LotRow, top: float, unit: float, show: Show) -> str:
    middle, least = top + ROW / 2, frame.x(row.least / unit)
    out = [element("path", d=path([(24, top), (876, top)]), class_="grid")]
    out += [
        text(row.head, 24, middle - 4, class_="strong"),
        text(row.place if len(row.place) <= 38 else row.place[:37] + "…", 24, middle + 13, class_="faint"),
    ]
    out.append(
        element("rect", x=frame.left, y=top + 3, width=least - frame.left, height=ROW - 6, class_="below")
    )
    for number, (low, high) in enumerate(row.readings):
        y = top + 9 + (ROW - 18) * (number + 0.5) / len(row.readings)
        end = frame.left + frame.wide if math.isinf(high) else frame.x(high / unit)
        kind = "good" if low >= row.least * (1 - 1e-9) else ("poor" if high < row.least else "mark")
        out.append(
            element(
                "path",
                title(f"{show.film(low)} and up"),
                d=path([(frame.x(low / unit), y), (end, y)]),
                class_=kind,
                stroke_width=1.6,
            )
        )
    out.append(
        element(
            "path",
            title(f"least {show.film(row.least)}"),
            d=path([(least, top + 3), (least, top + ROW - 3)]),
            class_="least",
        )
    )
    if row.mean is not None:
        x = frame.x(row.mean / unit)
        out.append(
            element(
                "circle", title(f"best estimate {show.film(row.mean)}"), cx=x, cy=middle, r=5.0, class_="open"
            )
        )
    if row.bound is not None:
        x = frame.x(row.bound / unit)
        kind = "pass" if row.answer == "proved" else "fail"
        shape = [(x, middle - 8), (x + 8, middle), (x, middle + 8), (x - 8, middle)]
        out.append(
            element(
                "path",
                title(f"proved {show.film(max(row.bound, 0.0))}"),
                d=path(shape, closed=True),
                class_=kind,
            )
        )
    words = row.sentence if len(row.sentence) <= 29 else row.sentence[:28] + "…"
    mark = {"proved": "✓ ", "thin": "✗ "}.get(row.answer, "… ")
    out.append(text(mark + words, frame.left + frame.wide + 14, middle + 4, class_="strong small"))
    return "".join(out)


def _key(y: float) -> str:
    out = [
        element("path", d=path([(24, y - 4), (46, y - 4)]), class_="good", stroke_width=1.6),
        text("a reading", 52, y, class_="small"),
    ]
    out += [
        element("circle", cx=130.0, cy=y - 4, r=5.0, class_="open"),
        text("best estimate", 140, y, class_="small"),
    ]
    shape = [(240.0, y - 11), (247.0, y - 4), (240.0, y + 3), (233.0, y - 4)]
    out += [
        element("path", d=path(shape, closed=True), class_="pass"),
        text("film proved for the asked share and confidence", 252, y, class_="small"),
    ]
    out += [
        element("path", d=path([(540, y - 12), (540, y + 3)]), class_="least"),
        text("least film", 548, y, class_="small"),
    ]
    return "".join(out)
