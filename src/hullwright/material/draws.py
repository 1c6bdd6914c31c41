"""Draws: how sure the quantity of each product is, and the packs that suffice in a share of the cases."""

from __future__ import annotations

import math
import zlib
from dataclasses import dataclass
from typing import Final

import numpy as np

from hullwright.evidence import ESTIMATE, Figure
from hullwright.material.ask import Ask
from hullwright.material.columns import Floats, Ints, whole


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


_NINE_IN_TEN: Final = 1.2815515655446004  # normal score


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
    gap : float
        Share of `packs` that goes into open gaps, at the usual depth of the fill.
    deeper : float
        Depth of the panel over the usual depth: so deep is one job in ten filled, and the middle one to the usual depth.
    """

    product: str
    packs: float
    waste: float
    lost: float
    crew_days: float
    spread: Spread
    gap: float = 0.0
    deeper: float = 1.0

    def __post_init__(self) -> None:
        ask = Ask(f"the quantity of {self.product}")
        ask.not_negative("packs", self.packs, "packs")
        ask.loss("waste", self.waste)
        ask.not_negative("lost", self.lost, "packs")
        ask.not_negative("crew_days", self.crew_days, "crew-days")
        if not 0 <= self.gap <= 1:
            ask.refuse("gap", self.gap, "a share from 0 to 1")
        if not self.deeper >= 1:
            ask.refuse("deeper", self.deeper, "1 (the usual depth is the panel's) or more")
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
        Uses in packs; the mean of each column is its mean use, within Monte Carlo error, where nothing goes into gaps.

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
    laid = quantity.packs * (1.0 - quantity.waste) * _filled(quantity, size, own[0], rng)
    lost_ratio = quantity.waste / (1.0 - quantity.waste) * _factor(spread.waste, own[2])
    return np.asarray(laid * (1.0 + lost_ratio) + _evenings(quantity, rng, len(habit)))


def _filled(quantity: Quantity, size: Floats, length: Floats, rng: np.random.Generator) -> Floats:
    """Film by its own spread, gaps by length and depth: middle depth the usual one, nine in ten at most the whole panel."""
    if quantity.gap <= 0:
        return size
    depth = np.exp(math.log(quantity.deeper) / _NINE_IN_TEN * rng.standard_normal(len(size)))
    return np.asarray(
        (1.0 - quantity.gap) * size + quantity.gap * _factor(quantity.spread.length, length) * depth
    )


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
