"""Proof growing along the joint itself: readings as intervals against the target band, at their place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from hullwright.report.chart import STYLE, Frame, sheet
from hullwright.report.svg import document, element, path, text, title
from hullwright.units import MIL, Show

LEFT: Final = 70.0
WIDE: Final = 780.0
TOP: Final = 74.0
HIGH: Final = 250.0
LANE: Final = 22.0


@dataclass(frozen=True, slots=True)
class Bar:
    """One reading.

    Parameters
    ----------
    at : float
        Place along the joint [m].
    low, high : float
        Wet film lies between [m]; `high` may be infinite.
    verdict : str
        ``enough``, ``close`` or ``too thin``; '' where nothing states the least film.
    words : str
        Who and when.
    """

    at: float
    low: float
    high: float
    verdict: str
    words: str = ""


@dataclass(frozen=True, slots=True)
class Sign:
    """Something else at a place: a check, a flaw, a hole.

    Parameters
    ----------
    at : float
        [m]
    good : bool
        Whether it speaks for the joint.
    words : str
    """

    at: float
    good: bool
    words: str


@dataclass(frozen=True, slots=True)
class Stretch:
    """One joint of the line.

    Parameters
    ----------
    id : str
    length : float
        [m]
    state : str
    bars : tuple of Bar
    done : tuple of (float, float)
        Sealed from, to [m].
    signs : tuple of Sign
    """

    id: str
    length: float
    state: str
    bars: tuple[Bar, ...] = ()
    done: tuple[tuple[float, float], ...] = ()
    signs: tuple[Sign, ...] = ()


@dataclass(frozen=True, slots=True)
class Band:
    """Target: least wet film, and the film aimed at [m]; None where no sheet states one."""

    least: float
    aim: float | None = None


def proof_along(stretches: Sequence[Stretch], target: Band | None, show: Show, *, name: str) -> str:
    """Draw the proof along one or several joints, end to end.

    Parameters
    ----------
    stretches : sequence of Stretch
        One or more.
    target : Band or None
    show : Show
    name : str
        Heading.

    Returns
    -------
    str
        SVG document.

    Examples
    --------
    >>> line = Stretch("J1", 3.0, "sealed", (Bar(1.0, 4e-4, 4.5e-4, "enough"),), ((0.0, 3.0),))
    >>> "J1" in proof_along([line], Band(3.2e-4, 4e-4), Show("us"), name="one seam")
    True
    """
    unit, film = (MIL, "mil") if show.us else (1e-6, "µm")
    run, mark = (0.3048, "ft") if show.us else (1.0, "m")
    total = max(sum(one.length for one in stretches), 1e-6)
    frame = Frame(LEFT, TOP, WIDE, HIGH, 0.0, total / run, 0.0, _highest(stretches, target) / unit)
    out = [_heading(stretches, target, show, name), _target(frame, target, unit, show), frame.y_ticks()]
    start = 0.0
    for number, one in enumerate(stretches):
        out.append(_stretch(frame, one, start, (unit, run), show))
        if number:
            out.append(frame.up(start / run, "dotted"))
        if len(stretches) > 1:
            out.append(
                text(
                    f"{number + 1}",
                    frame.x((start + one.length / 2) / run),
                    TOP + 12,
                    class_="strong small halo",
                    text_anchor="middle",
                )
            )
        start += one.length
    base = TOP + HIGH
    out += [frame.edge(), frame.x_ticks(), text(f"wet film, {film}", LEFT, TOP - 10, class_="faint")]
    out.append(text(f"along the joint, {mark}", LEFT + WIDE, base + 34, class_="faint", text_anchor="end"))
    lanes = base + 40
    out += [
        text(words, LEFT - 7, lanes + LANE * row + 4, class_="faint", text_anchor="end")
        for row, words in enumerate(("sealed", "checked", "wrong"))
    ]
    out.append(_key(lanes + 3 * LANE + 14, target))
    deep = lanes + 3 * LANE + 44 + 16 * len(stretches)
    out.append(_names(stretches, lanes + 3 * LANE + 40))
    count = sum(len(one.bars) for one in stretches)
    return document(880, deep, sheet(880.0, deep) + "".join(out), name=f"Proof along {name}", style=STYLE, description=f"{count} readings on {len(stretches)} joints")  # fmt: skip


def _highest(stretches: Sequence[Stretch], target: Band | None) -> float:
    ends = [bar.high if math.isfinite(bar.high) else bar.low * 1.1 for one in stretches for bar in one.bars]
    ends += [] if target is None else [target.least * 1.6, (target.aim or 0.0) * 1.25]
    return max(ends, default=5e-4) * 1.08


def _heading(stretches: Sequence[Stretch], target: Band | None, show: Show, name: str) -> str:
    bars = [bar for one in stretches for bar in one.bars]
    counts = {
        verdict: sum(bar.verdict == verdict for bar in bars) for verdict in ("enough", "close", "too thin")
    }
    words = f"{len(bars)} readings: {counts['enough']} enough, {counts['close']} close, {counts['too thin']} too thin"
    if target is None:
        words = f"{len(bars)} readings; no product sheet states the least film"
    if not bars:
        words = "no comb reading here yet"
    length = show.run_length(sum(one.length for one in stretches))
    return text(name, LEFT, 24, class_="head") + text(f"{length}; {words}", LEFT, 44)


def _target(frame: Frame, target: Band | None, unit: float, show: Show) -> str:
    if target is None:
        return ""
    right = frame.left + frame.wide
    out = [frame.box(0.0, target.least / unit, "below"), frame.across(target.least / unit, "least")]
    out.append(
        text(
            f"least {show.film(target.least)}",
            right,
            frame.y(target.least / unit) + 15,
            text_anchor="end",
            class_="small",
        )
    )
    if target.aim is not None and target.aim > target.least * 1.001:
        out += [
            frame.box(target.least / unit, target.aim / unit, "band"),
            frame.across(target.aim / unit, "aim"),
        ]
        out.append(
            text(
                f"aim {show.film(target.aim)}",
                right,
                frame.y(target.aim / unit) - 5,
                text_anchor="end",
                class_="small",
            )
        )
    return "".join(out)


def _stretch(frame: Frame, one: Stretch, start: float, units: tuple[float, float], show: Show) -> str:
    unit, run = units
    lanes = frame.top + frame.high + 40
    out = []
    for begin, end in one.done:
        line = [(frame.x((start + begin) / run), lanes), (frame.x((start + end) / run), lanes)]
        out.append(element("path", title(f"sealed: {one.id}"), d=path(line), class_="done"))
    for sign in one.signs:
        x, y = frame.x((start + sign.at) / run), lanes + (LANE if sign.good else 2 * LANE)
        shape = [(x - 4, y), (x - 1, y + 4), (x + 5, y - 5)] if sign.good else []
        d = (
            path(shape)
            if shape
            else path([(x - 4, y - 4), (x + 4, y + 4)]) + path([(x - 4, y + 4), (x + 4, y - 4)])
        )
        out.append(element("path", title(sign.words), d=d, class_="mark" if sign.good else "cross"))
    seen: dict[int, int] = {}
    for bar in one.bars:
        x = frame.x((start + bar.at) / run)
        again = seen[round(x / 8)] = seen.get(round(x / 8), 0) + 1
        out.append(_bar(frame, bar, x + 8.0 * ((again // 2) * (1 if again % 2 else -1)), unit, show))
    return "".join(out)


def _bar(frame: Frame, bar: Bar, x: float, unit: float, show: Show) -> str:
    top = frame.top + 4 if math.isinf(bar.high) else frame.y(bar.high / unit)
    bottom = frame.y(bar.low / unit)
    over = "over " if math.isinf(bar.high) else ""
    span = show.film(bar.low) if over else f"{show.film(bar.low)} to {show.film(bar.high)}"
    label = title(", ".join(part for part in (f"{over}{span}", bar.verdict, bar.words) if part))
    kind = {"enough": "pass", "too thin": "fail"}.get(bar.verdict, "open")
    shape = element("rect", label, x=x - 3, y=top, width=6.0, height=max(2.0, bottom - top), class_=kind)
    if over:
        shape += element("path", d=path([(x - 6, top + 5), (x, top - 3), (x + 6, top + 5)]), class_="good")
    if bar.verdict == "too thin":
        y = top - 8
        shape += element(
            "path",
            d=path([(x - 4, y - 4), (x + 4, y + 4)]) + path([(x - 4, y + 4), (x + 4, y - 4)]),
            class_="cross",
        )
    return shape


def _key(y: float, target: Band | None) -> str:
    if target is None:
        return text("each bar: last wet notch to next dry notch", LEFT, y, class_="small")
    out, x = [], LEFT
    for kind, words in (
        ("pass", "enough: all of it at or above the least film"),
        ("open", "close: across it"),
        ("fail", "too thin"),
    ):
        out.append(element("rect", x=x, y=y - 11, width=6.0, height=14.0, class_=kind))
        out.append(text(words, x + 12, y, class_="small"))
        x += 26 + 6.4 * len(words)
    out.append(text("each bar: last wet notch to next dry notch", x + 6, y, class_="faint"))
    return "".join(out)


def _names(stretches: Sequence[Stretch], y: float) -> str:
    out = []
    for row, one in enumerate(stretches):
        lead = f"{row + 1}. " if len(stretches) > 1 else ""
        out.append(text(f"{lead}{one.id}: {one.state}", LEFT, y + 16 * row, class_="small"))
    return "".join(out)
