"""The operating curve of a reading plan: the chance to prove a lot against what the lot really is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from hullwright.proof.planning import OperatingCurve
from hullwright.report.chart import STYLE, Frame, sheet
from hullwright.report.svg import document, element, path, text, title
from hullwright.units import MIL, Show

MOST: Final = 30.0  # per cent of the length below the least film, at the right edge


@dataclass(frozen=True, slots=True)
class Planned:
    """The lot that is planned for.

    Parameters
    ----------
    mean, share_below, chance : float
        Its mean wet film [m], true share below the least film, and its chance to be proved.
    asked : float
        Share that a proved lot must carry.
    """

    mean: float
    share_below: float
    chance: float
    asked: float


def operating_plot(curve: OperatingCurve, planned: Planned, show: Show) -> str:
    """Draw the curve.

    Parameters
    ----------
    curve : OperatingCurve
    planned : Planned
    show : Show

    Returns
    -------
    str
        SVG document.

    Examples
    --------
    >>> from hullwright.proof.planning import operating_curve
    >>> drawn = operating_plot(operating_curve(10, 5e-5, least=5e-4, step=5e-5), Planned(6e-4, 0.02, 0.8, 0.9), Show("us"))
    >>> "10 readings" in drawn
    True
    """
    frame = Frame(70.0, 112.0, 600.0, 300.0, 0.0, MOST, 0.0, 100.0)
    shares = curve.share_below * 100.0
    order = np.argsort(shares)
    points = [
        (frame.x(float(shares[i])), frame.y(float(curve.chance[i]) * 100.0))
        for i in order
        if shares[i] <= MOST
    ]
    out = [text(f"{curve.n} readings: the chance that a lot is proved", 70, 26, class_="head")]
    out.append(
        text(
            f"a sound lot should pass, a thin one should not; {planned.asked:.0%} of the length must carry the film",
            70,
            46,
        )
    )
    out += [frame.y_ticks(), element("path", d=path(points), class_="good")]
    limit = 100.0 * (1.0 - planned.asked)
    out += [
        frame.up(limit, "limit"),
        _note(frame, limit, _at(curve, limit / 100.0), f"just too thin: {limit:g} % below", "poor-dot"),
    ]
    words = f"as planned: {show.film(planned.mean)} wet"
    out.append(_note(frame, planned.share_below * 100.0, planned.chance, words, "good-dot"))
    out += [_films(frame, curve, show), frame.edge(), frame.x_ticks(6)]
    out.append(text("chance to be proved, %", 24, 78, class_="faint"))
    out.append(
        text(
            "share of the length that really is below the least film, %",
            670,
            448,
            class_="faint",
            text_anchor="end",
        )
    )
    return document(760, 464, sheet(760.0, 464.0) + "".join(out), name=f"Operating curve of {curve.n} readings", style=STYLE,
                    description=f"A lot as planned is proved with chance {planned.chance:.0%}")  # fmt: skip


def _at(curve: OperatingCurve, share: float) -> float:
    order = np.argsort(curve.share_below)
    return float(np.interp(share, curve.share_below[order], curve.chance[order]))


def _note(frame: Frame, share: float, chance: float, words: str, kind: str) -> str:
    x, y = frame.x(share), frame.y(chance * 100.0)
    told = f"{words}, {chance:.0%} proved"
    return element("circle", title(told), cx=x, cy=y, r=5.0, class_=kind) + text(
        told, x + 12, y - 8, class_="strong small halo"
    )


def _films(frame: Frame, curve: OperatingCurve, show: Show) -> str:
    """Mean film that goes with some shares, above the frame."""
    out, unit = [], "mil" if show.us else "µm"
    order = np.argsort(curve.share_below)
    for share in (1.0, 5.0, 10.0, 15.0, 20.0, 25.0):
        mean = float(np.interp(share / 100.0, curve.share_below[order], curve.mean[order]))
        label = f"{mean / MIL:.1f}" if show.us else f"{mean * 1e6:.0f}"
        x = frame.x(share)
        out.append(element("path", d=path([(x, frame.top - 4), (x, frame.top)]), class_="frame"))
        out.append(text(label, x, frame.top - 8, class_="faint", text_anchor="middle"))
    return "".join(out) + text(
        f"true mean wet film, {unit}",
        frame.left + frame.wide,
        frame.top - 24,
        class_="faint",
        text_anchor="end",
    )
