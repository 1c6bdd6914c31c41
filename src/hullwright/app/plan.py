"""The plan of a house, its order and its curve."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, replace
from typing import Any, Final

from hullwright import choice
from hullwright.app.cases import Cases
from hullwright.app.film_money import FilmMoney, of_plan
from hullwright.app.house import House, Source, load
from hullwright.catalog.model import Catalog, Form, Product
from hullwright.choice.films import film_of
from hullwright.choice.plan import Curve, Pack, Plan
from hullwright.choice.solver import Effort, Progress
from hullwright.choice.takes import fillets, open_gap
from hullwright.errors import InputError, Problem, Where
from hullwright.material.draws import LIQUID_SPREAD, TAPE_SPREAD, Spread
from hullwright.material.film import Liquid
from hullwright.material.order import Basis, Item, Order, Unit
from hullwright.material.order import order as make_order
from hullwright.material.over import LiquidRuns, OverTable, SheetLiquid, over_application
from hullwright.material.packs import HALF_PACK
from hullwright.material.small import Work
from hullwright.quantities import Verdict, quantity, verdict
from hullwright.units import INCH, MIL

PROOF: Final = Effort(mip_nodes=20_000, gap=1e-3)
"""Counted work of a plan that a person waits for: the own search, then a general solver from its plan."""
SURE: Final = Spread(1.0, 1.0, 1.0, 1.0)


def _can_be(name: str, value: float | None) -> bool:
    return value is None or verdict(name, value) is not Verdict.IMPOSSIBLE


@dataclass(frozen=True, slots=True)
class Wish:
    """What the plan is asked for, beyond what the file states.

    Parameters
    ----------
    budget : float or None
        Most money.
    target : float or None
        ACH50 to reach [1/h].
    confidence : float or None
        With which the target must be met.
    quick : bool
        Own search only, no waiting for the proof.
    progress : callable or None
        Called with (value, bound, work); answers whether to go on.
    """

    budget: float | None = None
    target: float | None = None
    confidence: float | None = None
    quick: bool = False
    progress: Progress | None = None

    def __post_init__(self) -> None:
        problems = [
            Problem(f"the {name} can't be used", Where(key=name), f"{value}", allowed)
            for name, value, allowed, ok in (
                ("budget", self.budget, quantity("money").possible("us"), _can_be("money", self.budget)),
                (
                    "target",
                    self.target,
                    quantity("air changes").possible("us"),
                    _can_be("air changes", self.target),
                ),
                (
                    "confidence",
                    self.confidence,
                    "more than 0 and less than 1",
                    self.confidence is None or 0 < self.confidence < 1,
                ),
            )
            if not ok
        ]
        if self.budget is not None and self.target is not None:
            problems.append(Problem("a budget and a target together", got="both", allowed="one of the two"))
        if problems:
            raise InputError("the wish can't be used", problems)


@dataclass(frozen=True, slots=True)
class Planned:
    """Answer of ``plan``.

    Parameters
    ----------
    house : House
    plan : Plan
    catalog : Catalog
    notes : tuple of str
        How it was found, where that is not the usual way.
    """

    house: House
    plan: Plan
    catalog: Catalog
    notes: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Give the answer with the keys of ``answers.md``."""
        return self.plan.to_json() | {
            "assumed": list(self.house.assumed),
            "notes": [*self.notes, *self.from_record],
            "films": [film.to_json() for film in self.films],
        }

    @property
    def from_record(self) -> tuple[str, ...]:
        """Which joints come from the record and not from the file, in words."""
        holes = self.house.holes
        if not holes:
            return ()
        names = ", ".join(f"{hole.id} (where {hole.mark} was, on {hole.face})" for hole in holes)
        count = "1 patch comes" if len(holes) == 1 else f"{len(holes)} patches come"
        return (f"{count} from the record, not from the building file: {names}.",)

    @property
    def films(self) -> tuple[FilmMoney, ...]:
        """Least, aim and greatest of each film, readings, and what the film over the least costs."""
        return of_plan(self.house, self.plan, self.catalog)


def plan(source: Source, wish: Wish | None = None, *, curve_points: int = 0) -> Planned:
    """Make the best plan of a house.

    Parameters
    ----------
    source : path or Building
    wish : Wish, optional
        By default what the file states.
    curve_points : int
        Points of the curve to draw with it, 0 for none.

    Returns
    -------
    Planned

    Raises
    ------
    BuildingFileError, MassingError, CatalogError
        Where the input is wrong.
    InfeasibleError
        Where no allowed plan fits; says by how much.
    """
    wish = wish or Wish()
    house = _house(source, wish)
    cases = Cases()
    settings = choice.Settings(
        engine="own" if wish.quick else "both", curve_points=curve_points, progress=wish.progress, keep=cases
    )
    made = choice.make(
        house.building,
        house.hull,
        house.joints,
        budget=wish.budget,
        target=wish.target,
        effort="normal" if wish.quick else PROOF,
        settings=settings,
    )
    return Planned(house, made, house.catalog, cases.notes)


def _house(source: Source, wish: Wish) -> House:
    house = load(source)
    aim = house.building.aim
    if wish.target is not None:  # what is asked for here takes the place of what the file asks for
        aim = replace(aim, budget=math.inf)
    if wish.confidence is not None:
        aim = replace(aim, confidence=wish.confidence)
    if aim is house.building.aim:
        return house
    return replace(house, building=replace(house.building, aim=aim))


