"""What the aim of each film costs: film over the least, and what a steadier hand or a pooled spread would save."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import Any, Final

from hullwright.app.house import House
from hullwright.catalog import Catalog, Product
from hullwright.choice.films import film_of, lot_area, money_per_film, with_spread
from hullwright.choice.plan import Plan
from hullwright.choice.takes import film_area
from hullwright.evidence import Mark
from hullwright.material.aim import Aim
from hullwright.units import Show

STEADIER: Final = 0.5  # a steadier hand is said for half the spread: no figure, only what is compared
POOLED: Final = 36.0  # degrees of freedom of four lots of ten readings


@dataclass(frozen=True, slots=True)
class FilmMoney:
    """Aim, readings and extra film of a product, with their money.

    Parameters
    ----------
    product, name, currency : str
    aim : Aim
    area : float
        Area of film [m2]: of the whole plan, or of a usual lot.
    added : float
        Money of the film between the least and the aim.
    steadier : Aim
        What it would be with half the spread.
    steadier_saves : float
        Money.
    pooled : Aim
        What it would be once four lots of ten readings have shown this spread.
    pooled_saves : float
        Money.
    """

    product: str
    name: str
    currency: str
    aim: Aim
    area: float
    added: float
    steadier: Aim
    steadier_saves: float
    pooled: Aim
    pooled_saves: float

    def to_json(self) -> dict[str, Any]:
        """Give films in µm, dry and wet, and the money."""
        return {
            "product": self.product,
            **self.aim.to_json(),
            "area_m2": self.area,
            "added_money": self.added,
            "steadier": {
                "spread_um": self.steadier.hand.spread * 1e6,
                "aim_um": self.steadier.aim * 1e6,
                "money": self.steadier_saves,
            },
            "pooled_spread": {
                "degrees_of_freedom": self.pooled.hand.pooled,
                "aim_um": self.pooled.aim * 1e6,
                "money": self.pooled_saves,
            },
        }

    def words(self, show: Show) -> str:
        """Say it: aim first, then what it rests on, then the money."""
        aim = self.aim
        top = f", greatest {show.film(aim.greatest_wet)}" if math.isfinite(aim.greatest) else ""
        head = f"{self.name}: aim {show.film(aim.aim_wet)} wet (least {show.film(aim.least_wet)}{top}), {aim.readings} readings a lot."
        return " ".join([head, *_why(aim, show), *self._money(show)])

    def _money(self, show: Show) -> list[str]:
        over = f"Film over the least: {self.added:,.0f} {self.currency}."
        if not self.aim.provable:
            return [over]
        if self.steadier_saves < 0.5:
            return [over, "A steadier hand would save nothing: the sheet's own aim rules."]
        saves = f"{self.steadier_saves:,.0f} {self.currency}"
        said = [over, f"Half the spread ({show.film(self.steadier.hand.spread)}) would save {saves}."]
        if self.pooled_saves >= 0.5 and not self.aim.hand.pooled:
            said.append(
                f"Four lots that show one spread would save {self.pooled_saves:,.0f} {self.currency} (`film lots` says when)."
            )
        return said


def _why(aim: Aim, show: Show) -> list[str]:
    """What the aim rests on, and what would do where the sheet forbids more."""
    marked = " (estimate)" if aim.hand.evidence.mark is Mark.ESTIMATE else ""
    spread = f"spread {show.film(aim.hand.spread)}{marked}, gauge step {show.film(aim.hand.step)}"
    if aim.rule == "sheet":
        return [f"That is the sheet's own aim; the readings need no more ({spread})."]
    if aim.rule == "readings":
        return [f"Nine of ten such lots are proved ({spread})."]
    ways = []
    if aim.instead is not None:
        ways += [f"{aim.instead.readings} readings"] if aim.instead.readings else []
        ways += [f"a spread of {show.film(aim.instead.spread)}"] if aim.instead.spread else []
        ways += [f"a gauge step of {show.film(aim.instead.step)}"] if aim.instead.step else []
    would = (
        f" What would do: {', or '.join(ways)}." if ways else " Nothing short of another product would do."
    )
    needs = show.film(aim.needed * aim.wet_per_dry)
    only = f"! Only {aim.chance:.0%} of such lots are proved ({spread}): the readings need {needs}, and the sheet's greatest film"
    return [f"{only} forbids it.{would}"]


def film_money(product: Product, catalog: Catalog, area: float, currency: str) -> FilmMoney | None:
    """Weigh the film of a product over an area [m2]; None for what is no film."""
    aim = film_of(product, catalog)
    if aim is None:
        return None
    spread = aim.hand.spread
    steadier = with_spread(product, catalog, STEADIER * spread, pooled=aim.hand.pooled)
    pooled = with_spread(product, catalog, spread, pooled=aim.hand.pooled or POOLED)
    rate = money_per_film(product, area)
    return FilmMoney(
        product.id, product.name, currency, aim, area, rate * (aim.aim - aim.least),
        steadier, rate * (aim.aim - steadier.aim), pooled, rate * (aim.aim - pooled.aim),
    )  # fmt: skip


def of_plan(house: House, plan: Plan, catalog: Catalog) -> tuple[FilmMoney, ...]:
    """Weigh each film of a plan."""
    runs = {run.id: run for run in house.joints.runs}
    areas: defaultdict[str, float] = defaultdict(float)
    for run in plan.runs:
        product = catalog.products.get(run.product)
        if product is not None and product.form == "liquid":
            areas[product.id] += film_area(runs[run.id], product, catalog)
    for coat in plan.coats:
        areas[coat.product] += house.hull.faces[house.hull.number(coat.face)].net_area
    currency = house.building.currency
    found = (
        film_money(catalog.products[name], catalog, area, currency) for name, area in sorted(areas.items())
    )
    return tuple(one for one in found if one is not None)


def of_catalog(catalog: Catalog, currency: str) -> tuple[FilmMoney, ...]:
    """Weigh each film product over a usual lot of its own."""
    found = (
        film_money(product, catalog, lot_area(product, catalog), currency)
        for _, product in sorted(catalog.products.items())
    )
    return tuple(one for one in found if one is not None)
