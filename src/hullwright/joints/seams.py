"""Panel seams: lines between rows, lines between the panels of a row, and the framing lines between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.joints.grid import ON_FRAMING, TOUCH, Grid
from hullwright.joints.lanes import Lane
from hullwright.joints.scan import LEAST, Stretches, clusters, inside, shifts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
SAME_LINE: Final = 2e-5  # m: cuts this close are one line


@dataclass(frozen=True, slots=True)
class Lines:
    """Stretches of panel seams or framing lines, as columns.

    Parameters
    ----------
    lane : ndarray
        Lane of each.
    row : ndarray
        Row of each; for a line between rows the upper one.
    place : ndarray
        Where the line lies: across the rows for lines along them, along the rows for panel ends [m].
    start, end : ndarray
        The other coordinate [m].
    backed : ndarray of bool
        Framing or blocking behind.
    number : ndarray
        Number of the line on its face, from 1, counted over the whole pattern as if nothing were cut out of it; 0 for framing.
    """

    lane: Ints
    row: Ints
    place: Floats
    start: Floats
    end: Floats
    backed: Bools
    number: Ints

    @property
    def length(self) -> Floats:
        """Length of each [m]."""
        return self.end - self.start

    def keep(self, mask: Bools | Ints) -> Lines:
        """Those that the mask or the numbers name."""
        return Lines(
            self.lane[mask],
            self.row[mask],
            self.place[mask],
            self.start[mask],
            self.end[mask],
            self.backed[mask],
            self.number[mask],
        )


def joined(parts: Sequence[Lines]) -> Lines:
    """One table of several."""
    lane, row, place, start, end, backed, number = (
        np.concatenate([getattr(part, name) for part in parts])
        for name in ("lane", "row", "place", "start", "end", "backed", "number")
    )
    return Lines(lane, row, place, start, end, backed, number)


@dataclass(frozen=True, slots=True)
class Pattern:
    """All lines of all lanes.

    Parameters
    ----------
    long_edges : Lines
        Seams between rows.
    ends : Lines
        Seams between panels of a row.
    field : Lines
        Framing lines within panels: where field fasteners go.
    """

    long_edges: Lines
    ends: Lines
    field: Lines


def _shifted(lanes: Sequence[Lane], width: float, *, swap: bool) -> Floats:
    """Edges of all lanes, shifted into them; swapped where lines run along the rows."""
    order = [1, 0, 3, 2] if swap else [0, 1, 2, 3]
    edges = np.concatenate([lane.edges for lane in lanes])[:, order]
    shift = np.repeat(np.arange(len(lanes)) * width, [len(lane.edges) for lane in lanes])
    edges[:, [0, 2]] += shift[:, None]
    return edges


def _multiples(spacing: float, extent: float) -> Floats:
    return spacing * np.arange(1.0, np.floor((extent - 1e-6) / spacing) + 1)


def _along(lanes: Sequence[Lane], grid: Grid) -> tuple[Lines, Lines]:
    """Lines that run along the rows: seams between rows; framing within rows of upright panels."""
    starts = shifts(grid.row_lane, grid.width) + grid.row_low
    inner = np.flatnonzero(np.diff(grid.row_lane, prepend=-1) == 0)
    studs = np.concatenate(
        [
            number * grid.width + _multiples(sheet.sheathing.framing, sheet.size[1])
            if sheet.upright
            else np.empty(0)
            for number, sheet in enumerate(lanes)
        ]
    )
    studs = studs[~_near(starts[inner], studs)]
    keys = np.concatenate([starts[inner], studs])
    order = np.argsort(keys, kind="stable")
    keys, is_seam = keys[order], order < len(inner)
    found = inside(_shifted(lanes, grid.width, swap=True), keys)
    row = np.searchsorted(starts, keys[found.line] + TOUCH, side="right") - 1
    owner = grid.row_lane[row]
    place = keys[found.line] - shifts(owner, grid.width)
    backed = _on_framing(lanes, owner, place, upright=True)
    number = row - np.searchsorted(grid.row_lane, owner)
    lines = Lines(owner, row, place, found.start, found.end, backed, number)
    seam = is_seam[found.line]
    return lines.keep(seam), lines.keep(~seam)


def _near(keys: Floats, wanted: Floats) -> Bools:
    """Whether a line lies within a member's bearing of one of the sorted keys."""
    if not len(keys):
        return np.zeros(len(wanted), dtype=np.bool_)
    after = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
    off = np.minimum(np.abs(keys[after] - wanted), np.abs(keys[np.maximum(after - 1, 0)] - wanted))
    return np.asarray(off < ON_FRAMING, dtype=np.bool_)