@dataclass(frozen=True, slots=True)
class Drawn:
    """Answer of ``curve``."""

    house: House
    curve: Curve
    notes: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Give the answer with the keys of ``answers.md``."""
        return self.curve.to_json() | {"notes": list(self.notes)}


def curve(source: Source, wish: Wish | None = None) -> Drawn:
    """Best result for each amount of money.

    Parameters
    ----------
    source : path or Building
    wish : Wish, optional

    Returns
    -------
    Drawn
    """
    wish = wish or Wish()
    house = _house(source, wish)
    cases = Cases()
    settings = choice.Settings(engine="own", progress=wish.progress, keep=cases)
    question = choice.ask(house.building, house.hull, house.joints, budget=wish.budget, settings=settings)
    return Drawn(house, choice.make_curve(question), cases.notes)


@dataclass(frozen=True, slots=True)
class Ordered:
    """Answer of ``order``: what to buy, and what wider and thicker than planned would cost."""

    planned: Planned
    order: Order
    over: tuple[OverTable, ...]

    def to_json(self) -> dict[str, Any]:
        """Give the answer with the keys of ``answers.md``."""
        return self.order.to_json() | {
            "name": self.planned.plan.name,
            "stand_ins": [pack.product for pack in self.planned.plan.packs if pack.stand_in],
            "over_application": [table.to_json() for table in self.over],
            "films": [film.to_json() for film in self.planned.films],
            "notes": list(self.planned.notes),
        }


def order(planned: Planned, *, basis: Basis = "mean") -> Ordered:
    """Say what to buy for a plan.

    Parameters
    ----------
    planned : Planned
    basis : {'mean', 'p50', 'p90'}
        What the packs stand on.

    Returns
    -------
    Ordered
    """
    building, catalog = planned.house.building, planned.catalog
    days = crew_days(planned)
    items = [_item(catalog.products[pack.product], pack, days[pack.product]) for pack in planned.plan.packs]
    tubes = sum(p.count + p.owned for p in planned.plan.packs if _in_tubes(catalog.products[p.product]))
    by_form = {
        form: sum(day for name, day in days.items() if catalog.products[name].form in form)
        for form in (LIQUIDS, TAPES, COATS)
    }
    work = Work(
        tubes,
        by_form[LIQUIDS],
        by_form[TAPES],
        by_form[COATS],
        tape_crews=1 if by_form[TAPES] else 0,
        people=building.crew.people,
    )
    made = make_order(items, work, hours=planned.plan.hours, currency=building.currency, basis=basis)
    return Ordered(planned, made, over_tables(planned))


LIQUIDS: Final[tuple[Form, ...]] = ("liquid", "sealant", "listed system")
TAPES: Final[tuple[Form, ...]] = ("tape", "stretch tape")
COATS: Final[tuple[Form, ...]] = ("coat",)
_TUBE: Final = 1e-3  # m3: a cartridge or sausage holds less than a litre


def _in_tubes(product: Product) -> bool:
    return product.pack_unit == "m3" and product.pack < _TUBE


def crew_days(planned: Planned) -> dict[str, float]:
    """Crew-days with each product: hours of the runs that use it, over the crew's day."""
    crew = planned.house.building.crew
    hours: defaultdict[str, float] = defaultdict(float)
    for run in planned.plan.runs:
        for product in run.uses:
            hours[product] += run.hours
    for coat in planned.plan.coats:
        hours[coat.product] += coat.hours
    return defaultdict(float, {product: spent / (crew.people * crew.day) for product, spent in hours.items()})


def _item(product: Product, pack: Pack, days: float) -> Item:
    units: dict[str, tuple[Unit, float]] = {"m3": ("l", 1000.0), "m": ("m", 1.0), "piece": ("piece", 1.0)}
    unit, scale = units[product.pack_unit]
    spread = LIQUID_SPREAD if unit == "l" else TAPE_SPREAD if unit == "m" else SURE
    return Item(
        product.id,
        unit,
        product.pack * scale,
        (pack.use - pack.lost) * product.pack * scale,
        product.price,
        spread,
        waste=product.waste,
        crew_days=pack.lost / HALF_PACK.value if pack.lost else days,
        cures_in_pack=pack.lost > 0,
        stock=pack.owned,
        gap=pack.gap * product.pack * scale,
        gap_deep=pack.gap_deep * product.pack * scale,
    )


def over_tables(planned: Planned) -> tuple[OverTable, ...]:
    """What wider film than the sheet's and thicker than the aim would cost on this house, for each liquid on lines."""
    joints = {run.id: run for run in planned.house.joints.runs}
    lines: defaultdict[str, list[tuple[float, float]]] = defaultdict(list)
    for run in planned.plan.runs:
        product = planned.catalog.products.get(run.product)
        if product is not None and product.form == "liquid" and not run.piece:
            joint = joints[run.id]
            beside = open_gap(joint, planned.catalog).section + fillets(joint, planned.catalog) / run.quantity
            lines[product.id].append((run.quantity, beside))
    return tuple(_over(planned.catalog.products[name], rows, planned) for name, rows in sorted(lines.items()))


def _over(product: Product, rows: list[tuple[float, float]], planned: Planned) -> OverTable:
    building, film = planned.house.building, film_of(product, planned.catalog)
    aim = 0.0 if film is None else film.aim
    sheet = SheetLiquid(
        product.id, aim, Liquid(product.solids, waste=product.waste), product.pack, product.price
    )
    runs = LiquidRuns([length for length, _ in rows], product.width, [section for _, section in rows])
    step = INCH if building.system == "us" else 0.025
    thicker = 5 * MIL if building.system == "us" else 125e-6
    return over_application(
        runs,
        sheet,
        extra_widths=[0.0, step, 2 * step],
        drys=[aim + k * thicker for k in range(3)],
        currency=building.currency,
    )
