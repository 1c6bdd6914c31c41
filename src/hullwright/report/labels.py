"""Names of faces on a drawing without overlaps: in the face where they fit, else a number and a list."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from shapely import STRtree
from shapely.geometry import Point, Polygon, box
from shapely.ops import polylabel

from hullwright.report.svg import element, text

Floats = NDArray[np.float64]
Box = tuple[float, float, float, float]

SIZES: Final = (13.0, 12.0, 11.0, 10.0, 9.0)
NUMBER: Final = 10.0
LETTER: Final = 0.6
"""Width of a letter over the size of the type: more than that of common sans-serif type."""
RISE: Final = 0.8
"""From the base line to the top of a letter, over the size of the type."""
DROP: Final = 0.25
AIR: Final = 2.0
RINGS: Final = 40
NEAR: Final = 2
"""Rings in which a place off all faces is looked for."""
ROW: Final = 15.0
LIST: Final = 11.0


@dataclass(frozen=True, slots=True)
class Label:
    """A name or number on the drawing.

    Parameters
    ----------
    words : str
    at : (x, y)
        Middle of the base line.
    size : float
        Of the type.
    leader : (x, y) or None
        Place in the face that it is led to where it stands beside it.
    """

    words: str
    at: tuple[float, float]
    size: float
    leader: tuple[float, float] | None = None

    @property
    def box(self) -> Box:
        """Room that it takes: left, top, right, bottom."""
        half = LETTER * self.size * len(self.words) / 2
        x, y = self.at
        return x - half, y - RISE * self.size, x + half, y + DROP * self.size


@dataclass(frozen=True, slots=True)
class Labels:
    """All names of a drawing.

    Parameters
    ----------
    placed : tuple of Label
    numbered : tuple of str
        Names that the numbers stand for, from 1.
    """

    placed: tuple[Label, ...]
    numbered: tuple[str, ...]

    def drawn(self) -> str:
        """Draw names, numbers and leaders (SVG)."""
        out: list[str] = []
        for label in self.placed:
            x, y = label.at
            if label.leader is not None:
                middle = y - (RISE - DROP) * label.size / 2
                at = label.leader
                line = element("line", class_="leader", x1=x, y1=middle, x2=at[0], y2=at[1])
                out.append(line)
        for label in self.placed:
            x, y = label.at
            out.append(text(label.words, x, y, font_size=label.size, text_anchor="middle", class_="name"))
        return "".join(out)

    def listed(self, left: float, top: float, width: float) -> tuple[str, float]:
        """Draw the list of numbers below the drawing (SVG) and give its height."""
        if not self.numbered:
            return "", 0.0
        rows = [f"{k} {name}" for k, name in enumerate(self.numbered, 1)]
        column = max(map(len, rows)) * LETTER * LIST + 12.0
        columns = max(1, min(len(rows), int(width // column)))
        deep = math.ceil(len(rows) / columns)
        out = [
            text(row, left + column * (k // deep), top + ROW * (k % deep), font_size=LIST)
            for k, row in enumerate(rows)
        ]
        return "".join(out), ROW * deep


def place(faces: Iterable[tuple[str, Sequence[Floats]]], room: Box) -> Labels:
    """Find a place for every name.

    Parameters
    ----------
    faces : iterable of (str, loops)
        Name, and outline with its holes on the paper, each (k, 2).
    room : Box
        Of the paper: nothing stands outside.

    Returns
    -------
    Labels
        No two overlap.
    """
    shapes = [(name, _polygon(loops)) for name, loops in faces]
    placed: list[Label] = []
    small: list[tuple[str, Polygon]] = []
    for name, shape in shapes:
        inside = _inside(name, shape)
        if inside is None:
            small.append((name, shape))
        else:
            placed.append(inside)
    small.sort(key=lambda item: item[0])
    whole = STRtree([shape for _, shape in shapes])
    for number, (_, shape) in enumerate(small, 1):
        placed.append(_numbered(str(number), shape, _Paper(placed, whole, room)))
    return Labels(tuple(placed), tuple(name for name, _ in small))


def _polygon(loops: Sequence[Floats]) -> Polygon:
    return Polygon(loops[0], list(loops[1:]))


def _inside(name: str, shape: Polygon) -> Label | None:
    left, top, right, bottom = shape.bounds
    middles = [((left + right) / 2, (top + bottom) / 2), (shape.centroid.x, shape.centroid.y), _pole(shape)]
    for size in SIZES:
        for x, y in middles:
            label = Label(name, (x, y + (RISE - DROP) * size / 2), size)
            if shape.contains(_grown(label.box)):
                return label
    return None


def _pole(shape: Polygon) -> tuple[float, float]:
    left, top, right, bottom = shape.bounds
    found = polylabel(shape, tolerance=max(min(right - left, bottom - top) / 50, 1e-3))
    return found.x, found.y


def _grown(room: Box) -> Polygon:
    left, top, right, bottom = room
    return box(left - AIR, top - AIR, right + AIR, bottom + AIR)


@dataclass(frozen=True, slots=True)
class _Paper:
    """What is on the paper already."""

    placed: Sequence[Label]
    faces: STRtree
    room: Box

    def free(self, label: Label) -> bool:
        """Whether a label stands on the paper and on no other."""
        left, top, right, bottom = label.box
        if left < self.room[0] or top < self.room[1] or right > self.room[2] or bottom > self.room[3]:
            return False
        return not any(_meet(label.box, other.box) for other in self.placed)

    def blank(self, label: Label) -> bool:
        """Whether there is no face under a label."""
        return not len(self.faces.query(box(*label.box), predicate="intersects"))


def _numbered(words: str, shape: Polygon, paper: _Paper) -> Label:
    """Give a number in its face where there is room, else as near beside it as there is, off other faces where that is near."""
    shift = (RISE - DROP) * NUMBER / 2
    middle = _middle(shape)
    first = Label(words, (middle[0], middle[1] + shift), NUMBER)
    if shape.contains(box(*first.box)) and paper.free(first):
        return first
    around = [Label(words, (x, y + shift), NUMBER, middle) for x, y in _around(middle)]
    free = [label for label in around if paper.free(label)]
    near = free[: 16 * NEAR]
    return next((label for label in near if paper.blank(label)), free[0] if free else first)


def _middle(shape: Polygon) -> tuple[float, float]:
    """Give the middle of a face, or of its widest place where the middle lies outside."""
    left, top, right, bottom = shape.bounds
    middle = ((left + right) / 2, (top + bottom) / 2)
    return middle if shape.contains(Point(middle)) else _pole(shape)


def _around(middle: tuple[float, float]) -> Iterator[tuple[float, float]]:
    """Give places in rings round a point, the nearest first."""
    for ring in range(1, RINGS):
        for k in range(16):
            turn = 2 * math.pi * (k + 0.5) / 16
            yield middle[0] + 9 * ring * math.sin(turn), middle[1] - 9 * ring * math.cos(turn)


def _meet(one: Box, two: Box) -> bool:
    return one[0] < two[2] + AIR and two[0] < one[2] + AIR and one[1] < two[3] + AIR and two[1] < one[3] + AIR