def _on_framing(lanes: Sequence[Lane], owner: Ints, place: Floats, *, upright: bool) -> Bools:
    """Whether a line that runs with the framing lies on it, or is blocked.

    `upright` names the lay whose lines run with the framing here.
    """
    runs_with = np.array([lane.upright == upright for lane in lanes])[owner]
    blocked = np.array([lane.sheathing.blocking for lane in lanes])[owner]
    framing = np.array([lane.sheathing.framing for lane in lanes])[owner]
    off = np.abs(place - np.round(place / framing) * framing)
    return np.asarray(blocked | (runs_with & (off < ON_FRAMING)), dtype=np.bool_)


def _across(lanes: Sequence[Lane], grid: Grid) -> tuple[Lines, Lines]:
    """Lines that run across the rows: panel ends; framing within rows of level panels."""
    ends = np.flatnonzero(np.diff(grid.cell_row, prepend=-1) == 0)
    end_row = grid.cell_row[ends]
    studs = [
        number * grid.width + _multiples(sheet.sheathing.framing, sheet.size[0])
        for number, sheet in enumerate(lanes)
        if not sheet.upright
    ]
    cuts = shifts(grid.row_lane[end_row], grid.width) + grid.cell_low[ends]
    values = np.concatenate([cuts, *studs])
    line = clusters(values, SAME_LINE)
    keys = np.full(int(line.max(initial=-1)) + 1, np.inf)
    np.minimum.at(keys, line, values)
    is_stud = np.zeros(len(keys), dtype=np.bool_)
    is_stud[line[len(ends) :]] = True
    found, row = _by_rows(lanes, grid, keys)
    owner = grid.row_lane[row]
    place = keys[found.line] - shifts(owner, grid.width)
    backed = _on_framing(lanes, owner, place, upright=False)
    number = _counted(keys, np.unique(line[: len(ends)]), grid.width)[found.line]
    lines = Lines(owner, row, place, found.start, found.end, backed, number)
    cut = np.isin(row * len(keys) + found.line, end_row * len(keys) + line[: len(ends)])
    stud = (
        is_stud[found.line]
        & ~cut
        & ~_near(shifts(end_row, grid.width) + grid.cell_low[ends], shifts(row, grid.width) + place)
    )
    long_enough = lines.length > LEAST
    return lines.keep(cut & long_enough), lines.keep(stud & long_enough)


def _counted(keys: Floats, cuts: Ints, width: float) -> Ints:
    """Number of each line among the lines of its lane that panels are cut at, from 1; 0 for others."""
    number = np.zeros(len(keys), dtype=np.int64)
    lane = np.floor((keys[cuts] + TOUCH) / width).astype(np.int64)
    number[cuts] = np.arange(1, len(cuts) + 1) - np.searchsorted(lane, lane)
    return number


def _by_rows(lanes: Sequence[Lane], grid: Grid, keys: Floats) -> tuple[Stretches, Ints]:
    """Lines across the rows, cut at them: stretches and their rows."""
    found = inside(_shifted(lanes, grid.width, swap=False), keys)
    lane = np.floor((keys[found.line] + TOUCH) / grid.width).astype(np.int64)
    which, row = grid.rows_of(lane, found.start, found.end)
    start = np.maximum(found.start[which], grid.row_low[row])
    end = np.minimum(found.end[which], grid.row_high[row])
    return Stretches(found.line[which], start, end), row


def pattern(lanes: Sequence[Lane], grid: Grid) -> Pattern:
    """Find all seams and framing lines.

    Parameters
    ----------
    lanes : sequence of Lane
    grid : Grid

    Returns
    -------
    Pattern
    """
    long_edges, upright_framing = _along(lanes, grid)
    ends, level_framing = _across(lanes, grid)
    field = joined([upright_framing, level_framing])
    return Pattern(long_edges, ends, field)
