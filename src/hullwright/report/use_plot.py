"""Use against plan: packs used as the work grows, the plan's line, and packs to finish with P50 and P90."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from hullwright.report.chart import STYLE, Frame, sheet
from hullwright.report.svg import document, element, path, text, title
from hullwright.units import FOOT, Show

PANEL: Final = 380.0


@dataclass(frozen=True, slots=True)
class UsePanel:
    """One product in one method.

    Parameters
    ----------
    name : str
        Product × method.
    days : tuple of (str, float, float)
        Day, length done so far [m], packs so far (cured ones counted).
    plan : float
        Length a pack should do [m].
    left : float
        Length still to do [m]; 0 where nothing was said.
    finish : tuple of (float, float) or None
        Further packs with P50 and P90.
    stock : float or None
        Unopened packs on site.
    sentence : str
        The answer in words.
    """

    name: str
    days: tuple[tuple[str, float, float], ...]
    plan: float
    left: float
    finish: tuple[float, float] | None
    stock: float | None
    sentence: str


def use_plot(panels: Sequence[UsePanel], show: Show, *, name: str) -> str:
    """Draw use against plan.

    Parameters
    ----------
    panels : sequence of UsePanel
    show : Show
    name : str
        House.

    Returns
    -------
    str
        SVG document.

    Examples
    --------
    >>> panel = UsePanel("P × liquid", (("2024-05-03", 60.0, 10.0),), 8.0, 60.0, (11.0, 14.0), 6.0, "11 packs")
    >>> "P90 14" in use_plot([panel], Show("metric"), name="house")
    True
    """
    out = [text(f"Use against plan, {name}", 24, 26, class_="head")]
    out += [_panel(panel, 40.0 + PANEL * number, show) for number, panel in enumerate(panels)]
    if not panels:
        out.append(text("nothing was logged as used yet", 24, 60))
    deep = 50.0 + PANEL * max(len(panels), 0.2)
    return document(
        860,
        deep,
        sheet(860.0, deep) + "".join(out),
        name=f"Use against plan, {name}",
        style=STYLE,
        description="; ".join(p.sentence for p in panels),
    )


def _panel(panel: UsePanel, top: float, show: Show) -> str:
    run, mark = (FOOT, "ft") if show.us else (1.0, "m")
    done = panel.days[-1][1] if panel.days else 0.0
    used = panel.days[-1][2] if panel.days else 0.0
    total = max(done + panel.left, 1e-6)
    tops = [
        used,
        total / panel.plan,
        used + (panel.finish[1] if panel.finish else 0.0),
        used + (panel.stock or 0.0),
    ]
    frame = Frame(70.0, top + 62, 560.0, PANEL - 128, 0.0, total / run * 1.02, 0.0, max(*tops, 1.0) * 1.08)
    out = [
        text(panel.name, 24, top + 14, class_="strong"),
        text(panel.sentence, 24, top + 32),
        frame.y_ticks(),
    ]
    line = [(0.0, 0.0), *((length, packs) for _, length, packs in panel.days)]
    ends: list[tuple[float, str]] = [(total / panel.plan, "by the plan")]
    out.append(
        element(
            "path",
            d=path([_at(frame, p, run) for p in ((0.0, 0.0), (total, total / panel.plan))]),
            class_="plan",
        )
    )
    if panel.finish:
        fan = [(done, used), (total, used + panel.finish[1]), (total, used + panel.finish[0])]
        out.append(
            element("path", d=path([_at(frame, p, run) for p in fan], closed=True), class_="good-fill")
        )
        out.append(
            element(
                "path",
                d=path([_at(frame, p, run) for p in (fan[0], fan[2])]),
                class_="good",
                stroke_dasharray="3 3",
            )
        )
        ends += [
            (used + packs, f"{name} {packs:.0f} more")
            for packs, name in zip(panel.finish, ("P50", "P90"), strict=True)
        ]
    if panel.stock is not None:
        out.append(frame.across(used + panel.stock, "limit"))
        ends.append((used + panel.stock, f"in hand: {panel.stock:g} packs"))
    out.append(element("path", d=path([_at(frame, p, run) for p in line]), class_="good"))
    for day, length, packs in panel.days:
        x, y = _at(frame, (length, packs), run)
        out.append(
            element(
                "circle",
                title(f"{day}: {packs:.1f} packs, {show.run_length(length)}"),
                cx=x,
                cy=y,
                r=4.0,
                class_="good-dot",
            )
        )
    out += [_labels(frame, ends), frame.edge(), frame.x_ticks(7), text("packs", 24, top + 54, class_="faint")]
    out.append(
        text(f"length sealed, {mark}", 630, frame.top + frame.high + 34, class_="faint", text_anchor="end")
    )
    return "".join(out)


def _at(frame: Frame, point: tuple[float, float], run: float) -> tuple[float, float]:
    return frame.x(point[0] / run), frame.y(point[1])


def _labels(frame: Frame, ends: Sequence[tuple[float, str]]) -> str:
    """Words at the right edge, pushed apart where they would meet."""
    out, last = [], float("inf")
    for value, words in sorted(ends):
        y = min(frame.y(value) + 4, last - 15)
        out.append(text(words, frame.left + frame.wide + 10, y, class_="small"))
        last = y
    return "".join(out)
