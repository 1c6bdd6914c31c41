"""Least, aim and greatest of each product for this crew: the one place that choice, order, card, use and record ask.

What the building file states of the crew's film (spread, gauge, readings, by product or for ``any``) comes in as figures of the
catalogue; where it states nothing the spread is an estimate, marked.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import lru_cache
from typing import Final

from hullwright.catalog import Catalog, Product
from hullwright.evidence import Evidence
from hullwright.material.aim import Aim, Hand, Range, Worth, aim_for
from hullwright.material.film import Liquid

FILMS: Final = frozenset({"liquid", "coat"})
UNTIL_SHOWN: Final = "until a mock-up or the log shows this crew's own"


def film_of(product: Product, catalog: Catalog) -> Aim | None:
    """Give least, aim and greatest of a product.

    Parameters
    ----------
    product : Product
    catalog : Catalog
        Of the job: with what is stated of the crew.

    Returns
    -------
    Aim or None
        None for what is no film.

    Examples
    --------
    >>> from hullwright.catalog import load
    >>> catalog = load()
    >>> found = film_of(catalog.products["silyl-flashing-20"], catalog)
    >>> found.least < found.aim <= found.greatest, found.provable
    (True, True)
    """
    if product.form not in FILMS:
        return None
    films = range_of(product)
    return _aim(films, hand_of(product, films, catalog), _worth(product, catalog))


_aim = lru_cache(maxsize=1024)(aim_for)


def range_of(product: Product) -> Range:
    """Give the films of a sheet; a sheet that states only the film it aims at is taken at its word: nothing below it is enough."""
    return Range(
        product.least or product.stated_aim,
        product.greatest or math.inf,
        product.stated_aim,
        Liquid(product.solids, waste=product.waste),
    )


def hand_of(product: Product, films: Range, catalog: Catalog) -> Hand:
    """Give how the crew lays and reads a product: as stated for it, as stated for any, else by estimate."""

    def stated(key: str) -> float:
        return catalog.find(f"film.{key}.{product.id}") or catalog.find(f"film.{key}.any") or 0.0

    step, readings, pooled = stated("gauge"), int(stated("readings")), stated("pooled")
    for key in (product.id, "any"):
        known = catalog.figures.get(f"film.spread.{key}")
        if known is not None:
            return Hand(known.value, known.evidence, step, readings, pooled)
    share = catalog.figure("film.spread_share")
    source = f"{share.value:.0%} of the least wet film, {UNTIL_SHOWN}"
    spread = share.value * films.least * films.liquid.wet_per_dry
    return Hand(spread, Evidence(share.evidence.mark, source), step, readings)


def with_spread(product: Product, catalog: Catalog, spread: float, *, pooled: float = 0.0) -> Aim:
    """Give what the films would be with another spread of the crew [m], as for what a steadier hand would save."""
    films = range_of(product)
    hand = replace(hand_of(product, films, catalog), spread=spread, pooled=pooled)
    return _aim(films, hand, _worth(product, catalog))


def money_per_film(product: Product, area: float) -> float:
    """Money for 1 m more of dry film over an area [m2]."""
    liquid = Liquid(product.solids, waste=product.waste)
    return area * liquid.wet_per_dry * liquid.bought_per_laid / product.pack * product.price


def lot_area(product: Product, catalog: Catalog) -> float:
    """Area of film in a usual lot [m2]: a band along joints, or a coat."""
    if product.form == "coat":
        return catalog.value("film.lot_area")
    return product.width * catalog.value("film.lot_length")


def _worth(product: Product, catalog: Catalog) -> Worth:
    """Money of film and readings over a usual lot, in which number of readings and aim are weighed."""
    reading = catalog.value("film.reading") * catalog.value("film.hour")
    return Worth(money_per_film(product, lot_area(product, catalog)), reading)
