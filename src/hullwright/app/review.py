"""Which entries of a log are held for review, and why: by their figures, and by the product sheets of the house."""

from __future__ import annotations

from collections.abc import Iterable

from hullwright.app.house import House, Source
from hullwright.app.site import catalog_of, opened
from hullwright.catalog import Catalog
from hullwright.errors import HullwrightError
from hullwright.proof.entries import Entry
from hullwright.proof.held import held


def sheets_of(source: Source | House | None) -> Catalog | None:
    """Give the product sheets of a house; None where its file can't be read, and nothing can be said of products.

    Parameters
    ----------
    source : path, Building, House or None
    """
    if source is None:
        return None
    try:
        return catalog_of(source)
    except HullwrightError:
        return None


def reasons(entries: Iterable[Entry], source: Source | House | None) -> dict[str, tuple[str, ...]]:
    """Say which entries are held for review.

    Parameters
    ----------
    entries : iterable of Entry
        As they were sent.
    source : path, Building, House or None
        The house, for its product sheets and the units of the reader; None looks at the figures only.

    Returns
    -------
    dict of str to tuple of str
        Reasons by id, of those that are held.
    """
    own = tuple(entries)
    named = any(entry.what.get("product") or entry.what.get("method") for entry in own)
    known = sheets_of(source) if named else None
    system = _system(source)
    found = ((entry.id, held(entry, known, system=system)) for entry in own)
    return {name: why for name, why in found if why}


def _system(source: Source | House | None) -> str:
    try:
        return "us" if source is None else opened(source).building.system
    except HullwrightError:
        return "us"
