"""Which holes stand open by the log: what the continuity report counts beside the drawn hull."""

from __future__ import annotations

from typing import Any

from hullwright.app.house import Source
from hullwright.app.spots import log_of
from hullwright.building.model import Building
from hullwright.proof.holes import Register, register
from hullwright.store.backup import is_there


def holes_of(source: Source, store: str | None = None) -> Register | None:
    """Give the register of a house where a log exists; None, and no log is begun, where it does not.

    Parameters
    ----------
    source : path or Building
        A building that is not a file has no name in the log.
    store : str or None

    Returns
    -------
    Register or None
    """
    if isinstance(source, Building):
        return None
    log = log_of(str(source), store)
    if not is_there(log.path):
        return None
    entries = log.entries()
    return register(entries) if entries else None


def holes_json(found: Register | None) -> dict[str, Any]:
    """Give the keys of ``check --json``: how many holes are open, and which; None where nothing is logged."""
    if found is None:
        return {"open_holes": None, "holes": []}
    return {"open_holes": len(found.open), "holes": [hole.to_json() for hole in found.open]}
