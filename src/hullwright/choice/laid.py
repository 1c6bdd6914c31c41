"""How an option lies on a run: how wide, how thick, how much bead; what a crew draws and lays in true size."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from hullwright.catalog import Catalog, Product
from hullwright.choice.films import FILMS, film_of
from hullwright.choice.options import Option
from hullwright.choice.takes import GUNNED, takes
from hullwright.joints.model import Run
from hullwright.material.aim import Aim
from hullwright.material.bead import LEAST_WIDTH, one_bead, sealant_joint

_TAPES: Final = frozenset({"tape", "stretch tape"})


@dataclass(frozen=True, slots=True)
class Laid:
    """What lies on a run once an option is done; None where the method has no such thing.

    Parameters
    ----------
    width : float or None
        Width of tape, gasket, film or sealant along a joint [m]; round a piece: how far it reaches from the piece; on a head or
        a corner: width of the spot. None for a whole face.
    film : Aim or None
        Least, aim and greatest of the film, and the readings that prove it.
    gap : float or None
        Gap under it, mean over the run [m]; None where nothing gapes.
    bead : float or None
        Diameter of the one round bead that holds what a joint takes [m]: film, fillet, and the gap where it isn't
        filled first.
    lap : float or None
        Lap of one strip of tape on the next [m].
    """

    width: float | None = None
    film: Aim | None = None
    gap: float | None = None
    bead: float | None = None
    lap: float | None = None

    @property
    def wet(self) -> float | None:
        """Wet film aimed at [m]."""
        return None if self.film is None else self.film.aim_wet

    @property
    def least_wet(self) -> float | None:
        """Least wet film [m]."""
        return None if self.film is None else self.film.least_wet

    def to_json(self) -> dict[str, float | None]:
        """Sizes as JSON: metres, films in micrometres, dry and wet."""
        shown = {} if self.film is None else self.film.to_json()
        films = ("least_um", "aim_um", "greatest_um", "least_wet_um", "greatest_wet_um", "readings")
        return {
            "width_m": self.width,
            "wet_um": shown.get("aim_wet_um"),
            **{key: shown.get(key) for key in films},
            "gap_m": self.gap,
            "bead_m": self.bead,
            "lap_m": self.lap,
        }


def laid(run: Run, option: Option, catalog: Catalog) -> Laid:
    """Sizes of an option on a run.

    Parameters
    ----------
    run : Run
    option : Option
    catalog : Catalog

    Returns
    -------
    Laid
        Of the same product figures that the packs are worked out from.

    Examples
    --------
    >>> from hullwright.catalog import load
    >>> from hullwright.choice.laid import Laid
    >>> Laid(width=0.05).to_json()["width_m"]
    0.05
    """
    product = catalog.products.get(option.product)
    if product is None:
        return Laid()
    gap = run.gap if run.gap > 0 else None
    if product.form in FILMS:
        return _film(run, option, product, catalog, gap)
    if product.form in GUNNED:
        return _gunned(run, catalog, gap)
    lap = catalog.value("size.lap") if product.form in _TAPES else None
    return Laid(width=product.width or None, gap=gap, lap=lap)


def _film(run: Run, option: Option, product: Product, catalog: Catalog, gap: float | None) -> Laid:
    aim = film_of(product, catalog)
    if aim is None or product.form == "coat":
        return Laid(film=aim, gap=gap)
    if run.kind.piece:
        return Laid(width=_reach(run, catalog), film=aim, gap=gap)
    # A gap that is filled first, by another product or by this one, takes a pass of its own.
    found = takes(run, option, catalog)
    own = found.film + found.fillet + (0.0 if option.filler else found.gap)
    return Laid(product.width, aim, gap, one_bead(own / run.quantity))


def _reach(run: Run, catalog: Catalog) -> float:
    row = catalog.kinds[run.kind.value].row
    if row == "overdriven":
        return catalog.value("size.spot")
    if row in ("opening corner", "three-way corner"):
        return catalog.value("size.corner_film")
    return catalog.value("size.leg")


def _gunned(run: Run, catalog: Catalog, gap: float | None) -> Laid:
    if run.kind.piece:  # a fillet round the piece, its section taken full as in the packs
        leg = catalog.value("size.fillet")
        return Laid(width=leg, gap=gap, bead=one_bead(leg**2))
    joint = sealant_joint(max(run.gap, LEAST_WIDTH.value))
    return Laid(width=joint.width, gap=gap, bead=one_bead(joint.section))
