"""What the pictures of the record share: tones for light and dark paper, a frame, round ticks.

Each declaration stands first with its light value, for readers of SVG that know no variables (typesetters, office
programs). No meaning rests on colour: what is proved is filled, what is undecided is hollow, what failed is crossed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from hullwright.report.curve import ticks
from hullwright.report.look import PAPER
from hullwright.report.svg import element, path, text

_LIGHT: Final = {
    "ground": "#fbfaf6",
    "ink": "#22282b",
    "faint": "#62696d",
    "line": "#c9c6ba",
    "sheet": "#f1efe7",
    "good": "#1f4f6b",
    "poor": "#b3541e",
}
_TONES: Final = (
    ":root{--good:#1f4f6b;--poor:#b3541e;--faint:#62696d}"
    "@media (prefers-color-scheme:dark){:root{--good:#9fd0ea;--poor:#f0a06a;--faint:#a5adb1}}"
)
_RULES: Final = """
svg{background:@ground}.paper{fill:@ground}text{fill:@ink;font-size:12px}.small{font-size:11px}.faint{fill:@faint;font-size:11px}.head{font-size:16px;font-weight:600}
.strong{font-weight:600}.grid{stroke:@line;stroke-width:.7;fill:none}.frame{stroke:@ink;stroke-width:1;fill:none}
.least{stroke:@ink;stroke-width:2;fill:none}.aim{stroke:@ink;stroke-width:1;stroke-dasharray:6 4;fill:none}.band{fill:@good;fill-opacity:.13}
.below{fill:@poor;fill-opacity:.10}.pass{fill:@good;stroke:@good;stroke-width:1.4}.open{fill:@ground;stroke:@good;stroke-width:1.4}
.fail{fill:@poor;stroke:@poor;stroke-width:1.4}.cross{stroke:@poor;stroke-width:2.2;fill:none}.good{stroke:@good;stroke-width:2.4;fill:none}
.good-fill{fill:@good;fill-opacity:.18}.poor{stroke:@poor;stroke-width:2.4;fill:none}.poor-dot{fill:@poor;stroke:@ground;stroke-width:.8}
.good-dot{fill:@good;stroke:@ground;stroke-width:.8}.plan{stroke:@ink;stroke-width:1.4;stroke-dasharray:8 4;fill:none}
.limit{stroke:@ink;stroke-width:1.3;stroke-dasharray:10 3 2 3;fill:none}.dotted{stroke:@ink;stroke-width:1;stroke-dasharray:1.5 3;fill:none}
.halo{stroke:@ground;stroke-width:4;paint-order:stroke;stroke-linejoin:round}.done{stroke:@ink;stroke-width:5;fill:none}.sheet{fill:@sheet;stroke:@line;stroke-width:.7}.mark{stroke:@ink;stroke-width:1.6;fill:none}
"""
STYLE: Final = (
    PAPER
    + _TONES
    + re.sub(
        r"(fill|stroke|background):@(\w+)",
        lambda m: f"{m.group(1)}:{_LIGHT[m.group(2)]};{m.group(1)}:var(--{m.group(2)})",
        _RULES,
    )
)


def sheet(wide: float, high: float) -> str:
    """Paper under a picture: converters that know no page background would leave it clear."""
    return element("rect", x=0.0, y=0.0, width=wide, height=high, class_="paper")


@dataclass(frozen=True, slots=True)
class Frame:
    """A plot's place on the paper and its scales.

    Parameters
    ----------
    left, top, wide, high : float
        Place and size.
    x0, x1, y0, y1 : float
        Values at its edges.
    """

    left: float
    top: float
    wide: float
    high: float
    x0: float
    x1: float
    y0: float
    y1: float

    def x(self, value: float) -> float:
        """Place of a value across; held within the frame."""
        share = (value - self.x0) / (self.x1 - self.x0)
        return self.left + min(max(share, 0.0), 1.0) * self.wide

    def y(self, value: float) -> float:
        """Place of a value upwards; held within the frame."""
        share = (value - self.y0) / (self.y1 - self.y0)
        return self.top + self.high - min(max(share, 0.0), 1.0) * self.high

    def across(self, value: float, kind: str, *, start: float | None = None) -> str:
        """Line at a height, over the whole width or from `start` on."""
        y, left = self.y(value), self.left if start is None else self.x(start)
        return element("path", d=path([(left, y), (self.left + self.wide, y)]), class_=kind)

    def up(self, value: float, kind: str) -> str:
        """Line at a place across, over the whole height."""
        x = self.x(value)
        return element("path", d=path([(x, self.top), (x, self.top + self.high)]), class_=kind)

    def box(self, low: float, high: float, kind: str) -> str:
        """Band between two heights."""
        top, bottom = self.y(high), self.y(low)
        return element(
            "rect", x=self.left, y=top, width=self.wide, height=max(0.0, bottom - top), class_=kind
        )

    def y_ticks(self, count: int = 5, form: str = "g") -> str:
        """Grid with its numbers at the left."""
        out = []
        for value in ticks(self.y0, self.y1, count):
            out.append(self.across(value, "grid"))
            out.append(
                text(format(value, form), self.left - 7, self.y(value) + 4, class_="faint", text_anchor="end")
            )
        return "".join(out)

    def x_ticks(self, count: int = 8, form: str = "g") -> str:
        """Ticks with their numbers below."""
        out, base = [], self.top + self.high
        for value in ticks(self.x0, self.x1, count):
            x = self.x(value)
            out.append(element("path", d=path([(x, base), (x, base + 5)]), class_="frame"))
            out.append(text(format(value, form), x, base + 18, class_="faint", text_anchor="middle"))
        return "".join(out)

    def edge(self) -> str:
        """Axes."""
        corner = [
            (self.left, self.top),
            (self.left, self.top + self.high),
            (self.left + self.wide, self.top + self.high),
        ]
        return element("path", d=path(corner), class_="frame")
