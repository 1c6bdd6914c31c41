"""What an option takes of a crew: hours on a run, and what is lost in opened packs by the day."""

from __future__ import annotations

from hullwright.catalog import Catalog
from hullwright.choice.options import Option
from hullwright.choice.unit_rates import hours_on
from hullwright.joints.model import Run
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
