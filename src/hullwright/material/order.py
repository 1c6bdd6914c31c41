"""The order: whole packs, what they cost, what is left, and how sure it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np

from hullwright.evidence import Caution, Evidence, Mark
from hullwright.material.ask import Ask
from hullwright.material.cautions import SHEET_RULES, WASTE_DIVIDES
from hullwright.material.columns import whole
from hullwright.material.draws import Quantity, Simulation, Spread, draw_uses, packs_at
from hullwright.material.packs import evening_loss, pack_use, whole_packs
from hullwright.material.small import Consumable, Work, consumables

Unit = Literal["l", "m", "piece"]
Basis = Literal["mean", "p50", "p90"]
SPREADS_ARE_ESTIMATES: Final = Caution(
    "P50 and P90 rest on estimated spreads of width, thickness and waste: a mock-up and the first lift of work narrow them.",
    Evidence(Mark.ESTIMATE),
)


@dataclass(frozen=True, slots=True)
class Item:
    """One product that a plan uses.

    Parameters
    ----------
    product : str
        Its id.
    unit : {'l', 'm', 'piece'}
        What a pack holds: liquid, tape, or pieces.
    pack_size : float
        Pack [L], [m] or [pieces].
    use : float
        Mean use in the same unit, waste included, evening losses not.
    price : float
        Money a pack.
    spread : Spread
        How sure the use is.
    waste : float
        Share of `use` that is lost.
    crew_days : float
        Crew-days with it.
    cures_in_pack : bool
        Whether an opened pack is lost overnight.
    stock : int
        Whole packs at hand, used first.
    gap, gap_deep : float
        Of `use` what goes into open gaps at the usual depth, and what would where the whole panel is filled: the middle job and
        the ninth of ten.

    Examples
    --------
    >>> from hullwright.material.draws import LIQUID_SPREAD
    >>> item = Item("sausage", "l", 0.6, 6.3, 14.0, LIQUID_SPREAD, waste=0.1, crew_days=3, cures_in_pack=True)
    >>> round(item.packs, 6)
    12.0
    """

    product: str
    unit: Unit
    pack_size: float
    use: float
    price: float
    spread: Spread
    waste: float = 0.0
    crew_days: float = 0.0
    cures_in_pack: bool = False
    stock: int = 0
    gap: float = 0.0
    gap_deep: float = 0.0

    def __post_init__(self) -> None:
        ask = Ask(f"the order of {self.product}")
        if self.unit not in {"l", "m", "piece"}:
            ask.refuse("unit", self.unit, "l, m or piece")
        ask.positive("pack_size", self.pack_size, self.unit)
        ask.not_negative("use", self.use, self.unit)
        ask.not_negative("price", self.price, "money a pack")
        ask.loss("waste", self.waste)
        ask.not_negative("crew_days", self.crew_days, "crew-days")
        ask.count("stock", self.stock)
        ask.not_negative("gap", self.gap, self.unit)
        ask.not_negative("gap_deep", self.gap_deep, self.unit)
        ask.done()

    @property
    def lost(self) -> float:
        """Mean packs lost overnight; nothing where nothing is used."""
        return evening_loss(self.crew_days, cures_in_pack=self.cures_in_pack) if self.use else 0.0

    @property
    def packs(self) -> float:
        """Mean use in packs, evening losses included."""
        return pack_use(self.use, self.pack_size, lost=self.lost)


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line of the order.

    Parameters
    ----------
    product, unit : str
        Product and what a pack holds.
    packs : int
        Packs to buy, stock taken off.
    pack_size : float
        Pack, in `unit`.
    p50, p90 : int
        Packs to buy that suffice in 50 and 90 of 100 cases, stock taken off.
    from_stock : int
        Packs taken from stock.
    use, lost : float
        Mean use, and mean loss overnight, in `unit`.
    left_over : float
        Mean rest of packs bought and taken from stock, in `unit`; below 0 where packs are bought for less than the mean.
    money : float
        Packs × price.
    """

    product: str
    unit: Unit
    packs: int
    pack_size: float
    p50: int
    p90: int
    from_stock: int
    use: float
    lost: float
    left_over: float
    money: float

    def to_json(self) -> dict[str, Any]:
        """Line with the fixed keys, and some more; `pack_size`, `use`, `left_over` are in `unit`."""
        return {
            "product": self.product,
            "packs": self.packs,
            "pack_size": self.pack_size,
            "unit": self.unit,
            "p50": self.p50,
            "p90": self.p90,
            "from_stock": self.from_stock,
            "use": self.use,
            "lost_overnight": self.lost,
            "left_over": self.left_over,
            "money": self.money,
        }


