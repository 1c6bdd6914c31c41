"""Packs: whole ones, what is lost each evening, how sure the quantity is, and the small things that go with them.

Use is counted in packs as a fraction and rounded up once per product. A product that cures in its pack loses the rest of the
opened pack each evening: half a pack a crew-day on average. That mean is added for the last evening too, where the rounding
up already holds a rest: at most half a pack on the safe side.
"""

from __future__ import annotations

import math
import zlib
from dataclasses import dataclass
from typing import Final

import numpy as np

from hullwright.evidence import ESTIMATE, Evidence, Figure, Mark
from hullwright.material.ask import Ask
from hullwright.material.columns import Floats, Ints, whole

HALF_PACK: Final = Figure(
    0.5, "packs per crew-day", Evidence(Mark.ESTIMATE, "an opened pack is half used on average")
)


@dataclass(frozen=True, slots=True)
class Spread:
    """How sure the quantity of a product is: log-normal factors with mean 1.

    Parameters
    ----------
    length, width, thickness, waste : float
        Geometric standard deviations; 1 is certain. `thickness` is one crew's habit, shared by all products of a house; the
        others are each product's own. `waste` spreads the lost part only.

    Raises
    ------
    InputError
        Where one is below 1.

    Examples
    --------
    >>> Spread(1.0, 1.1, 1.2, 1.5).thickness
    1.2
    """

    length: float
    width: float
    thickness: float
    waste: float

    def __post_init__(self) -> None:
        ask = Ask("the spread of a quantity")
        for key in ("length", "width", "thickness", "waste"):
            value = getattr(self, key)
            ask.positive(key, value, "geometric standard deviation")
            if not ask.problems and value < 1:
                ask.refuse(key, value, "1 (certain) or more")
        ask.done()


LENGTH_SPREAD: Final = Figure(1.03, "", ESTIMATE, 1.03)
WIDTH_SPREAD: Final = Figure(1.10, "", ESTIMATE, 1.10)
THICKNESS_SPREAD: Final = Figure(1.20, "", ESTIMATE, 1.20)
WASTE_SPREAD: Final = Figure(1.50, "", ESTIMATE, 1.50)
LIQUID_SPREAD: Final = Spread(
    LENGTH_SPREAD.value, WIDTH_SPREAD.value, THICKNESS_SPREAD.value, WASTE_SPREAD.value
)
TAPE_SPREAD: Final = Spread(LENGTH_SPREAD.value, 1.0, 1.0, WASTE_SPREAD.value)


def evening_loss(crew_days: float, *, cures_in_pack: bool, per_day: float = HALF_PACK.value) -> float:
    """Packs lost because an opened one cures overnight.

    Parameters
    ----------
    crew_days : float
        Days that a crew works with the product; two crews on one day are two.
    cures_in_pack : bool
        Whether an opened pack is lost by the next morning.
    per_day : float
        Mean loss [packs per crew-day].

    Returns
    -------
    float
        Packs.

    Examples
    --------
    >>> evening_loss(4, cures_in_pack=True), evening_loss(4, cures_in_pack=False)
    (2.0, 0.0)
    """
    ask = Ask("the loss overnight")
    ask.not_negative("crew_days", crew_days, "crew-days")
    ask.part("per_day", per_day, "at most the whole opened pack is lost in an evening")
    ask.done()
    return crew_days * per_day if cures_in_pack else 0.0


def pack_use(bought: float, pack: float, *, lost: float = 0.0) -> float:
    """Use in packs.

    Parameters
    ----------
    bought : float
        Volume [m3] or length [m], waste included.
    pack : float
        Volume or length of a pack.
    lost : float
        Packs lost overnight.

    Returns
    -------
    float
        Packs, a fraction.

    Examples
    --------
    >>> round(pack_use(3e-3, 600e-6, lost=1.5), 9)
    6.5
    """
    ask = Ask("the packs")
    ask.not_negative("bought", bought, "m3 or m")
    ask.positive("pack", pack, "m3 or m")
    ask.not_negative("lost", lost, "packs")
    ask.done()
    return bought / pack + lost


def whole_packs(use: float) -> int:
    """Whole packs for a use in packs.

    Parameters
    ----------
    use : float
        Use in packs.

    Returns
    -------
    int
        Rounded up; a hair of float noise over a whole number is forgiven.

    Examples
    --------
    >>> whole_packs(6.5), whole_packs(3.0000000000001)
    (7, 3)
    """
    return int(whole(use))


