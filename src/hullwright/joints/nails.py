"""Fasteners from schedule, panel by panel: edge rows, plates, field rows, and which heads a seam band covers.

A row of length L at spacing s has ``ceil(L/s) + 1`` fasteners. A panel laid across its supports, unblocked, has
``N = 2(W/e + 1) + (n - 2)(W/f + 1)`` of them: edge rows at its two ends, field rows on the supports between. Where a level edge is
nailed too (plate, blocking), its row counts ``ceil(L/e) - 1`` between the rows that run with the framing, and a field row that
ends on it leaves its last nail to it. Edge rows and the first and last head of each field row lie under a seam band.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from hullwright.joints.grid import CELL_LEAST, Grid
from hullwright.joints.lanes import Lane
from hullwright.joints.scan import shifts
from hullwright.joints.seams import Lines, Pattern

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
LEAST_ROW = 0.02  # m: a strip shorter than that takes no fastener


@dataclass(frozen=True, slots=True)
class Nails:
    """Fasteners of each lane: in all, and heads that no seam band covers."""

    total: Floats
    bare: Floats


def _spaces(length: Floats, spacing: Floats) -> Floats:
    return np.ceil(length / spacing - 1e-6)


def _spacing(lanes: Sequence[Lane]) -> tuple[Floats, Floats]:
    edge = np.array([lane.sheathing.fasteners.edge for lane in lanes])
    field = np.array([lane.sheathing.fasteners.field for lane in lanes])
    return edge, field


def _edges_nailed(lanes: Sequence[Lane], roofs: Sequence[bool]) -> NDArray[np.bool_]:
    """Whether each polygon edge has wood behind: all but the level edges of a roof, where only the rafters hold the deck."""
    nailed = []
    for lane, roof in zip(lanes, roofs, strict=True):
        axis = 0 if lane.upright else 1
        level = np.abs(lane.edges[:, axis] - lane.edges[:, axis + 2]) < 1e-6
        nailed.append(~level | (not roof) | lane.sheathing.blocking)
    return np.concatenate(nailed)


def _edge_rows(lanes: Sequence[Lane], grid: Grid, nailed: NDArray[np.bool_]) -> Floats:
    """Fasteners along the face's own edges and its openings, by lane."""
    lane = grid.row_lane[grid.cell_row[grid.piece_cell]]
    step = np.abs(grid.pieces[:, 2:] - grid.pieces[:, :2])
    length = np.hypot(step[:, 0], step[:, 1])
    upright = np.array([sheet.upright for sheet in lanes])[lane]
    level = np.where(upright, step[:, 0], step[:, 1]) < 1e-6
    use = nailed[grid.piece_edge] & (length > LEAST_ROW)
    count = _spaces(length, _spacing(lanes)[0][lane]) + np.where(level, -1, 1)
    return np.asarray(np.bincount(lane[use], count[use], minlength=len(lanes)), dtype=np.float64)


def _per_panel(grid: Grid, lines: Lines) -> tuple[Ints, Floats]:
    """Cut lines along rows at the panels on both sides: line number and length of each piece."""
    owners, lengths = [], []
    for back in (0, 1):
        row = lines.row - back
        which, cell = grid.cells_of(row, lines.start, lines.end)
        low = np.maximum(lines.start[which], grid.cell_low[cell])
        high = np.minimum(lines.end[which], grid.cell_high[cell])
        owners.append(which)
        lengths.append(high - low)
    return np.concatenate(owners), np.concatenate(lengths)


def _seam_rows(lanes: Sequence[Lane], grid: Grid, lines: Pattern) -> Floats:
    """Fasteners along backed seams, one row in each of the two panels, by lane."""
    edge = _spacing(lanes)[0]
    upright = np.array([sheet.upright for sheet in lanes])
    which, length = _per_panel(grid, lines.long_edges)
    lane = lines.long_edges.lane[which]
    use = lines.long_edges.backed[which] & (length > LEAST_ROW)
    count = _spaces(length, edge[lane]) + np.where(upright[lane], 1, -1)
    total = np.bincount(lane[use], count[use], minlength=len(lanes))
    ends = lines.ends.keep(lines.ends.backed & (lines.ends.length > LEAST_ROW))
    count = 2 * (_spaces(ends.length, edge[ends.lane]) + np.where(upright[ends.lane], -1, 1))
    return np.asarray(total + np.bincount(ends.lane, count, minlength=len(lanes)), dtype=np.float64)


