"""What an option takes on a run: the one sum that plan, order, over-application table, card and use call.

film at the aim x width, the gap that it fills, fillets, laps, waste; with the hours also what cures overnight in its opened pack.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from hullwright.catalog import Catalog, Product
from hullwright.choice.films import film_of
from hullwright.choice.options import Option
from hullwright.joints.model import Run
from hullwright.material import film, pieces, tape
from hullwright.material.bead import LEAST_WIDTH, sealant_joint
from hullwright.material.packs import evening_loss

GUNNED: Final = frozenset({"sealant", "listed system"})


@dataclass(frozen=True, slots=True)
class Takes:
    """What an option takes on a run.

    Parameters
    ----------
    film, gap, fillet : float
        Wet material of its own product as laid [m3]: on the surface, into open gaps, in fillets.
    gap_deep : float
        What the gaps take where they are filled through the whole panel [m3].
    packs : mapping
        Product id to packs, waste counted, fractions kept; what cures overnight within.
    gap_packs, gap_packs_deep : mapping
        Of these what goes into gaps, and what would go into them through the whole panel.
    """

    film: float
    gap: float
    fillet: float
    gap_deep: float
    packs: Mapping[str, float]
    gap_packs: Mapping[str, float]
    gap_packs_deep: Mapping[str, float]

    @property
    def laid(self) -> float:
        """All wet material of its own product [m3]."""
        return self.film + self.gap + self.fillet


def open_gap(run: Run, catalog: Catalog, *, deep: bool = False) -> film.Gap:
    """Gap that is filled along a run, as a mean over its length.

    Parameters
    ----------
    run : Run
    catalog : Catalog
        With the share of the length that stands open and the usual depth of the fill: estimates until a mock-up.
    deep : bool
        Through the whole panel.

    Returns
    -------
    Gap
        None for pieces: what is sealed round them is film and fillet.
    """
    width = run.gap * catalog.value("gap.open_share")
    depth = run.depth if deep else min(catalog.value("gap.depth"), run.depth)  # it ends where the panel ends
    return film.NO_GAP if run.kind.piece or width <= 0 or depth <= 0 else film.Gap(width, depth)


def takes(run: Run, option: Option, catalog: Catalog, *, crew_days: float = 0.0) -> Takes:
    """Work out what an option takes on a run.

    Parameters
    ----------
    run : Run
    option : Option
    catalog : Catalog
    crew_days : float
        Days that the whole crew works on it: for what cures overnight in its opened pack; 0 leaves that out.

    Returns
    -------
    Takes
        A coat is counted by its face (:func:`coat_packs`); here only what goes before it.

    Examples
    --------
    >>> from hullwright.catalog import load
    >>> from hullwright.choice.options import Option
    >>> takes.__name__, load().value("gap.open_share")
    ('takes', 1.0)
    """
    used: defaultdict[str, float] = defaultdict(float)
    into: defaultdict[str, float] = defaultdict(float)
    deep: defaultdict[str, float] = defaultdict(float)
    product = catalog.products.get(option.product)
    if product is None:
        return Takes(0.0, 0.0, 0.0, 0.0, used, into, deep)
    sheet, heel = (0.0, 0.0) if option.method == "coat" else _surface(run, product, catalog)
    filler = _filler(option, product, catalog)
    gap = gap_deep = 0.0
    if filler is not None:
        gap = run.quantity * open_gap(run, catalog).section
        gap_deep = run.quantity * open_gap(run, catalog, deep=True).section
        used[filler.id] += _volume(gap, filler)
        into[filler.id] = _volume(gap, filler)
        deep[filler.id] = _volume(gap_deep, filler)
        if filler.id != product.id:
            gap = gap_deep = 0.0
    if option.method != "coat":
        used[product.id] += _main(run, product, sheet + heel, catalog)
        used[product.id] += evening_loss(crew_days, cures_in_pack=product.cures_in_pack)
    _before(run, option, catalog, used)
    return Takes(sheet, gap, heel, gap_deep, used, into, deep)


def section(run: Run, option: Option, catalog: Catalog) -> float:
    """Wet material of its own product that a metre of a run takes [m2]; 0 for what is not counted by the metre."""
    if run.kind.piece or run.quantity <= 0:
        return 0.0
    return takes(run, option, catalog).laid / run.quantity


def _filler(option: Option, product: Product, catalog: Catalog) -> Product | None:
    """What goes into an open gap: the filler that is planned, else the film itself; a sealant is the fill of its own joint."""
    if option.filler:
        return catalog.products[option.filler]
    return product if product.form == "liquid" and option.method != "coat" else None


def _before(run: Run, option: Option, catalog: Catalog, used: defaultdict[str, float]) -> None:
    """Add what goes before it: primer and blocking."""
    if option.primer:
        primer, product = catalog.products[option.primer], catalog.products[option.product]
        band, length = _band(run, product, catalog)
        used[primer.id] += tape.primer(length, band, primer.coverage, waste=primer.waste) / primer.pack
    if option.blocking:
        lumber = catalog.products[option.blocking]
        used[lumber.id] += run.quantity / (lumber.pack * (1.0 - lumber.waste))


def coat_packs(area: float, product: Product, catalog: Catalog) -> float:
    """Packs of a coat on an area [m2], waste counted, fractions kept."""
    aim = film_of(product, catalog)
    if aim is None:
        return 0.0
    return _volume(area * aim.aim_wet, product)


def _main(run: Run, product: Product, laid: float, catalog: Catalog) -> float:
    """Packs of the product itself on a run, open gaps left out."""
    if product.pack_unit == "piece":
        return run.quantity / product.pack
    if product.pack_unit == "m":
        return tape.rolls(_tape_length(run, catalog), product.pack, waste=product.waste)
    return _volume(laid, product)


def _surface(run: Run, product: Product, catalog: Catalog) -> tuple[float, float]:
    """Wet material on the surface and in fillets [m3]; 0 for what is no film and no bead."""
    aim = film_of(product, catalog)
    if aim is not None:
        if run.kind.piece:
            one = cover(run, catalog)
            return run.quantity * one.area * aim.aim_wet, run.quantity * one.fill
        return run.quantity * film.joint_section(product.width, aim.aim_wet), fillets(run, catalog)
    if product.form not in GUNNED:
        return 0.0, 0.0
    if run.kind.piece:  # a fillet round the piece, its section taken full
        return 0.0, run.quantity * _outline(run, catalog) * catalog.value("size.fillet") ** 2
    return run.quantity * sealant_joint(max(run.gap, LEAST_WIDTH.value)).section, 0.0


def _volume(laid: float, product: Product) -> float:
    """Packs for wet material laid [m3]."""
    return laid * film.Liquid(product.solids, waste=product.waste).bought_per_laid / product.pack


def _tape_length(run: Run, catalog: Catalog) -> float:
    if not run.kind.piece:
        strips = tape.Laying().strips(run.quantity)
        laps = max(strips, len(run.joints)) + len(run.joints)
        return run.quantity + laps * catalog.value("size.lap")
    return run.quantity * (_outline(run, catalog) + catalog.value("size.lap") * _sides(run))


def _outline(run: Run, catalog: Catalog) -> float:
    """Length of tape round one piece [m]."""
    row = catalog.kinds[run.kind.value].row
    if row in ("opening corner", "three-way corner"):
        return 2 * catalog.value("size.corner_patch")
    if row == "overdriven":
        return 2 * catalog.value("size.spot")
    if run.section_depth == 0:
        return math.pi * max(run.width, catalog.value("size.spot"))
    return 2 * (run.width + run.section_depth)


def _sides(run: Run) -> int:
    """Strips of tape round one piece."""
    return 1 if run.section_depth == 0 else 4


def _band(run: Run, product: Product, catalog: Catalog) -> tuple[float, float]:
    """Width and length of the primed band [m]."""
    if run.kind.piece:
        return product.width, run.quantity * _outline(run, catalog)
    return product.width, run.quantity


def film_area(run: Run, product: Product, catalog: Catalog) -> float:
    """Area of film that a liquid has on a run [m2]."""
    if run.kind.piece:
        return run.quantity * cover(run, catalog).area
    return run.quantity * product.width


FOLDED = frozenset(
    {"inside corner", "sill to concrete", "eave, rake", "roof to wall, valley, curb", "wall to ceiling"}
)


def fillets(run: Run, catalog: Catalog) -> float:
    """Fillet in the heel of a folded joint [m3]."""
    if catalog.kinds[run.kind.value].row not in FOLDED:
        return 0.0
    return pieces.fillet_run(run.quantity, catalog.value("size.fillet")).fill


def cover(run: Run, catalog: Catalog) -> pieces.Cover:
    """Film and fillet of one piece."""
    row = catalog.kinds[run.kind.value].row
    leg, heel = catalog.value("size.leg"), catalog.value("size.fillet")
    patch = catalog.value("size.corner_film")
    if row == "overdriven":
        return pieces.spot(catalog.value("size.spot"))
    if row == "opening corner":
        return pieces.opening_corner(patch, depth=leg * 2, face=leg, fillet_leg=heel)
    if row == "three-way corner":
        return pieces.three_way_corner(patch)
    width = max(run.width, catalog.value("size.spot"))
    if run.section_depth == 0:
        return pieces.pipe(width, leg, on_pipe=leg, fillet_leg=heel)
    return pieces.rectangle(width, run.section_depth, leg, on_piece=leg, fillet_leg=heel)
