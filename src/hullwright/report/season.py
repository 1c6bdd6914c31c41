"""What tightness is worth: heat lost through the leaks, and the air that fans must bring, against air changes at 50 Pa."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from hullwright.report.curve import ticks
from hullwright.report.faces import BASE
from hullwright.report.look import PAPER
from hullwright.report.svg import document, element, path, text, title

LEFT, WIDE, HIGH, TOP, BETWEEN = 74.0, 770.0, 190.0, 58.0, 56.0
CSS = (
    ".grid{stroke:var(--line);stroke-width:.6;fill:none}.axis{stroke:var(--faint);fill:none}"
    ".band{fill:#7a5c00;fill-opacity:.16}.heat{stroke:#7a5c00;stroke-width:2.4;fill:none}"
    ".leaks{stroke:#2f6f8f;stroke-width:2.2;stroke-dasharray:8 4;fill:none}.fans{stroke:var(--ink);stroke-width:2.2;fill:none}"
    ".mark{stroke:var(--ink);stroke-width:.9;stroke-dasharray:2 3;fill:none}.here{fill:var(--ground);stroke:var(--ink);stroke-width:2.2}"
)


@dataclass(frozen=True, slots=True)
class SeasonPoint:
    """One tightness: air changes at 50 Pa [1/h], heat lost [kWh] with its range, and two flows in the unit shown."""

    ach50: float
    heat: float
    low: float
    high: float
    leaks: float
    fans: float


def season(
    points: Sequence[SeasonPoint], marks: Sequence[tuple[str, SeasonPoint]], *, flow_unit: str, heading: str
) -> str:
    """Draw what tightness is worth.

    Parameters
    ----------
    points : sequence of SeasonPoint
        By growing air changes.
    marks : sequence of (words, SeasonPoint)
        The house as tested, and the tightness it is compared with.
    flow_unit : str
        Unit of the two flows, such as ``cfm``.
    heading : str

    Returns
    -------
    str
        SVG document.
    """
    far = max(p.ach50 for p in points)
    most_heat = max(p.high for p in points) * 1.05 or 1.0
    most_flow = max(max(p.leaks, p.fans) for p in points) * 1.1 or 1.0
    second = TOP + HIGH + BETWEEN

    def across(ach50: float) -> float:
        return LEFT + ach50 / far * WIDE

    def heat(value: float) -> float:
        return TOP + HIGH - value / most_heat * HIGH

    def flow(value: float) -> float:
        return second + HIGH - value / most_flow * HIGH

    out = [text(heading, 14, 22, font_size=14.0, font_weight="600")]
    out += _grid(
        TOP,
        most_heat,
        heat,
        "heat lost through the leaks in a season [kWh]; band: typical error of the models",
    )
    out += _grid(second, most_flow, flow, f"air in the mean of the season [{flow_unit}]")
    band = [(across(p.ach50), heat(p.high)) for p in points]
    band += [(across(p.ach50), heat(p.low)) for p in reversed(points)]
    out.append(element("path", d=path(band, closed=True), class_="band"))
    for name, place in (("heat", heat), ("leaks", flow), ("fans", flow)):
        line = [(across(p.ach50), place(getattr(p, name))) for p in points]
        out.append(element("path", d=path(line), class_=name))
    last = points[-1]
    for words, value in (("through the leaks", last.leaks), ("fans must bring", last.fans)):
        out.append(text(words, across(far) - 6, flow(value) - 6, font_size=11.5, text_anchor="end"))
    for words, p in marks:
        x = across(p.ach50)
        anchor, shift = ("start", 6.0) if x < LEFT + WIDE * 0.7 else ("end", -6.0)
        out.append(element("path", d=path([(x, TOP), (x, second + HIGH)]), class_="mark"))
        for y in (heat(p.heat), flow(p.leaks), flow(p.fans)):
            said = title(f"{words}: {p.ach50:.2f} ACH50, {p.heat:,.0f} kWh")
            out.append(element("circle", said, cx=x, cy=y, r=5.0, class_="here"))
        out.append(
            text(
                f"{words}: {p.ach50:.2f}, {p.heat:,.0f} kWh",
                x + shift,
                TOP + 14,
                font_size=12.0,
                text_anchor=anchor,
                font_weight="600",
            )
        )
    floor = second + HIGH
    for value in ticks(0, far):
        x = across(value)
        out.append(element("path", d=path([(x, floor), (x, floor + 5)]), class_="axis"))
        out.append(text(f"{value:g}", x, floor + 19, font_size=11.0, text_anchor="middle", class_="faint"))
    out.append(
        text("air changes an hour at 50 Pa", LEFT + WIDE, floor + 36, font_size=12.0, text_anchor="end")
    )
    return document(
        880,
        floor + 48,
        "".join(out),
        name="What tightness is worth",
        style=PAPER + BASE + CSS,
        description="; ".join(
            f"{words}: {p.ach50:.2f} ACH50, {p.heat:,.0f} kWh a season" for words, p in marks
        ),
    )


def _grid(top: float, most: float, place: Callable[[float], float], words: str) -> list[str]:
    out = [text(words, LEFT, top - 8, font_size=12.0)]
    for value in ticks(0, most, 4):
        y = place(value)
        out.append(element("path", d=path([(LEFT, y), (LEFT + WIDE, y)]), class_="grid"))
        out.append(text(f"{value:,.0f}", LEFT - 8, y + 4, font_size=11.0, text_anchor="end", class_="faint"))
    return out