@dataclass(frozen=True, slots=True)
class Simulation:
    """How the quantities are drawn.

    Parameters
    ----------
    draws : int
        Number of draws.
    seed : int
        Same seed, same answer; each product has its own stream, so the order of products changes nothing.
    """

    draws: int = 10_000
    seed: int = 1

    def __post_init__(self) -> None:
        ask = Ask("the simulation of quantities")
        ask.count("draws", self.draws)
        ask.count("seed", self.seed)
        if not ask.problems and not 100 <= self.draws <= 1_000_000:
            ask.refuse("draws", self.draws, "100 to 1 000 000")
        ask.done()


@dataclass(frozen=True, slots=True)
class Quantity:
    """Use of one product, for the simulation.

    Parameters
    ----------
    product : str
        Its id.
    packs : float
        Mean use in packs, waste included, without evening losses.
    waste : float
        Share of `packs` that is lost.
    lost : float
        Mean packs lost overnight.
    crew_days : float
        Crew-days behind `lost`.
    spread : Spread
        How sure it is.
    """

    product: str
    packs: float
    waste: float
    lost: float
    crew_days: float
    spread: Spread

    def __post_init__(self) -> None:
        ask = Ask(f"the quantity of {self.product}")
        ask.not_negative("packs", self.packs, "packs")
        ask.loss("waste", self.waste)
        ask.not_negative("lost", self.lost, "packs")
        ask.not_negative("crew_days", self.crew_days, "crew-days")
        ask.done()


def draw_uses(quantities: list[Quantity], simulation: Simulation) -> Floats:
    """Draw the use of each product in packs.

    Parameters
    ----------
    quantities : list of Quantity
        Products (P).
    simulation : Simulation
        Draws (N) and seed.

    Returns
    -------
    ndarray (N, P)
        Uses in packs; the mean of each column is its mean use, within Monte Carlo error.

    Examples
    --------
    >>> one = Quantity("sausage", 10.0, 0.1, 0.0, 0.0, LIQUID_SPREAD)
    >>> uses = draw_uses([one], Simulation(draws=20_000))
    >>> bool(abs(uses.mean() - 10.0) < 0.1)
    True
    """
    habit = np.random.default_rng(simulation.seed).standard_normal(simulation.draws)
    out = np.empty((simulation.draws, len(quantities)))
    for at, quantity in enumerate(quantities):
        rng = np.random.default_rng([simulation.seed, zlib.crc32(quantity.product.encode())])
        out[:, at] = _draw(quantity, habit, rng)
    return out


def _draw(quantity: Quantity, habit: Floats, rng: np.random.Generator) -> Floats:
    spread = quantity.spread
    own = rng.standard_normal((3, len(habit)))
    size = _factor(spread.length, own[0]) * _factor(spread.width, own[1]) * _factor(spread.thickness, habit)
    laid = quantity.packs * (1.0 - quantity.waste) * size
    lost_ratio = quantity.waste / (1.0 - quantity.waste) * _factor(spread.waste, own[2])
    return np.asarray(laid * (1.0 + lost_ratio) + _evenings(quantity, rng, len(habit)))


def _factor(gsd: float, normal: Floats) -> Floats:
    """Log-normal factor with mean 1: ``exp(s·z − s²/2)``, s = ln GSD."""
    s = math.log(gsd)
    return np.asarray(np.exp(s * normal - s * s / 2.0))


def _evenings(quantity: Quantity, rng: np.random.Generator, draws: int) -> Floats:
    """Losses of all evenings: each rest is uniform in a pack about its mean; many of them add up to a normal."""
    if quantity.lost <= 0:
        return np.zeros(draws)
    evenings = max(1, math.ceil(quantity.crew_days))
    if evenings > 30:
        mean = 0.5 + rng.standard_normal(draws) / math.sqrt(12.0 * evenings)
    else:
        mean = rng.random((draws, evenings)).mean(axis=1)
    return np.asarray(2.0 * quantity.lost * mean)


