"""Picture of a fan test: flow over pressure on two logarithmic scales, both directions, intervals, limits.

Nothing rests on colour alone: depressurization is a filled circle and an unbroken line, pressurization an open diamond
and a dashed one, a station that does not count a cross, a limit a dash-dotted line with its words beside it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from hullwright.fantest.analysis import TestResult
from hullwright.fantest.direction import Direction
from hullwright.fantest.limits import Against
from hullwright.fantest.raw import Sense
from hullwright.fantest.regress import t_quantile
from hullwright.fantest.scales import M3_H_PER_CFM
from hullwright.report.look import PAPER
from hullwright.report.svg import document, element, path, text, title

WIDTH: Final = 760.0
HEIGHT: Final = 560.0
LEFT: Final = 74.0
RIGHT: Final = 690.0
TOP: Final = 70.0
BOTTOM: Final = 440.0
# Light and dark through variables; each declaration stands first with the light value, for readers of SVG that know no
# variables (typesetters, office programs).
_LIGHT: Final = {
    "ground": "#fbfaf6",
    "ink": "#22282b",
    "line": "#c9c6ba",
    "deep": "#1f3a52",
    "warm": "#a8681c",
}
_RULES: Final = """
text{fill:@ink;font-size:13px}.small{font-size:11px}.head{font-size:17px;font-weight:600}
.frame{fill:none;stroke:@ink;stroke-width:1}.grid{stroke:@line;stroke-width:.7}.ground{fill:@ground}
.fit-d{fill:none;stroke:@deep;stroke-width:2}.fit-p{fill:none;stroke:@warm;stroke-width:2;stroke-dasharray:9 4}
.band-d{fill:@deep;fill-opacity:.16}.band-p{fill:@warm;fill-opacity:.24}
.total-d{fill:none;stroke:@deep;stroke-width:1;stroke-dasharray:1.5 3}.total-p{fill:none;stroke:@warm;stroke-width:1;stroke-dasharray:1.5 3}
.dot-d{fill:@deep;stroke:@ground;stroke-width:.8}.dot-p{fill:@ground;stroke:@warm;stroke-width:1.8}
.out-d{fill:none;stroke:@deep;stroke-width:1.8}.out-p{fill:none;stroke:@warm;stroke-width:1.8}
.bar-d{fill:none;stroke:@deep;stroke-width:1.6}.bar-p{fill:none;stroke:@warm;stroke-width:1.6}
.limit{stroke:@ink;stroke-width:1.5;stroke-dasharray:10 3 2 3;fill:none}
"""
_TONES: Final = (
    ":root{--deep:#1f3a52;--warm:#a8681c}"
    "@media (prefers-color-scheme:dark){:root{--deep:#a9cbe6;--warm:#e3b063}}"
)
_STYLE: Final = (
    PAPER
    + _TONES
    + re.sub(
        r"(fill|stroke):@(\w+)",
        lambda m: f"{m.group(1)}:{_LIGHT[m.group(2)]};{m.group(1)}:var(--{m.group(2)})",
        _RULES,
    )
)


@dataclass(frozen=True, slots=True)
class Axes:
    """Logarithmic scales of the picture.

    Parameters
    ----------
    x_low, x_high : float
        Pressures at the edges [Pa].
    y_low, y_high : float
        Flows at the edges [m3/h].
    """

    x_low: float
    x_high: float
    y_low: float
    y_high: float

    def x(self, pressure_pa: float) -> float:
        """Place of a pressure."""
        share = math.log(pressure_pa / self.x_low) / math.log(self.x_high / self.x_low)
        return LEFT + share * (RIGHT - LEFT)

    def y(self, flow_m3_h: float) -> float:
        """Place of a flow."""
        share = math.log(flow_m3_h / self.y_low) / math.log(self.y_high / self.y_low)
        return BOTTOM - share * (BOTTOM - TOP)


def fantest_plot(result: TestResult, against: Sequence[Against] = ()) -> str:
    """Draw a fan test.

    Parameters
    ----------
    result : TestResult
        The test.
    against : sequence of Against
        Limits to draw.

    Returns
    -------
    str
        SVG text; flows are those of reference air.

    Examples
    --------
    >>> from hullwright.fantest import analyse, example
    >>> fantest_plot(analyse(example())).startswith("<svg")
    True
    """
    lines = _limits(result, against)
    axes = _axes(result, [flow for _, flow, _ in lines])
    body = [element("rect", width=WIDTH, height=HEIGHT, class_="ground"), _grid(axes)]
    body.append(_limit_lines(axes, lines))
    body += [_direction(axes, result, direction) for direction in result.directions]
    body += [_heading(result), _key(result, bool(lines))]
    return document(
        WIDTH, HEIGHT, "".join(body), name="Fan test", style=_STYLE, description=_spoken(result, against)
    )


def _limits(result: TestResult, against: Sequence[Against]) -> list[tuple[float, float, str]]:
    """Pressure, flow and words of each limit that can be drawn."""
    out: list[tuple[float, float, str]] = []
    for one in against:
        scale = one.bound.measure(result.raw.building)
        if not isinstance(scale, str):
            out.append(
                (scale.pressure_pa, one.bound.value / scale.factor, f"{one.bound}: {one.answer.value}")
            )
    return out


def _points(direction: Direction) -> list[tuple[float, float, bool]]:
    """Induced pressure, flow at reference air, whether it counts; stations that a log scale can hold."""
    factor = direction.cl_m3_h_pan / direction.c_m3_h_pan
    rows = zip(direction.dp_pa.tolist(), direction.flow_m3_h.tolist(), direction.used.tolist(), strict=True)
    return [(dp, flow * factor, bool(used)) for dp, flow, used in rows if dp > 0 and flow > 0]


def _axes(result: TestResult, limits: Iterable[float]) -> Axes:
    points = [point for direction in result.directions for point in _points(direction)]
    x_low, x_high = min(3.5, *(p for p, _, _ in points)), max(100.0, *(p for p, _, _ in points))
    flows = [flow for _, flow, _ in points] + list(limits)
    flows += [direction.flow(p) for direction in result.directions for p in (4.0, 75.0)]
    return Axes(x_low * 0.97, x_high * 1.03, min(flows) * 0.8, max(flows) * 1.25)


def _ticks(low: float, high: float) -> list[float]:
    powers = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
    fine = (1, 2, 3, 4, 5, 7) if high / low < 30 else (1, 2, 5)
    return [m * 10.0**e for e in powers for m in fine if low <= m * 10.0**e <= high]


def _grid(axes: Axes) -> str:
    out: list[str] = []
    for pressure in (4.0, 6.0, 10.0, 15.0, 20.0, 30.0, 50.0, 75.0, 100.0):
        if axes.x_low <= pressure <= axes.x_high:
            x = axes.x(pressure)
            out.append(element("path", d=path([(x, TOP), (x, BOTTOM)]), class_="grid"))
            out.append(text(f"{pressure:g}", x, BOTTOM + 17, text_anchor="middle"))
    for flow in _ticks(axes.y_low, axes.y_high):
        y = axes.y(flow)
        out.append(element("path", d=path([(LEFT, y), (RIGHT, y)]), class_="grid"))
        out.append(text(f"{flow:g}", LEFT - 7, y + 4, text_anchor="end"))
    for flow in _ticks(axes.y_low / M3_H_PER_CFM, axes.y_high / M3_H_PER_CFM):
        y = axes.y(flow * M3_H_PER_CFM)
        out.append(element("path", d=path([(RIGHT, y), (RIGHT + 5, y)]), class_="frame"))
        out.append(text(f"{flow:g}", RIGHT + 8, y + 4))
    frame = element("rect", x=LEFT, y=TOP, width=RIGHT - LEFT, height=BOTTOM - TOP, class_="frame")
    out.append(frame)
    out.append(text("induced pressure, Pa", (LEFT + RIGHT) / 2, BOTTOM + 36, text_anchor="middle"))
    out.append(text("m3/h", LEFT - 7, TOP - 10, text_anchor="end"))
    out.append(text("cfm", RIGHT + 8, TOP - 10))
    return element("g", "".join(out))


def _direction(axes: Axes, result: TestResult, direction: Direction) -> str:
    name = "d" if direction.sense is Sense.DEPRESSURIZATION else "p"
    steps = [axes.x_low * (axes.x_high / axes.x_low) ** (k / 60) for k in range(61)]
    out: list[str] = []
    if direction.scatter_known:
        t = float(t_quantile(direction.level, direction.line.freedom)[0])
        half = [t * float(direction.line.s_line(math.log(p))[0]) for p in steps]
        upper = [(p, direction.flow(p) * math.exp(h)) for p, h in zip(steps, half, strict=True)]
        lower = [(p, direction.flow(p) * math.exp(-h)) for p, h in zip(steps, half, strict=True)]
        out.append(
            element("path", d=_line(axes, [*upper, *reversed(lower)], closed=True), class_=f"band-{name}")
        )
    out.append(element("path", d=_line(axes, [(p, direction.flow(p)) for p in steps]), class_=f"fit-{name}"))
    for side in (-1.0, 1.0):
        edge = [(p, direction.flow(p) * math.exp(side * terms.total)) for p, terms in direction.terms.items()]
        out.append(element("path", d=_line(axes, edge), class_=f"total-{name}"))
    out += [_mark(axes, point, name) for point in _points(direction)]
    out.append(_bar(axes, direction, result.standard.pressure_pa, name))
    return element("g", title(direction.sense.value) + "".join(out))


def _line(axes: Axes, points: Iterable[tuple[float, float]], *, closed: bool = False) -> str:
    """Path through pressures and flows, held within the frame."""
    places = [(axes.x(p), min(max(axes.y(q), TOP), BOTTOM)) for p, q in points]
    return path(places, closed=closed)


def _mark(axes: Axes, point: tuple[float, float, bool], name: str) -> str:
    x, y = axes.x(point[0]), axes.y(point[1])
    if not point[2]:
        cross = path([(x - 5, y - 5), (x + 5, y + 5)]) + path([(x - 5, y + 5), (x + 5, y - 5)])
        return element("path", title("does not count"), d=cross, class_=f"out-{name}")
    if name == "d":
        return element("circle", cx=x, cy=y, r=4.2, class_=f"dot-{name}")
    return element(
        "path",
        d=path([(x, y - 5.5), (x + 5.5, y), (x, y + 5.5), (x - 5.5, y)], closed=True),
        class_=f"dot-{name}",
    )


def _bar(axes: Axes, direction: Direction, pressure_pa: float, name: str) -> str:
    """Total interval at the pressure the standard reports."""
    x = axes.x(pressure_pa)
    half = direction.terms[pressure_pa].total
    low, high = (axes.y(direction.flow(pressure_pa) * math.exp(side * half)) for side in (-1.0, 1.0))
    shape = (
        path([(x - 6, high), (x + 6, high)])
        + path([(x, high), (x, low)])
        + path([(x - 6, low), (x + 6, low)])
    )
    return element("path", title(f"total interval at {pressure_pa:g} Pa"), d=shape, class_=f"bar-{name}")


def _limit_lines(axes: Axes, limits: Sequence[tuple[float, float, str]]) -> str:
    """Each limit from the left edge to its pressure; words that would meet the line above go below their own."""
    out: list[str] = []
    above = -math.inf
    for pressure, flow, words in sorted(limits, key=lambda one: -one[1]):
        x, y = axes.x(pressure), axes.y(flow)
        out.append(element("path", d=path([(LEFT, y), (x + 14, y)]), class_="limit"))
        base = y - 5 if y - above > 20 else y + 14
        width = 6.1 * len(words) + 6
        out.append(element("rect", x=LEFT + 5, y=base - 10, width=width, height=13.0, class_="ground"))
        out.append(text(words, LEFT + 8, base, class_="small"))
        above = max(y, base)
    return element("g", "".join(out))


def _heading(result: TestResult) -> str:
    raw = result.raw
    flow, half = result.flow(50.0), result.terms(50.0).total
    second = (
        f"{flow:.4g} m3/h ({flow / M3_H_PER_CFM:.4g} cfm) at 50 Pa, {result.level:.0%} total interval "
        f"{flow * math.exp(-half):.4g} to {flow * math.exp(half):.4g} m3/h"
    )
    if raw.building.volume_m3:
        second += f"; {flow / raw.building.volume_m3:.3g} ACH50"
    first = ", ".join(part for part in (raw.house, raw.stage, raw.date) if part) or "Fan test"
    return text(first, LEFT, 24, class_="head") + text(second, LEFT, 45)


def _key(result: TestResult, limits: bool) -> str:
    out: list[str] = []
    y = BOTTOM + 62
    for direction in result.directions:
        name = "d" if direction.sense is Sense.DEPRESSURIZATION else "p"
        sample = element("path", d=path([(LEFT, y - 4), (LEFT + 44, y - 4)]), class_=f"fit-{name}")
        dot = (
            element("circle", cx=LEFT + 22, cy=y - 4, r=4.2, class_=f"dot-{name}")
            if name == "d"
            else element(
                "path",
                d=path(
                    [(LEFT + 22, y - 9.5), (LEFT + 27.5, y - 4), (LEFT + 22, y + 1.5), (LEFT + 16.5, y - 4)],
                    closed=True,
                ),
                class_=f"dot-{name}",
            )
        )
        out.append(element("g", sample + dot))
        r2 = "" if direction.r2 is None else f", r2 {direction.r2:.4f}"
        words = f"{direction.sense.value}: C {direction.cl_m3_h_pan:.4g} m3/(h Pa^n), n {direction.n:.3f}{r2}"
        out.append(text(words, LEFT + 54, y))
        y += 19
    seen = any(direction.scatter_known for direction in result.directions)
    words = f"shaded: {result.level:.0%} interval of the fit; " if seen else ""
    words += "dotted and bar: with device, gauge and zero-flow terms"
    out.append(text(words + ("; dash-dotted: limit" if limits else ""), LEFT, y, class_="small"))
    if result.void:
        out.append(text(f"void by its standard: {result.void[0].text}", LEFT, y + 16, class_="small"))
    return element("g", "".join(out))


def _spoken(result: TestResult, against: Sequence[Against]) -> str:
    parts = [f"Flow at 50 Pa {result.flow(50.0):.4g} m3/h."]
    parts += [f"{d.sense.value}: n {d.n:.3f}, {int(d.used.sum())} stations." for d in result.directions]
    parts += [f"Limit {one.limit}: {one.answer.value}." for one in against]
    return " ".join(parts)
