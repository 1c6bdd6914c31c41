"""Panel seams: lines between rows, lines between the panels of a row, and the framing lines between them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hullwright.joints.grid import ON_FRAMING, Grid
from hullwright.joints.lanes import Lane
from hullwright.joints.scan import Stretches, inside, shifts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


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
    """

    lane: Ints
    row: Ints
    place: Floats
    start: Floats
    end: Floats
    backed: Bools

    @property
    def length(self) -> Floats:
        """Length of each [m]."""
        return self.end - self.start

    def keep(self, mask: Bools) -> Lines:
        """Those that the mask names."""
        return Lines(
            self.lane[mask],
            self.row[mask],
            self.place[mask],
            self.start[mask],
            self.end[mask],
            self.backed[mask],
        )


def joined(parts: Sequence[Lines]) -> Lines:
    """One table of several."""
    lane, row, place, start, end, backed = (
        np.concatenate([getattr(part, name) for part in parts])
        for name in ("lane", "row", "place", "start", "end", "backed")
    )
    return Lines(lane, row, place, start, end, backed)


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


def _places(lanes: Sequence[Lane], spots: Sequence[Floats], width: float) -> tuple[Ints, Floats]:
    """Lines to be scanned, each once: lane and place, sorted."""
    keys = np.concatenate([lane * width + spot for lane, spot in enumerate(spots)]) if lanes else np.empty(0)
    keys = np.unique(np.round(keys, 6))
    if len(keys):
        keys = keys[np.concatenate([[True], np.diff(keys) > 1e-5])]
    lane = np.floor(keys / width).astype(np.int64)
    return lane, keys


def _along(lanes: Sequence[Lane], grid: Grid) -> tuple[Lines, Lines]:
    """Lines that run along the rows: seams between rows; framing within rows of upright panels."""
    spots = [
        np.concatenate(
            [
                grid.row_low[
                    np.searchsorted(grid.row_lane, lane) + 1 : np.searchsorted(
                        grid.row_lane, lane, side="right"
                    )
                ],
                _multiples(sheet.sheathing.framing, sheet.size[1]) if sheet.upright else np.empty(0),
            ]
        )
        for lane, sheet in enumerate(lanes)
    ]
    lane, keys = _places(lanes, spots, grid.width)
    found = inside(_shifted(lanes, grid.width, swap=True), keys)
    owner, place = lane[found.line], keys[found.line] - shifts(lane[found.line], grid.width)
    starts = shifts(grid.row_lane, grid.width) + grid.row_low
    row = np.searchsorted(starts, keys[found.line] + 1e-5, side="right") - 1
    seam = np.abs(grid.row_low[row] - place) < 1e-5
    backed = _on_framing(lanes, owner, place, upright=True)
    lines = Lines(owner, row, place, found.start, found.end, backed)
    return lines.keep(seam), lines.keep(~seam)


def _on_framing(lanes: Sequence[Lane], owner: Ints, place: Floats, *, upright: bool) -> Bools:
    """Whether a line that runs with the framing lies on it, or is blocked.

    `upright` names the lay whose lines run with the framing here.
    """
    runs_with = np.array([lane.upright == upright for lane in lanes])[owner]
    blocked = np.array([lane.sheathing.blocking for lane in lanes])[owner]
    off = _off_grid(lanes, owner, place)
    return np.asarray(blocked | (runs_with & (off < ON_FRAMING)), dtype=np.bool_)


def _across(lanes: Sequence[Lane], grid: Grid) -> tuple[Lines, Lines]:
    """Lines that run across the rows: panel ends; framing within rows of level panels."""
    inner = np.ones(len(grid.cell_row), dtype=bool)
    inner[:1] = False
    inner[1:] = grid.cell_row[1:] == grid.cell_row[:-1]
    cell_lane = grid.row_lane[grid.cell_row]
    bounds = np.searchsorted(cell_lane, np.arange(len(lanes) + 1))
    spots = []
    for number, sheet in enumerate(lanes):
        cells = slice(bounds[number], bounds[number + 1])
        members = np.empty(0) if sheet.upright else _multiples(sheet.sheathing.framing, sheet.size[0])
        spots.append(np.concatenate([grid.cell_low[cells][inner[cells]], members]))
    lane, keys = _places(lanes, spots, grid.width)
    found = inside(_shifted(lanes, grid.width, swap=False), keys)
    which, row = grid.rows_of(lane[found.line], found.start, found.end)
    found = Stretches(
        found.line[which],
        np.maximum(found.start[which], grid.row_low[row]),
        np.minimum(found.end[which], grid.row_high[row]),
    )
    owner, place = lane[found.line], keys[found.line] - shifts(lane[found.line], grid.width)
    backed = _on_framing(lanes, owner, place, upright=False)
    lines = Lines(owner, row, place, found.start, found.end, backed)
    cut = grid.cut_at(row, place)
    level = np.array([not sheet.upright for sheet in lanes])[owner]
    studs = level & ~cut & (_off_grid(lanes, owner, place) < 1e-4)
    long_enough = lines.length > 2e-3
    return lines.keep(cut & long_enough), lines.keep(studs & long_enough)


def _off_grid(lanes: Sequence[Lane], owner: Ints, place: Floats) -> Floats:
    framing = np.array([lane.sheathing.framing for lane in lanes])[owner]
    off: Floats = np.abs(place - np.round(place / framing) * framing)
    return off


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