def packs_at(uses: Floats, share: float) -> Ints:
    """Whole packs that suffice in a share of the draws.

    Parameters
    ----------
    uses : ndarray (N, P)
        Drawn uses in packs.
    share : float
        0.5 for P50, 0.9 for P90.

    Returns
    -------
    ndarray (P,)
        Packs.

    Examples
    --------
    >>> packs_at(np.array([[0.5], [1.5], [2.5], [3.5]]), 0.5)
    array([2])
    """
    ask = Ask("packs at a share of the draws")
    ask.part("share", share)
    ask.done()
    return np.asarray(np.quantile(whole(uses), share, axis=0, method="inverted_cdf"), dtype=np.int64)


@dataclass(frozen=True, slots=True)
class Rates:
    """Small things per pack and day.

    Parameters
    ----------
    nozzles_per_tube, spreaders_per_liquid_day, rags_per_liquid_day : Figure
        For liquids.
    rollers_per_tape_crew, sleeves_per_coat_day : Figure
        For tape and for coats.
    gloves_per_person_day : Figure
        Pairs of gloves.
    """

    nozzles_per_tube: Figure
    spreaders_per_liquid_day: Figure
    rags_per_liquid_day: Figure
    rollers_per_tape_crew: Figure
    sleeves_per_coat_day: Figure
    gloves_per_person_day: Figure


RATES: Final = Rates(
    nozzles_per_tube=Figure(1.0, "per cartridge or sausage", ESTIMATE),
    spreaders_per_liquid_day=Figure(1.0, "per crew-day of liquid", ESTIMATE),
    rags_per_liquid_day=Figure(10.0, "per crew-day of liquid", ESTIMATE),
    rollers_per_tape_crew=Figure(1.0, "per crew that lays tape", ESTIMATE),
    sleeves_per_coat_day=Figure(2.0, "per crew-day of coating", ESTIMATE),
    gloves_per_person_day=Figure(2.0, "pairs per person and day", ESTIMATE),
)


@dataclass(frozen=True, slots=True)
class Work:
    """Work that small things go with.

    Parameters
    ----------
    tubes : int
        Cartridges and sausages.
    liquid_days, tape_days, coat_days : float
        Crew-days of each.
    tape_crews : int
        Crews that lay tape at the same time.
    people : float
        People in a crew.
    """

    tubes: int = 0
    liquid_days: float = 0.0
    tape_days: float = 0.0
    coat_days: float = 0.0
    tape_crews: int = 0
    people: float = 1.0

    def __post_init__(self) -> None:
        ask = Ask("the small things")
        ask.count("tubes", self.tubes)
        ask.count("tape_crews", self.tape_crews)
        for key in ("liquid_days", "tape_days", "coat_days"):
            ask.not_negative(key, getattr(self, key), "crew-days")
        ask.positive("people", self.people, "people")
        ask.done()


@dataclass(frozen=True, slots=True)
class Consumable:
    """So many of a small thing.

    Parameters
    ----------
    name : str
        What it is.
    count : int
        Whole pieces (gloves: pairs).
    rate : Figure
        The rate behind it, with its mark.
    """

    name: str
    count: int
    rate: Figure


def consumables(work: Work, rates: Rates = RATES) -> list[Consumable]:
    """Nozzles, spreaders, rollers, rags, gloves.

    Parameters
    ----------
    work : Work
        Packs and crew-days.
    rates : Rates
        Rates; the starting ones are estimates.

    Returns
    -------
    list of Consumable
        Those with at least one piece.

    Examples
    --------
    >>> [(c.name, c.count) for c in consumables(Work(tubes=12, liquid_days=1.5, people=2))]
    [('nozzle', 12), ('spreader', 2), ('rag', 15), ('gloves, pair', 6)]
    """
    days = work.liquid_days + work.tape_days + work.coat_days
    wanted = (
        ("nozzle", rates.nozzles_per_tube, work.tubes),
        ("spreader", rates.spreaders_per_liquid_day, work.liquid_days),
        ("rag", rates.rags_per_liquid_day, work.liquid_days),
        ("tape roller", rates.rollers_per_tape_crew, work.tape_crews),
        ("paint roller sleeve", rates.sleeves_per_coat_day, work.coat_days),
        ("gloves, pair", rates.gloves_per_person_day, days * work.people),
    )
    counted = [Consumable(name, whole_packs(rate.value * base), rate) for name, rate, base in wanted]
    return [item for item in counted if item.count]
