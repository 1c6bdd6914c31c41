"""The choice as numbers: one table of options, columns as arrays.

A *run* takes exactly one *option*. Options of one run stand together: those of run ``r`` are the rows
``first[r]:first[r + 1]``. Money has three parts: labour of an option, whole packs of each product, and a set-up
for each method on each face where the method is used at all.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def _no_ints() -> Ints:
    return np.zeros(0, dtype=np.int64)


@dataclass(frozen=True, slots=True)
class Coat:
    """A whole-face coat: taken or not, for a whole face.

    Where it is taken, every run that has an option with this coat's number takes that option; where it is not
    taken, none does.

    Parameters
    ----------
    face : int
        Face it covers.
    labour, hours : float
        Fixed labour money [money] and hours [h] of coating the face.
    use : ndarray (P,)
        Fixed product use in packs.
    """

    face: int
    labour: float
    hours: float
    use: Floats


@dataclass(frozen=True, slots=True)
class Instance:
    """One choice to be made.

    Parameters
    ----------
    first : ndarray (R + 1,)
        Row of the first option of each run; ``first[R]`` is the number of options M.
    air, water : ndarray (M,)
        Expected leakage area [cm2] and water [L] of each option.
    labour, hours : ndarray (M,)
        Labour money and hours [h] of each option.
    use : ndarray (M, P)
        Product use of each option in packs (fractions).
    price : ndarray (P,)
        Money a pack.
    stock : ndarray (P,)
        Most packs that can be had (inf: no limit).
    owned : ndarray (P,)
        Whole packs already in stock, that cost nothing.
    method : ndarray (M,)
        Method number of each option; -1: leaves the joint bare, no set-up.
    face : ndarray (R,)
        Face number of each run.
    setup_money, setup_hours : ndarray (F, K)
        Set-up of method k on face f.
    coat : ndarray (M,)
        Coat number of each option, -1 for none.
    coats : tuple of Coat
        The coats.
    meet : ndarray (J, 2)
        Runs that meet at a place, each pair once.
    material : ndarray (M,)
        Material class of each option for meetings, -1: none.
    clash, unknown : ndarray (C, C) of bool
        Material pairs known to fail (never planned side by side) and unknown ones (counted).
    """

    first: Ints
    air: Floats
    water: Floats
    labour: Floats
    hours: Floats
    use: Floats
    price: Floats
    stock: Floats
    owned: Floats
    method: Ints
    face: Ints
    setup_money: Floats
    setup_hours: Floats
    coat: Ints
    coats: tuple[Coat, ...] = ()
    meet: Ints = field(default_factory=lambda: np.zeros((0, 2), dtype=np.int64))
    material: Ints = field(default_factory=_no_ints)
    clash: NDArray[np.bool_] = field(default_factory=lambda: np.zeros((0, 0), dtype=np.bool_))
    unknown: NDArray[np.bool_] = field(default_factory=lambda: np.zeros((0, 0), dtype=np.bool_))

    @property
    def runs(self) -> int:
        """Number of runs."""
        return len(self.first) - 1

    @property
    def options(self) -> int:
        """Number of options."""
        return len(self.air)


@dataclass(frozen=True, slots=True)
class Limits:
    """What the plan must keep to.

    Parameters
    ----------
    budget : float
        Most money (inf: no limit).
    hours : float
        Most hours [h].
    products : int or None
        Most different products that are bought or taken from stock.
    unknown_meetings : int or None
        Most meetings of an unknown pair of materials.
    air, water : float
        Most expected leakage area [cm2] and water [L]: what target mode must reach (inf: no limit).
    worst : float
        Most expected leakage area of a single piece or run; options above it are barred before.
    """

    budget: float = float("inf")
    hours: float = float("inf")
    products: int | None = None
    unknown_meetings: int | None = None
    air: float = float("inf")
    water: float = float("inf")
    worst: float = float("inf")


@dataclass(frozen=True, slots=True)
class Goal:
    """What is made small.

    Budget mode: ``air_weight * air + water_weight * water``; target mode (``money=True``): the money.
    """

    air_weight: float
    water_weight: float
    money: bool = False


@dataclass(frozen=True, slots=True)
class Answer:
    """A plan with its proof.

    Parameters
    ----------
    pick : ndarray (R,)
        Chosen option row of each run.
    packs : ndarray (P,)
        Whole packs to buy (beyond `owned`).
    taken : ndarray (F, K) of bool
        Set-ups that are paid.
    coats : ndarray (number of coats,) of bool
        Coats that are taken.
    value, bound : float
        Value of the goal and a proven lower bound on it.
    spent, hours : float
        Money and hours [h] of the plan.
    work : int
        Counted work (nodes), the same on every machine.
    """

    pick: Ints
    packs: Ints
    taken: NDArray[np.bool_]
    coats: NDArray[np.bool_]
    value: float
    bound: float
    spent: float
    hours: float
    work: int

    @property
    def gap(self) -> float:
        """(value - bound) ÷ value, 0 where the value is 0."""
        return 0.0 if self.value <= 0 else max(0.0, (self.value - self.bound) / self.value)

    @property
    def proved(self) -> bool:
        """Whether value and bound agree to 0.01 %."""
        return self.gap <= 1e-4
