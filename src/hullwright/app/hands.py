"""The spread that a crew has shown with a product, and what the next lots would save by it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from hullwright.catalog import Catalog
from hullwright.choice.films import film_of, lot_area, money_per_film, with_spread
from hullwright.material.aim import Aim
from hullwright.material.stable import LEVEL, Pooled
from hullwright.proof.lotbook import BookedLot, hands
from hullwright.units import Show


@dataclass(frozen=True, slots=True)
class HandShown:
    """A crew's spread of a product over its lots.

    Parameters
    ----------
    crew, product : str
    shown : Pooled
        As the readings show it, rounding of the gauge included.
    spread : float
        Of the film itself [m]: the rounding taken off.
    now, then : Aim or None
        Aim as the file states the crew, and as it would be with this spread; None where the product has no film sheet.
    area : float
        Of a usual lot [m2].
    saves : float
        Money that the other aim saves in a usual lot; below 0 where it asks for more.
    currency : str
    """

    crew: str
    product: str
    shown: Pooled
    spread: float
    now: Aim | None
    then: Aim | None
    area: float
    saves: float
    currency: str

    def to_json(self) -> dict[str, Any]:
        """Give the spread, whether it is stable, and the aim that it would allow."""
        return {
            "crew": self.crew,
            "product": self.product,
            **self.shown.to_json(),
            "spread_um": self.spread * 1e6,
            "aim_now_um": None if self.now is None else self.now.aim * 1e6,
            "aim_then_um": None if self.then is None else self.then.aim * 1e6,
            "area_m2": self.area,
            "saves_money": self.saves,
            "state": self.stated,
        }

    @property
    def stated(self) -> dict[str, Any]:
        """What to state in the building file under ``crew.film`` and the product; nothing where the sheets know no such film."""
        if self.then is None:
            return {}
        pooled = {"pooled": self.shown.df} if self.shown.stable else {}
        return {"spread": f"{self.spread * 1e6:.0f} um", **pooled}

    def words(self, show: Show) -> str:
        """Say the spread first, then whether it is one spread, then what it would save."""
        shown = self.shown
        head = f"Crew {self.crew}, {self.product}: spread {show.film(self.spread)} over {shown.lots} lots."
        if not shown.stable:
            why = (
                "more lots are needed (three, and 20 readings over)"
                if shown.chance >= LEVEL
                else "it changes from lot to lot"
            )
            return f"{head} Not pooled: {why}; each lot is judged by its own."
        if self.now is None or self.then is None:
            return f"{head} It is stable: lots are judged by the spread of all."
        aims = f"aim {show.film(self.then.aim_wet)} wet instead of {show.film(self.now.aim_wet)}"
        money = f"{abs(self.saves):,.1f} {self.currency}"
        worth = f"saves {money}" if self.saves >= 0 else f"takes {money} more"
        line = f"crew: {{film: {{{self.product}: {{spread: {show.film(self.spread)}, pooled: {shown.df}}}}}}}"
        return f"{head} It is stable: {aims} {worth} in a lot of {show.area(self.area)}. In the building file: {line}"


def hands_shown(lots: Sequence[BookedLot], catalog: Catalog, currency: str) -> tuple[HandShown, ...]:
    """Give what each crew has shown with each product.

    Parameters
    ----------
    lots : sequence of BookedLot
    catalog : Catalog
        Of the house.
    currency : str

    Returns
    -------
    tuple of HandShown
        By crew and product.
    """
    return tuple(_hand(lot, shown, catalog, currency) for lot, shown in hands(lots))


def _hand(lot: BookedLot, shown: Pooled, catalog: Catalog, currency: str) -> HandShown:
    step = max(item.reading.step for item in lot.placed)
    rounding = step**2 / 12.0
    spread = math.sqrt(max(shown.sd**2 - rounding, rounding))
    name, product = lot.product or lot.key.method, catalog.products.get(lot.product)
    now = None if product is None else film_of(product, catalog)
    if product is None or now is None:
        return HandShown(lot.key.crew, name, shown, spread, None, None, 0.0, 0.0, currency)
    then = with_spread(product, catalog, spread, pooled=float(shown.df) if shown.stable else 0.0)
    area = lot_area(product, catalog)
    saves = money_per_film(product, area) * (now.aim - then.aim)
    return HandShown(lot.key.crew, name, shown, spread, now, then, area, saves, currency)