@dataclass(frozen=True, slots=True)
class Order:
    """The order of a plan.

    Parameters
    ----------
    lines : tuple of OrderLine
        By product id.
    small : tuple of Consumable
        Nozzles, spreaders, rollers, rags, gloves; not priced.
    hours : float
        Crew hours of the plan [h].
    money, money_p50, money_p90 : float
        Money for `packs`, and money that suffices in 50 and 90 of 100 cases for all lines together.
    currency : str
        Of all money here.
    basis : str
        What `packs` stands on: mean, p50 or p90.
    cautions : tuple of Caution
        What to mind.
    """

    lines: tuple[OrderLine, ...]
    small: tuple[Consumable, ...]
    hours: float
    money: float
    money_p50: float
    money_p90: float
    currency: str
    basis: Basis
    cautions: tuple[Caution, ...] = (SHEET_RULES, WASTE_DIVIDES, SPREADS_ARE_ESTIMATES)

    def to_json(self) -> dict[str, Any]:
        """The order object that other programs read."""
        return {
            "schema": {"name": "order", "version": 1},
            "currency": self.currency,
            "lines": [line.to_json() for line in self.lines],
            "consumables": [
                {"name": item.name, "count": item.count, "rate": item.rate.to_json()} for item in self.small
            ],
            "hours": self.hours,
            "money": self.money,
            "money_p50": self.money_p50,
            "money_p90": self.money_p90,
            "basis": self.basis,
            "cautions": [caution.to_json() for caution in self.cautions],
        }


def order(
    items: Sequence[Item],
    work: Work,
    *,
    hours: float,
    currency: str,
    basis: Basis = "mean",
    simulation: Simulation | None = None,
) -> Order:
    """Turn uses into whole packs.

    Parameters
    ----------
    items : sequence of Item
        Products; each once.
    work : Work
        For the small things.
    hours : float
        Crew hours of the plan [h].
    currency : str
        Currency of the prices.
    basis : {'mean', 'p50', 'p90'}
        What the packs to buy stand on. ``mean`` agrees with the packs of a plan.
    simulation : Simulation or None
        Draws and seed; None for the usual ones.

    Returns
    -------
    Order
        Lines by product id, whatever the order of `items`.

    Raises
    ------
    InputError
        Where a product stands twice or a number is wrong.

    Examples
    --------
    >>> from hullwright.material.draws import LIQUID_SPREAD
    >>> item = Item("sausage", "l", 0.6, 6.2, 14.0, LIQUID_SPREAD, waste=0.1, crew_days=3, cures_in_pack=True)
    >>> line = order([item], Work(tubes=12, liquid_days=3), hours=20.0, currency="USD").lines[0]
    >>> line.packs, round(line.left_over, 3), line.money, line.p90 >= line.p50
    (12, 0.1, 168.0, True)
    """
    _order_input(items, hours, basis)
    chosen = sorted(items, key=lambda item: item.product)
    uses = draw_uses([_quantity(item) for item in chosen], simulation or Simulation())
    stock = np.array([item.stock for item in chosen], dtype=np.int64)
    price = np.array([item.price for item in chosen], dtype=np.float64)
    p50, p90 = (packs_at(uses, share) for share in (0.5, 0.9))
    lines = tuple(_line(item, int(p50[at]), int(p90[at]), basis) for at, item in enumerate(chosen))
    to_buy = np.maximum(whole(uses) - stock, 0) @ price
    money50, money90 = np.quantile(to_buy, [0.5, 0.9], method="inverted_cdf")
    return Order(
        lines=lines,
        small=tuple(consumables(work)),
        hours=hours,
        money=sum(line.money for line in lines),
        money_p50=float(money50),
        money_p90=float(money90),
        currency=currency,
        basis=basis,
    )


def _order_input(items: Sequence[Item], hours: float, basis: str) -> None:
    ask = Ask("the order")
    ask.not_negative("hours", hours, "h")
    if basis not in {"mean", "p50", "p90"}:
        ask.refuse("basis", basis, "mean, p50 or p90")
    seen: set[str] = set()
    for item in items:
        if item.product in seen:
            ask.refuse("items", item.product, "each product once", "add up its uses first")
        seen.add(item.product)
    ask.done()


def _quantity(item: Item) -> Quantity:
    return Quantity(
        product=item.product,
        packs=item.use / item.pack_size,
        waste=item.waste,
        lost=item.lost,
        crew_days=item.crew_days,
        spread=item.spread,
        gap=item.gap / item.use if item.use else 0.0,
        deeper=item.gap_deep / item.gap if item.gap else 1.0,
    )


def _line(item: Item, p50: int, p90: int, basis: Basis) -> OrderLine:
    need = {"mean": whole_packs(item.packs), "p50": p50, "p90": p90}[basis]
    taken = min(item.stock, need)
    lost = item.lost * item.pack_size
    return OrderLine(
        product=item.product,
        unit=item.unit,
        packs=need - taken,
        pack_size=item.pack_size,
        p50=max(p50 - item.stock, 0),
        p90=max(p90 - item.stock, 0),
        from_stock=taken,
        use=item.use,
        lost=lost,
        left_over=need * item.pack_size - item.use - lost,
        money=(need - taken) * item.price,
    )
