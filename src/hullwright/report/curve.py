"""The curve: money against what is expected to leak, with the point taken and where the next money goes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from hullwright.report.faces import BASE
from hullwright.report.look import PAPER
from hullwright.report.svg import document, element, path, text, title


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """One point: money spent, ACH50 with its P10 and P90 [1/h], water [L]."""

    spent: float
    ach50: float
    low: float
    high: float
    water: float


def ticks(low: float, high: float, count: int = 5) -> list[float]:
    """Round numbers between two numbers.

    Examples
    --------
    >>> ticks(0, 1000)
    [0.0, 200.0, 400.0, 600.0, 800.0, 1000.0]
    """
    span = max(high - low, 1e-9)
    raw = span / count
    base = 10 ** math.floor(math.log10(raw))
    step = next(base * m for m in (1, 2, 2.5, 5, 10) if base * m >= raw * 0.999)
    first = math.ceil(low / step - 1e-9)
    return [round(float(k * step), 10) for k in range(first, math.floor(high / step + 1e-9) + 1)]


def curve(
    points: Sequence[CurvePoint],
    *,
    currency: str,
    taken: float | None = None,
    target: float | None = None,
    following: str = "",
) -> str:
    """Draw the curve.

    Parameters
    ----------
    points : sequence of CurvePoint
        By growing money.
    currency : str
    taken : float, optional
        Money of the plan at hand.
    target : float, optional
        ACH50 to reach [1/h].
    following : str
        Where the next money goes, in words.

    Returns
    -------
    str
        SVG document.
    """
    left, top, wide, high = 64.0, 40.0, 780.0, 330.0
    most = max(p.spent for p in points) or 1.0
    least = min(p.spent for p in points)
    worst = max([p.high for p in points] + ([target] if target else [])) * 1.05 or 1.0
    span = max(most - least, 1e-9)

    def at(spent: float, ach: float) -> tuple[float, float]:
        return left + (spent - least) / span * wide, top + high - ach / worst * high

    out: list[str] = []
    for value in ticks(0, worst):
        y = at(least, value)[1]
        out.append(element("path", d=path([(left, y), (left + wide, y)]), class_="grid"))
        out.append(text(f"{value:g}", left - 8, y + 4, font_size=11.0, text_anchor="end", class_="faint"))
    for value in ticks(least, most):
        x = at(value, 0)[0]
        out.append(element("path", d=path([(x, top + high), (x, top + high + 5)]), class_="axis"))
        out.append(
            text(f"{value:,.0f}", x, top + high + 19, font_size=11.0, text_anchor="middle", class_="faint")
        )
    band = [at(p.spent, p.high) for p in points] + [at(p.spent, p.low) for p in reversed(points)]
    out.append(
        element(
            "path",
            title("8 of 10 houses like this lie in the band"),
            d=path(band, closed=True),
            class_="band",
        )
    )
    out.append(element("path", d=path([at(p.spent, p.ach50) for p in points]), class_="curve"))
    out += [
        element(
            "circle",
            title(f"{p.spent:,.0f} {currency}: {p.ach50:.2f} ACH50, {p.water:.1f} L"),
            cx=at(p.spent, p.ach50)[0],
            cy=at(p.spent, p.ach50)[1],
            r=2.6,
            class_="dot",
        )
        for p in points
    ]
    if target:
        y = at(least, target)[1]
        out.append(element("path", d=path([(left, y), (left + wide, y)]), class_="target"))
        out.append(text(f"target {target:g}", left + wide, y - 5, font_size=11.0, text_anchor="end"))
    if taken is not None:
        near = min(points, key=lambda p: abs(p.spent - taken))
        x, y = at(taken, near.ach50)
        out.append(element("path", d=path([(x, top), (x, top + high)]), class_="taken"))
        out.append(element("circle", cx=x, cy=y, r=6.0, class_="here"))
        anchor = "start" if x < left + wide * 0.6 else "end"
        out.append(
            text(
                f"this plan: {taken:,.0f} {currency}",
                x + (10 if anchor == "start" else -10),
                top + 14,
                font_size=12.0,
                text_anchor=anchor,
                font_weight="600",
            )
        )
    out.append(text("air changes an hour at 50 Pa: middle, and 8 of 10 houses", left, 22, font_size=13.0))
    out.append(
        text(
            f"money for sealing [{currency}]", left + wide, top + high + 38, font_size=12.0, text_anchor="end"
        )
    )
    if following:
        out.append(text(f"next: {following}", left, top + high + 38, font_size=12.0))
    css = PAPER + BASE + (
        ".grid{stroke:var(--line);stroke-width:.6;fill:none}.axis{stroke:var(--faint);fill:none}"
        ".band{fill:#b3541e;fill-opacity:.16}.curve{stroke:#b3541e;stroke-width:2.4;fill:none}.dot{fill:#b3541e}"
        ".target{stroke:var(--ink);stroke-width:1.2;stroke-dasharray:7 4;fill:none}.taken{stroke:var(--ink);stroke-width:.8;stroke-dasharray:2 3;fill:none}"
        ".here{fill:var(--ground);stroke:var(--ink);stroke-width:2.4}"
    )  # fmt: skip
    return document(
        880,
        430,
        "".join(out),
        name="Money against leakage",
        style=css,
        description=f"{len(points)} best plans by budget",
    )
