"""What the record adds to the drawing of a house: holes that revisions left in the wall, which are to be patched."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import numpy as np

from hullwright.app.drawn import drawn, with_methods_of
from hullwright.app.house import House, load
from hullwright.app.log import Log
from hullwright.app.spots import log_of
from hullwright.joints.model import Hole
from hullwright.proof.drawing import Issued
from hullwright.proof.entries import Entry
from hullwright.proof.ledger import standing
from hullwright.proof.patches import not_closed
from hullwright.store.backup import is_there
from hullwright.store.database import Store
from hullwright.store.drawings import drawings

_LAST: Final = datetime.max.replace(tzinfo=UTC)


def house_from_record(file: str | Path, store: str | None = None) -> House:
    """Give the house of a file with the holes that its record says are still to be patched.

    Parameters
    ----------
    file : str or Path
    store : str or None
        File, folder or server of the log; None for the usual place. No log is begun where there is none.

    Returns
    -------
    House
    """
    house, log = load(file), log_of(str(file), store)
    return with_holes(house, log) if is_there(log.path) else house


def with_holes(house: House, log: Log) -> House:
    """Give a house with the holes of its record: those that revisions left, and those that the file as it stands would leave.

    Parameters
    ----------
    house : House
        As its file stands.
    log : Log

    Returns
    -------
    House
    """
    with Store(log.path) as store:
        row, entries = drawings(store, log.house), log.entries()
    if not row:
        return house
    return replace(house, holes=_holes(house, row, standing(entries).entries))


def _holes(house: House, row: tuple[Issued, ...], entries: Sequence[Entry]) -> tuple[Hole, ...]:
    last = row[-1]
    drawing = with_methods_of(drawn(house, ""), last.drawing)
    if drawing.shape != last.drawing.shape:  # not issued yet: nobody has made an entry on it
        row = (*row, Issued(last.number + 1, _LAST, "", "", last.after, drawing))
    return tuple(
        Hole(patch.id, patch.mark, patch.face, np.asarray(patch.outline))
        for patch in not_closed(row, entries)
    )


def holes_json(house: House) -> list[dict[str, Any]]:
    """Give the holes of a house as JSON."""
    return [
        {
            "joint": hole.id,
            "mark": hole.mark,
            "face": hole.face,
            "outline_m": np.round(hole.outline, 6).tolist(),
        }
        for hole in house.holes
    ]


def holes_read(rows: Sequence[dict[str, Any]]) -> tuple[Hole, ...]:
    """Read what :func:`holes_json` gave."""
    return tuple(
        Hole(row["joint"], row["mark"], row["face"], np.asarray(row["outline_m"], dtype=np.float64))
        for row in rows
    )