def _field_rows(lanes: Sequence[Lane], grid: Grid, lines: Pattern, roofs: Sequence[bool]) -> Nails:
    """Fasteners on framing between panel edges, by lane."""
    upright = np.array([sheet.upright for sheet in lanes])
    split = _by_panel(grid, lines.field.keep(upright[lines.field.lane]))
    straight = lines.field.keep(~upright[lines.field.lane])
    blocked = np.array([sheet.sheathing.blocking for sheet in lanes])
    nailed = blocked | ~np.array(roofs)
    total = np.zeros(len(lanes))
    bare = np.zeros(len(lanes))
    for rows, seams in ((straight, lines.long_edges), (split, lines.ends)):
        used = rows.keep(rows.length > LEAST_ROW)
        spaces = _spaces(used.length, _spacing(lanes)[1][used.lane])
        shared = _shared_ends(grid, used, seams, nailed)
        total += np.bincount(used.lane, spaces + 1 - shared, minlength=len(lanes))
        bare += np.bincount(used.lane, spaces - 1, minlength=len(lanes))
    return Nails(total, bare)


def _by_panel(grid: Grid, lines: Lines) -> Lines:
    """Cut framing lines along rows of upright panels at the panels."""
    which, cell = grid.cells_of(lines.row, lines.start, lines.end)
    low = np.maximum(lines.start[which], grid.cell_low[cell])
    high = np.minimum(lines.end[which], grid.cell_high[cell])
    return replace(lines.keep(which), start=low, end=high)


def _keys(grid: Grid, lines: Lines) -> Floats:
    return np.unique(np.round(shifts(lines.lane, grid.width) + lines.place, 4))


def _near(keys: Floats, wanted: Floats) -> NDArray[np.bool_]:
    """Whether each wanted key is among the sorted keys, to 1 mm."""
    if not len(keys):
        return np.zeros(len(wanted), dtype=bool)
    at = np.minimum(np.searchsorted(keys, wanted - 1e-3), len(keys) - 1)
    near: NDArray[np.bool_] = np.abs(keys[at] - wanted) < 1e-3
    return near


def _shared_ends(grid: Grid, rows: Lines, seams: Lines, plates: NDArray[np.bool_]) -> Ints:
    """How many ends of each field row lie on a nailed level edge (0 to 2)."""
    on_seam, unbacked = _keys(grid, seams), _keys(grid, seams.keep(~seams.backed))
    shared = np.zeros(len(rows.lane), dtype=np.int64)
    for end in (rows.start, rows.end):
        wanted = shifts(rows.lane, grid.width) + end
        shared += np.where(_near(on_seam, wanted), ~_near(unbacked, wanted), plates[rows.lane])
    return shared


def nails(lanes: Sequence[Lane], grid: Grid, lines: Pattern, roofs: Sequence[bool]) -> Nails:
    """Count fasteners by lane.

    Parameters
    ----------
    lanes : sequence of Lane
    grid : Grid
    lines : Pattern
        Seams with their backing, and framing lines.
    roofs : sequence of bool
        Whether each lane is a roof deck: its level edges hang between rafters.

    Returns
    -------
    Nails
    """
    edges = _edge_rows(lanes, grid, _edges_nailed(lanes, roofs))
    field = _field_rows(lanes, grid, lines, roofs)
    return Nails(edges + _seam_rows(lanes, grid, lines) + field.total, field.bare)


def counts(lanes: Sequence[Lane], grid: Grid) -> tuple[Ints, Ints]:
    """Whole panels and cut pieces by lane (a cell with panel above and below an opening is one piece).

    Returns
    -------
    whole, cut : ndarray
    """
    lane = grid.row_lane[grid.cell_row]
    length = np.array([sheet.sheathing.panel_length for sheet in lanes])[lane]
    width = np.array([sheet.sheathing.panel_width for sheet in lanes])[lane]
    full = (np.abs(grid.cell_high - grid.cell_low - length) < 1e-3) & (
        np.abs((grid.row_high - grid.row_low)[grid.cell_row] - width) < 1e-3
    )
    whole = full & (np.abs(grid.cell_area - length * width) < CELL_LEAST)
    used = grid.cell_area > CELL_LEAST
    return np.bincount(lane[whole], minlength=len(lanes)), np.bincount(
        lane[used & ~whole], minlength=len(lanes)
    )
