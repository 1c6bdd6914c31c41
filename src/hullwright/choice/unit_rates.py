"""What a method is taken to do on a kind of joint, before place, surface and preparation: the one source of it.

The plan counts with it, experience of earlier houses takes its place, and what a job's own counts are held against is it.
"""

from __future__ import annotations

from collections.abc import Callable

from hullwright.catalog import Catalog
from hullwright.joints.model import JointKind

Find = Callable[[str], float | None]
"""Value of a figure by its key, None where there is none."""


def flaws_on(find: Find, method: str, row: str, *, piece: bool) -> float | None:
    """Flaws a unit on a row of like kinds.

    Parameters
    ----------
    find : callable
    method, row : str
    piece : bool
        Whether the kind is counted in pieces.

    Returns
    -------
    float or None
        [1/m], or flaws a piece; None where the catalogue does not know the method on that row.

    Examples
    --------
    >>> figures = {"flaws.tape": 0.015, "place.tape.sill": 2.0, "each.tape.pipe": 0.4}
    >>> flaws_on(figures.get, "tape", "sill", piece=False), flaws_on(figures.get, "tape", "pipe", piece=True)
    (0.03, 0.4)
    """
    if piece:
        return find(f"each.{method}.{row}")
    flat, place = find(f"flaws.{method}"), find(f"place.{method}.{row}")
    return None if flat is None or place is None else flat * place


def hours_on(find: Find, method: str, row: str, *, piece: bool) -> float | None:
    """Person-hours a unit on a row of like kinds, on the ground, setup and preparation apart.

    Parameters
    ----------
    find : callable
    method, row : str
    piece : bool
        Whether the kind is counted in pieces.

    Returns
    -------
    float or None
        [h/m] or [h] a piece; None where the catalogue does not know the method on that row, or counts it by the face.

    Examples
    --------
    >>> hours_on({"hours.tape": 0.03, "slow.tape.sill": 1.5}.get, "tape", "sill", piece=False)
    0.045
    """
    if method == "coat":
        return None
    if piece:
        return find(f"hours_each.{method}.{row}")
    flat = find(f"hours.{method}")
    return None if flat is None else flat * (find(f"slow.{method}.{row}") or 1.0)


def planned_flaws(catalog: Catalog, method: str, kind: str, *, practised: bool = True) -> float | None:
    """Flaws a unit that a plan counts with on a kind of joint, on a surface that does no harm.

    Parameters
    ----------
    catalog : Catalog
    method, kind : str
    practised : bool
        Whether the crew has done the method before.

    Returns
    -------
    float or None
        [1/m], or flaws a piece; None where no plan could have it there.
    """
    return _on(catalog, method, kind, flaws_on, 1.0 if practised else catalog.value("factor.unpractised"))


def planned_hours(catalog: Catalog, method: str, kind: str, *, practised: bool = True) -> float | None:
    """Person-hours a unit that a plan counts with on a kind of joint, on the ground, setup and preparation apart.

    Parameters
    ----------
    catalog : Catalog
    method, kind : str
    practised : bool
        Whether the crew has done the method before.

    Returns
    -------
    float or None
        [h/m] or [h] a piece; None where no plan could have it there.
    """
    factor = 1.0 if practised else catalog.value("factor.unpractised_hours")
    if not _sealed(catalog, method, kind):
        return None
    return _on(catalog, method, kind, hours_on, factor)


def _on(
    catalog: Catalog, method: str, kind: str, rate: Callable[..., float | None], factor: float
) -> float | None:
    known = catalog.kinds.get(kind)
    if known is None or known.inert:
        return None
    found = rate(catalog.find, method, known.row, piece=_piece(kind))
    return None if found is None else found * factor


def _sealed(catalog: Catalog, method: str, kind: str) -> bool:
    """Whether the catalogue knows the method there at all."""
    known = catalog.kinds.get(kind)
    return known is not None and flaws_on(catalog.find, method, known.row, piece=_piece(kind)) is not None


def _piece(kind: str) -> bool:
    return JointKind(kind).piece
