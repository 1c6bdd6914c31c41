"""Floor lines on laid faces: a level seam near one has the floor framing behind it; a seam in one *is* the floor line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from hullwright.hull.model import FloorLine
from hullwright.joints.lanes import Lane
from hullwright.joints.scan import LEAST, ranges
from hullwright.joints.seams import Lines, Pattern, joined

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Floors:
    """Floor lines of laid faces as columns, sorted by `key` (lane and height).

    Parameters
    ----------
    key : ndarray
        ``lane * width + height``.
    start, end : ndarray
        Along the level direction of the lane [m].
    number : ndarray
        Number in the hull.
    width : float
        Lane width [m].
    """

    key: Floats
    start: Floats
    end: Floats
    number: Ints
    width: float


def floors(sheets: Sequence[Lane], floor_lines: Sequence[FloorLine], width: float) -> Floors:
    """Floor lines in the lay coordinates of their faces."""
    lane_of = {sheet.face: lane for lane, sheet in enumerate(sheets)}
    rows: list[tuple[float, float, float, int]] = []
    for number, line in enumerate(floor_lines):
        lane = lane_of.get(line.face)
        if lane is None or line.edge >= 0:
            continue
        sheet = sheets[lane]
        up, level = (sheet.along, sheet.across) if sheet.upright else (sheet.across, sheet.along)
        first, last = sorted(
            [float((line.start - sheet.origin) @ level), float((line.end - sheet.origin) @ level)]
        )
        rows.append((lane * width + float((line.start - sheet.origin) @ up), first, last, number))
    rows.sort()
    table = np.array(rows, dtype=np.float64).reshape(-1, 4)
    return Floors(table[:, 0], table[:, 1], table[:, 2], table[:, 3].astype(np.int64), width)


def _pairs(lines: Lines, level: Bools, found: Floors, reach: tuple[float, float]) -> tuple[Ints, Ints]:
    """Level lines and floor lines that lie together: so much below, so much above the floor line."""
    which = np.flatnonzero(level)
    key = lines.lane[which] * found.width + lines.place[which]
    first = np.searchsorted(found.key, key - reach[1], side="left")
    count = np.searchsorted(found.key, key + reach[0], side="right") - first
    owner, floor = ranges(first, count)
    line = which[owner]
    over = (lines.start[line] < found.end[floor]) & (lines.end[line] > found.start[floor])
    return line[over], floor[over]


def _level(sheets: Sequence[Lane], lines: Lines, *, along_rows: bool) -> Bools:
    """Which of the lines run level: those along rows of level panels, the ends of upright ones."""
    upright: Bools = np.array([sheet.upright for sheet in sheets])[lines.lane]
    return ~upright if along_rows else upright


def back_by_rim(sheets: Sequence[Lane], lines: Pattern, found: Floors, depth: float) -> Pattern:
    """Level seams that fall on the floor framing below a floor line have wood behind."""
    parts = []
    for along_rows, part in ((True, lines.long_edges), (False, lines.ends)):
        backed = part.backed.copy()
        line, _ = _pairs(part, _level(sheets, part, along_rows=along_rows), found, (depth, 1e-3))
        backed[line] = True
        parts.append(replace(part, backed=backed))
    return Pattern(parts[0], parts[1], lines.field)


def take_out(sheets: Sequence[Lane], lines: Pattern, found: Floors, reach: float) -> tuple[Pattern, Ints]:
    """Take out seams that are floor lines; what sticks out beyond the floor line stays.

    Returns
    -------
    lines : Pattern
    on_seam : ndarray
        Numbers of the floor lines that a seam runs in.
    """
    parts: list[Lines] = []
    hit: list[Ints] = []
    for along_rows, part in ((True, lines.long_edges), (False, lines.ends)):
        line, floor = _pairs(part, _level(sheets, part, along_rows=along_rows), found, (reach, reach))
        hit.append(found.number[floor])
        parts.append(_cut_out(part, line, floor, found))
    return Pattern(parts[0], parts[1], lines.field), np.unique(np.concatenate(hit))


def _cut_out(part: Lines, line: Ints, floor: Ints, found: Floors) -> Lines:
    """Take the stretches of floor lines out of the seams they share a line with."""
    keep = np.ones(len(part.lane), dtype=bool)
    keep[line] = False
    pieces = [part.keep(keep)]
    for number in np.unique(line):
        gaps = sorted((float(found.start[f]), float(found.end[f])) for f in floor[line == number])
        one = part.keep(np.arange(len(part.lane)) == number)
        at, last = float(one.start[0]), float(one.end[0])
        for start, end in [*gaps, (last, last)]:
            if min(start, last) - at > LEAST:
                pieces.append(replace(one, start=np.array([at]), end=np.array([min(start, last)])))
            at = max(at, end)
    return joined(pieces)
