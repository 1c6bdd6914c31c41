"""What is said at once about a gauge reading that was logged: by the least film of the product that it names."""

from __future__ import annotations

from hullwright.catalog import Catalog
from hullwright.choice.films import film_of
from hullwright.errors import InputError
from hullwright.proof.entries import Entry
from hullwright.proof.gauge_verdict import Said
from hullwright.proof.held import held
from hullwright.proof.lotbook import reading_of

READING = "gauge reading"


def said_of(entry: Entry, catalog: Catalog | None) -> Said | None:
    """Judge a gauge reading.

    Parameters
    ----------
    entry : Entry
    catalog : Catalog or None
        Of the house; None where its file can't be used just now.

    Returns
    -------
    Said or None
        None for what is no reading, is held for review, or names no product that has a film.
    """
    if entry.kind != READING or catalog is None or held(entry, catalog):
        return None
    product = catalog.products.get(str(entry.what.get("product", "")))
    aim = None if product is None else film_of(product, catalog)
    if aim is None:
        return None
    try:
        reading = reading_of(entry).reading
    except InputError:
        return None  # what can't be read is kept, and is said elsewhere
    return Said(reading.judge(aim.least_wet), reading.low, reading.high, aim.least_wet, aim.aim_wet)
