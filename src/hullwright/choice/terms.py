"""From a run and an option to the terms of the sums, by the catalogue's starting figures."""

from __future__ import annotations

from hullwright.catalog import Catalog
from hullwright.choice.options import Option, Spot
from hullwright.choice.unit_rates import flaws_on

Row = tuple[float, float, float, float, float, float]
"""Sound leakage, flaws, hole, gather, enters, open: all a unit, as in :class:`hullwright.choice.sums.Terms`."""

_DRY = (0.0, 0.0, 0.0)


def row_of(spot: Spot, catalog: Catalog) -> str:
    """Row of the starting figures of a run."""
    row = catalog.kinds[spot.run.kind.value].row
    return f"{row}, unbacked" if row == "panel seam" and not spot.run.backed else row


def terms_of(spot: Spot, option: Option, catalog: Catalog, *, practised: bool) -> Row:
    """Terms of one option.

    Parameters
    ----------
    spot : Spot
        The run with its surroundings.
    option : Option
    catalog : Catalog
    practised : bool
        Whether the crew has done the method before.

    Returns
    -------
    tuple of float
        Sound leakage [cm2 a unit], flaws a unit, hole [cm2], gather [m], enters, open [m a unit].
    """
    row = row_of(spot, catalog)
    if option.method == "unsealed":
        return _bare(spot, row, catalog)
    if option.method == "cut_tails":
        return (0.0, 0.0, 0.0, *_DRY)
    if option.blocking or option.method == "coat":
        row = catalog.kinds[spot.run.kind.value].row
    factor = surface(spot, option, catalog) * (1.0 if practised else catalog.value("factor.unpractised"))
    gather, enters = catches(spot, option, catalog)
    hole = catalog.value(f"flaw_area.{row}")
    piece = spot.run.kind.piece
    flaws = flaws_on(catalog.value, option.method, row, piece=piece)
    assert flaws is not None  # the catalogue says itself what is missing
    sound = 0.0 if piece else catalog.value(f"sound.{option.method}.{row}")
    return (sound, flaws * factor, hole, gather, enters, 0.0)


def _bare(spot: Spot, row: str, catalog: Catalog) -> Row:
    run = spot.run
    open_share = catalog.value("water.open_share")
    if row == "overdriven":
        wet = catalog.value("water.crater_width") * catalog.value("water.crater_share")
    elif catalog.kinds[run.kind.value].inert:
        wet = 0.0
    else:
        wet = open_share * (run.width if run.kind.piece else 1.0)
    unsealed = catalog.value(f"unsealed_each.{row}" if run.kind.piece else f"unsealed.{row}")
    return (unsealed, 0.0, 0.0, 0.0, 0.0, wet)


_PIECE_ROW = "metal or vinyl flange"
_AS = {
    "tape": "tape", "stretch": "stretch", "boot": "stretch", "liquid": "liquid", "coat": "liquid",
    "sealant": "liquid", "listed": "liquid",
}  # fmt: skip


def surface(spot: Spot, option: Option, catalog: Catalog) -> float:
    """Factor of the surface: the worst of both sides.

    Primed stretch tape takes the share that primer takes off plain tape (estimate). Gasket, collar, cover and weatherstrip
    press on what they meet and take no factor. At a piece the layer alone counts: the flaws of a pipe or a nail head hold
    the piece's own surface.
    """
    column = _AS.get(option.method)
    rows = spot.rows
    if spot.run.kind.piece and len(rows) > 1:
        rows = tuple(row for row in rows if row != _PIECE_ROW)
    if column is None or not rows:
        return 1.0
    return max(_factor(row, column, catalog, primed=bool(option.primer)) for row in rows)


def _factor(row: str, column: str, catalog: Catalog, *, primed: bool) -> float:
    if column == "tape":
        return catalog.value(f"surface.{row}.{'primed' if primed else 'tape'}")
    found = catalog.value(f"surface.{row}.{column}")
    if column == "stretch" and primed:
        return found * catalog.value(f"surface.{row}.primed") / catalog.value(f"surface.{row}.tape")
    return found


def catches(spot: Spot, option: Option, catalog: Catalog) -> tuple[float, float]:
    """Width a flaw takes water from [m] and share that enters."""
    row = catalog.kinds[spot.run.kind.value].row
    if row == "overdriven":
        name = "crater"
    elif (
        option.method in ("tape", "stretch")
        and spot.run.level
        and spot.group == "roof"
        and row == "panel seam"
    ):
        name = "fishmouth"
    else:
        name = "flaw"
    return catalog.value(f"water.{name}_width"), catalog.value(f"water.{name}_share")
