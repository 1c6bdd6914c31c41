"""Default figures of leakage that were taken because the file states none, each with its evidence mark."""

from __future__ import annotations

from collections.abc import Iterable

from hullwright import catalog as catalog_room
from hullwright.building.model import Building
from hullwright.catalog import Catalog
from hullwright.evidence import Figure
from hullwright.hull.model import Face
from hullwright.units import Show


def sheet_defaults(catalog: Catalog) -> tuple[str, ...]:
    """Say what own product sheets leave out, and the usual value of their form that is taken for it.

    Parameters
    ----------
    catalog : Catalog
        Of the job.

    Returns
    -------
    tuple of str
        One line for each product and evidence mark.
    """
    lines: dict[tuple[str, str], list[str]] = {}
    for product in catalog.products.values():
        for one in product.usual:
            lines.setdefault((product.id, one.evidence.mark.value), []).append(one.told())
    return tuple(
        f"product {product}: {', '.join(texts)}, usual of its form [{mark}]"
        for (product, mark), texts in lines.items()
    )


def leak_defaults(building: Building, faces: Iterable[Face]) -> tuple[str, ...]:
    """Say which default ratings of units and panels are taken.

    Parameters
    ----------
    building : Building
    faces : iterable of Face
        Of the hull: which panels are on it.

    Returns
    -------
    tuple of str
        One line for each part of the file and evidence mark, as the other defaults are told.
    """
    ours, show = catalog_room.load(), Show(building.system)
    units = sorted({o.kind for o in building.openings if o.leakage is None})
    panels = sorted({face.substrate for face in faces if face.group})
    found: list[tuple[str, str, Figure]] = [
        ("openings", f"leakage of a {kind}", ours.figure(f"leak.{kind}"))
        for kind in units
        if f"leak.{kind}" not in building.figures
    ]
    found += [
        ("sheathing", f"air through {name}", ours.substrates[name].permeance)
        for name in panels
        if name in ours.substrates
    ]
    lines: dict[tuple[str, str], list[str]] = {}
    for part, what, figure in found:
        text = f"{what} {show.unit_leakage(figure.value)} at 75 Pa"
        lines.setdefault((part, figure.evidence.mark.value), []).append(text)
    return tuple(f"{part}: {', '.join(texts)} [{mark}]" for (part, mark), texts in lines.items())
