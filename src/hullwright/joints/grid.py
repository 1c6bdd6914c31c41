"""Where panels are cut: rows on each face, cuts along each row, and how much panel is left in each cell.

Running bond: rows start at the bottom edge (or the eave); every other row is shifted by the stagger. A panel's ends land on
framing, so the working length of a panel is the greatest multiple of the framing spacing that it reaches. A strip narrower than
the least offcut is not cut: it shares with its neighbour. Upright panels are taken a size longer instead (97 1/8 in, 9 ft and 10 ft
panels are usual: common practice, no source), so a wall a little higher than the panel has no seam across it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.joints.lanes import Lane
from hullwright.joints.scan import LEAST, ranges, shifts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
TOUCH: Final = 1e-6  # m
ON_FRAMING: Final = 0.01  # m off the middle of a stud or rafter that still gives a panel edge its bearing
CELL_LEAST: Final = 1e-4  # m2: less panel than that is drawing noise


def working_length(lane: Lane) -> float:
    """Panel length that lands on framing [m].

    A panel laid across the framing is cut back to the last member it reaches; one that reaches none keeps its length.
    """
    sheathing = lane.sheathing
    reach = math.floor((sheathing.panel_length + ON_FRAMING) / sheathing.framing)
    if lane.upright or reach < 1:
        return sheathing.panel_length
    landed = reach * sheathing.framing
    return landed if abs(landed - sheathing.panel_length) > 1e-9 else sheathing.panel_length


def cuts(
    start: float, end: float, *, first: float, pitch: float, least: float, grid: float, longer: bool = False
) -> list[float]:
    """Cuts of one row or of the rows themselves.

    Parameters
    ----------
    start, end : float
        Extent to be covered [m].
    first : float
        A place of the running pattern (any of its cuts) [m].
    pitch : float
        Panel to panel [m].
    least : float
        Narrowest strip that is cut [m].
    grid : float
        Framing spacing that a shared cut must land on, 0 for none [m].
    longer : bool
        The panel comes in a next greater length: a strip below the least is not cut and shared, it belongs to a longer panel.

    Returns
    -------
    list of float
        Cuts strictly between start and end [m].

    Examples
    --------
    >>> cuts(0, 5.2, first=2.4, pitch=2.4, least=0.3, grid=0.4)
    [2.4, 4.8]
    >>> [round(cut, 3) for cut in cuts(0, 5, first=2.4, pitch=2.4, least=0.3, grid=0.4)]
    [2.4, 3.6]

    An 8'-1 1/8" wall is covered by one 97 1/8 in panel, not by two halves:

    >>> cuts(0, 2.467, first=0, pitch=2.4384, least=0.3, grid=0, longer=True)
    []
    """
    if longer and end - start <= pitch + least - TOUCH:
        return []
    number = math.floor((start + LEAST - first) / pitch) + 1
    places: list[float] = []
    place = first + number * pitch
    while place < end - LEAST:
        places.append(place)
        number += 1
        place = first + number * pitch
    if longer and places and end - places[-1] < least - TOUCH:
        del places[-1]
    if longer and places and places[0] - start < least - TOUCH:
        del places[0]
    if places and end - places[-1] < least - TOUCH:
        _share(places, (places[-2] if len(places) > 1 else start, end), -1, pitch, grid)
    if places and places[0] - start < least - TOUCH:
        _share(places, (start, places[1] if len(places) > 1 else end), 0, pitch, grid)
    return places


def _share(places: list[float], span: tuple[float, float], which: int, pitch: float, grid: float) -> None:
    """Move or drop a cut so that a strip and its neighbour share the width."""
    start, end = span
    if end - start <= pitch + TOUCH:
        del places[which]
        return
    middle = (start + end) / 2
    if grid > 0:
        landed = math.floor(middle / grid + 1e-6) * grid
        if end - landed > pitch + TOUCH:
            landed += grid
        middle = landed if start + LEAST < landed < end - LEAST else middle
    places[which] = middle


@dataclass(frozen=True, slots=True)
class Grid:
    """Rows and cells of all lanes, as columns.

    Parameters
    ----------
    width : float
        Lane width: greater than any extent [m].
    row_lane, row_low, row_high : ndarray
        Rows, sorted by lane and height [m].
    cell_row, cell_low, cell_high : ndarray
        Cells, sorted by row and place [m].
    cell_area : ndarray
        Panel left in each cell [m2].
    pieces, piece_cell, piece_edge : ndarray
        Polygon edges cut at rows and cuts: (n, 4) [m], their cell and edge number.
    """

    width: float
    row_lane: Ints
    row_low: Floats
    row_high: Floats
    cell_row: Ints
    cell_low: Floats
    cell_high: Floats
    cell_area: Floats
    pieces: Floats
    piece_cell: Ints
    piece_edge: Ints

    def rows_of(self, lane: Ints, low: Floats, high: Floats) -> tuple[Ints, Ints]:
        """Spread stretches over the rows they cross: which stretch, which row."""
        return _spread(shifts(lane, self.width), low, high, shifts(self.row_lane, self.width) + self.row_low)

    def cells_of(self, row: Ints, low: Floats, high: Floats) -> tuple[Ints, Ints]:
        """Spread stretches along rows over the cells they cross: which stretch, which cell."""
        return _spread(shifts(row, self.width), low, high, shifts(self.cell_row, self.width) + self.cell_low)


def _spread(shift: Floats, low: Floats, high: Floats, starts: Floats) -> tuple[Ints, Ints]:
    first = np.searchsorted(starts, shift + low + TOUCH, side="right") - 1
    last = np.searchsorted(starts, shift + high - TOUCH, side="right") - 1
    return ranges(first, np.maximum(last - first + 1, 1))


def _row_lines(lane: Lane) -> list[float]:
    sheathing = lane.sheathing
    width, total = sheathing.panel_width, lane.size[1]
    inner = cuts(
        0.0,
        total,
        first=0.0,
        pitch=width,
        least=sheathing.least_offcut,
        grid=sheathing.framing if lane.upright else 0.0,
    )
    return [0.0, *inner, total]


def _clip(pieces: Floats, axis: int, low: Floats, high: Floats) -> Floats:
    """Cut segments to a band on one axis (0 or 1); segments along the band stay whole."""
    start, end = pieces[:, axis], pieces[:, axis + 2]
    step = end - start
    flat = np.abs(step) < TOUCH
    safe = np.where(flat, 1.0, step)
    t0 = np.where(flat, 0.0, np.clip((np.where(step > 0, low, high) - start) / safe, 0.0, 1.0))
    t1 = np.where(flat, 1.0, np.clip((np.where(step > 0, high, low) - start) / safe, 0.0, 1.0))
    run = pieces[:, 2:] - pieces[:, :2]
    return np.concatenate([pieces[:, :2] + t0[:, None] * run, pieces[:, :2] + t1[:, None] * run], axis=1)


def _row_cuts(lane: Lane, row: int, low: float, high: float) -> list[float]:
    sheathing = lane.sheathing
    pitch = working_length(lane)
    shift = sheathing.stagger if row % 2 else 0.0
    grid = 0.0 if lane.upright else sheathing.framing
    if grid > 0:
        shift = round(shift / grid) * grid
    least = sheathing.least_offcut
    return cuts(low, high, first=shift, pitch=pitch, least=least, grid=grid, longer=lane.upright)


def _cells(
    lanes: Sequence[Lane], row_lane: Ints, extents: tuple[Floats, Floats]
) -> tuple[Ints, Floats, Floats]:
    owners: list[int] = []
    lows: list[float] = []
    highs: list[float] = []
    number, last = 0, -1
    for row, (lane, low, high) in enumerate(
        zip(row_lane.tolist(), extents[0].tolist(), extents[1].tolist(), strict=True)
    ):
        number = number + 1 if lane == last else 0
        last = lane
        inner = _row_cuts(lanes[lane], number, low, high) if high > low else []
        owners.extend([row] * (len(inner) + 1))
        lows.extend([low, *inner])
        highs.extend([*inner, max(high, low)])
    return np.array(owners, dtype=np.int64), np.array(lows), np.array(highs)


def lay(lanes: Sequence[Lane]) -> Grid:
    """Lay panels on every lane.

    Parameters
    ----------
    lanes : sequence of Lane
        At least one.

    Returns
    -------
    Grid
    """
    width = 2.0 * max(max(lane.size) for lane in lanes) + 10.0
    lines = [_row_lines(lane) for lane in lanes]
    row_lane = np.repeat(np.arange(len(lanes)), [len(line) - 1 for line in lines])
    row_low = np.concatenate([np.array(line[:-1]) for line in lines])
    row_high = np.concatenate([np.array(line[1:]) for line in lines])
    edges = np.concatenate([lane.edges for lane in lanes])
    edge_lane = np.repeat(np.arange(len(lanes)), [len(lane.edges) for lane in lanes])
    low, high = np.minimum(edges[:, 1], edges[:, 3]), np.maximum(edges[:, 1], edges[:, 3])
    edge, row = _spread(shifts(edge_lane, width), low, high, shifts(row_lane, width) + row_low)
    pieces = _clip(edges[edge], 1, row_low[row], row_high[row])
    extents = _extents(pieces, row, len(row_lane))
    cell_row, cell_low, cell_high = _cells(lanes, row_lane, extents)
    low, high = np.minimum(pieces[:, 0], pieces[:, 2]), np.maximum(pieces[:, 0], pieces[:, 2])
    which, cell = _spread(shifts(row, width), low, high, shifts(cell_row, width) + cell_low)
    pieces = _clip(pieces[which], 0, cell_low[cell], cell_high[cell])
    turn = np.array([1.0 if lane.upright else -1.0 for lane in lanes])[row_lane[cell_row]]
    area = _areas(pieces, cell, (cell_low, cell_high), turn)
    return Grid(
        width, row_lane, row_low, row_high, cell_row, cell_low, cell_high, area, pieces, cell, edge[which]
    )


def _extents(pieces: Floats, row: Ints, rows: int) -> tuple[Floats, Floats]:
    """Left and right end of the face within each row [m]."""
    rising = np.abs(pieces[:, 3] - pieces[:, 1]) > TOUCH
    left, right = np.full(rows, np.inf), np.full(rows, -np.inf)
    np.minimum.at(left, row[rising], np.minimum(pieces[rising, 0], pieces[rising, 2]))
    np.maximum.at(right, row[rising], np.maximum(pieces[rising, 0], pieces[rising, 2]))
    empty = left > right
    left[empty] = right[empty] = 0.0
    return left, right


def _areas(pieces: Floats, cell: Ints, bounds: tuple[Floats, Floats], turn: Floats) -> Floats:
    """Panel in each cell [m2]: the signed strip between each edge piece and the cell's right end, and the cover from the left."""
    low, high = bounds
    rise = pieces[:, 3] - pieces[:, 1]
    strip = rise * (high[cell] - (pieces[:, 0] + pieces[:, 2]) / 2)
    own = np.bincount(cell, rise, minlength=len(low))
    from_left = np.cumsum(own) - own
    return turn * (np.bincount(cell, strip, minlength=len(low)) + from_left * (high - low))
