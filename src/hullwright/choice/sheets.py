"""Product sheets held against themselves: film, solids and coverage as printed."""

from __future__ import annotations

from dataclasses import replace

from hullwright.catalog import Catalog
from hullwright.errors import CatalogError, Problem, Where
from hullwright.material.sheet import cross_check


def check_sheets(catalog: Catalog) -> None:
    """Hold printed film, solids and coverage of each product against each other.

    Raises
    ------
    CatalogError
        Every disagreement at once.
    """
    problems: list[Problem] = []
    for product in catalog.products.values():
        printed = product.printed
        if not printed.get("coverage") or product.form == "primer":
            continue
        try:
            cross_check(
                wet=printed.get("wet", ()),
                dry=printed.get("dry", ()),
                solids=next(iter(printed.get("solids", ())), None),
                coverage=printed["coverage"],
            )
        except CatalogError as error:
            problems += [replace(p, where=_at(product.where, p.where)) for p in error.problems]
    if problems:
        raise CatalogError("product sheets disagree with themselves", problems)


def _at(sheet: Where, spot: Where) -> Where:
    key = ".".join(part for part in (sheet.key, spot.key) if part)
    return Where(sheet.file, sheet.line, sheet.column, key or None)
