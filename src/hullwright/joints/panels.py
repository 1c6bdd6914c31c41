"""Panels on every sheathed face: their seams, their number, their fasteners."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hullwright.building.model import Building
from hullwright.hull.model import FaceKind, Hull
from hullwright.joints.figures import figure
from hullwright.joints.floors import back_by_rim, floors, take_out
from hullwright.joints.grid import lay
from hullwright.joints.lanes import Lane, lanes
from hullwright.joints.model import Panels
from hullwright.joints.nails import Nails, counts, nails
from hullwright.joints.seams import Pattern, pattern

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_ROOFS = {FaceKind.ROOF, FaceKind.FLAT_ROOF}


@dataclass(frozen=True, slots=True)
class Seams:
    """Panel seams as columns.

    Parameters
    ----------
    face : ndarray (n,)
        Face numbers.
    points : ndarray (n, 2, 3)
        Ends [m].
    place : ndarray (n, 2)
        First end in the face's lay coordinates, level direction first [m].
    upright : ndarray of bool (n,)
        Runs with the framing (upright, up the slope); else level.
    backed : ndarray of bool (n,)
    number : ndarray (n,)
        Number of its line on the face, from the bottom or from the left.
    """

    face: Ints
    points: Floats
    place: Floats
    upright: NDArray[np.bool_]
    backed: NDArray[np.bool_]
    number: Ints


@dataclass(frozen=True, slots=True)
class Laid:
    """What laying the panels gave.

    Parameters
    ----------
    seams : Seams
    panels : tuple of Panels
        One for each sheathed face, in the order of faces.
    on_seam : ndarray of bool
        For each floor line of the hull, whether a seam runs in it.
    """

    seams: Seams
    panels: tuple[Panels, ...]
    on_seam: NDArray[np.bool_]


def lay_panels(building: Building, hull: Hull) -> Laid:
    """Lay panels on every sheathed face.

    Parameters
    ----------
    building : Building
        For its sheathing: panel, lay, gap, stagger, framing, blocking, fasteners.
    hull : Hull

    Returns
    -------
    Laid

    Raises
    ------
    InputError
        Where a face is sheathed and the building states no sheathing for its group.
    """
    sheets = lanes(building, hull)
    on_seam = np.zeros(len(hull.floor_lines), dtype=bool)
    if not sheets:
        none = np.empty(0, np.int64)
        empty = Seams(none, np.empty((0, 2, 3)), np.empty((0, 2)), np.empty(0, bool), np.empty(0, bool), none)
        return Laid(empty, (), on_seam)
    grid = lay(sheets)
    lines = pattern(sheets, grid)
    storeys = floors(sheets, hull.floor_lines, grid.width)
    lines = back_by_rim(sheets, lines, storeys, figure(building, "rim_depth"))
    found = nails(sheets, grid, lines, [hull.faces[sheet.face].kind in _ROOFS for sheet in sheets])
    panels = _panels(hull, sheets, found, counts(sheets, grid))
    lines, hit = take_out(sheets, lines, storeys, figure(building, "same_line"))
    on_seam[hit] = True
    return Laid(_columns(sheets, lines), panels, on_seam)


def _panels(
    hull: Hull, sheets: Sequence[Lane], found: Nails, number: tuple[Ints, Ints]
) -> tuple[Panels, ...]:
    whole, cut = number
    return tuple(
        Panels(
            face=hull.faces[sheet.face].id,
            whole=int(whole[lane]),
            cut=int(cut[lane]),
            fasteners=float(found.total[lane]),
            under_bands=float(found.total[lane] - found.bare[lane]),
        )
        for lane, sheet in enumerate(sheets)
    )


def _columns(sheets: Sequence[Lane], lines: Pattern) -> Seams:
    """Seams of both families in space."""
    along = np.stack([sheet.along for sheet in sheets])
    across = np.stack([sheet.across for sheet in sheets])
    origin = np.stack([sheet.origin for sheet in sheets])
    turned = np.array([sheet.upright for sheet in sheets])
    faces = np.array([sheet.face for sheet in sheets], dtype=np.int64)
    parts = []
    for part, along_rows in ((lines.long_edges, True), (lines.ends, False)):
        a0, a1, b0, b1 = (
            (part.start, part.end, part.place, part.place)
            if along_rows
            else (part.place, part.place, part.start, part.end)
        )
        ends = [
            origin[part.lane] + a[:, None] * along[part.lane] + b[:, None] * across[part.lane]
            for a, b in ((a0, b0), (a1, b1))
        ]
        swap = turned[part.lane]
        place = np.where(swap[:, None], np.stack([b0, a0], axis=1), np.stack([a0, b0], axis=1))
        parts.append(
            (
                faces[part.lane],
                np.stack(ends, axis=1),
                place,
                swap if along_rows else ~swap,
                part.backed,
                part.number,
            )
        )
    return Seams(*(np.concatenate([parts[0][i], parts[1][i]]) for i in range(6)))
