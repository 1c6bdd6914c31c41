"""What an option takes on a run: packs of each product, and hours."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping

from hullwright.catalog import Catalog, Product
from hullwright.choice.films import film_of
from hullwright.choice.options import Option
from hullwright.choice.unit_rates import hours_on
from hullwright.joints.model import Run
from hullwright.material import film, pieces, tape
from hullwright.material.bead import sealant_joint
from hullwright.material.packs import evening_loss

LADDER_STEPS = ("ladder", "scaffold", "high")


def access(height: float, catalog: Catalog) -> float:
    """Hours against the same work from the ground.

    Parameters
    ----------
    height : float
        Highest point above the ground [m].
    catalog : Catalog
    """
    reached = [step for step in LADDER_STEPS if height > catalog.value(f"access_height.{step}")]
    return catalog.value(f"access.{reached[-1]}" if reached else "access.ground")


def packs(run: Run, option: Option, catalog: Catalog) -> Mapping[str, float]:
    """Packs that an option takes on a run, waste counted, fractions kept, nothing lost overnight.

    Parameters
    ----------
    run : Run
    option : Option
    catalog : Catalog

    Returns
    -------
    mapping
        Product id to packs.
    """
    used: defaultdict[str, float] = defaultdict(float)
    product = catalog.products.get(option.product)
    if product is None:
        return used
    if option.method != "coat":
        used[product.id] += main_packs(run, product, catalog)
    if option.primer:
        primer = catalog.products[option.primer]
        band, length = _band(run, product, catalog)
        used[primer.id] += tape.primer(length, band, primer.coverage, waste=primer.waste) / primer.pack
    if option.filler:
        filler = catalog.products[option.filler]
        used[filler.id] += _volume(run.quantity * film.Gap(run.gap, run.depth).section, filler)
    if option.blocking:
        lumber = catalog.products[option.blocking]
        used[lumber.id] += run.quantity / (lumber.pack * (1.0 - lumber.waste))
    return used


def lost(option: Option, catalog: Catalog, crew_days: float) -> float:
    """Packs of its product that an option loses overnight.

    Parameters
    ----------
    option : Option
    catalog : Catalog
    crew_days : float
        Days that the whole crew works on it.

    Returns
    -------
    float
        Half a pack a crew-day of what cures in its opened pack: in proportion to the hours, so runs and plan agree.
    """
    product = catalog.products.get(option.product)
    return 0.0 if product is None else evening_loss(crew_days, cures_in_pack=product.cures_in_pack)


def main_packs(run: Run, product: Product, catalog: Catalog) -> float:
    """Packs of the product itself on a run."""
    if product.pack_unit == "piece":
        return run.quantity / product.pack
    if product.pack_unit == "m":
        return tape.rolls(_tape_length(run, catalog), product.pack, waste=product.waste)
    return _volume(_wet_volume(run, product, catalog), product)


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


def _wet_volume(run: Run, product: Product, catalog: Catalog) -> float:
    """Wet material laid on a run, without filled gaps [m3]."""
    aim = film_of(product, catalog)
    if aim is not None:
        wet = aim.aim_wet
        if run.kind.piece:
            return run.quantity * cover(run, catalog).laid(wet)
        return run.quantity * product.width * wet + fillets(run, catalog)
    if run.kind.piece:  # sealant or listed system: a fillet round the piece
        return run.quantity * _outline(run, catalog) * catalog.value("size.fillet") ** 2
    width = max(run.gap, 0.25 * 0.0254)
    return run.quantity * sealant_joint(width).section


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


def hours(run: Run, option: Option, catalog: Catalog, *, practised: bool) -> float:
    """Person-hours of an option on a run, set-up apart.

    Parameters
    ----------
    run : Run
    option : Option
    catalog : Catalog
    practised : bool
        Whether the crew has done the method before.
    """
    if option.method == "unsealed":
        return 0.0
    row = catalog.kinds[run.kind.value].row
    prep = "prep_each" if run.kind.piece else "hours"
    each = hours_on(catalog.find, option.method, row, piece=run.kind.piece)
    if each is None:  # a coat is counted by the face; what else is missing the catalogue says itself
        missing = f"hours_each.{option.method}.{row}" if run.kind.piece else f"hours.{option.method}"
        each = 0.0 if option.method == "coat" else catalog.value(missing)
    if not practised:
        each *= catalog.value("factor.unpractised_hours")
    steps = {"primer": option.primer, "filler": option.filler, "cleaning": option.cleaning}
    each += sum(catalog.value(f"{prep}.{step}") for step, on in steps.items() if on)
    if option.blocking:
        each += catalog.value("hours.blocking")
    return run.quantity * each * access(run.height, catalog)
