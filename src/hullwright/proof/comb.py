"""What does one press of the wet-film comb say.

A reading is an interval, never a number: the film lies between the highest coated tooth and the next uncoated one
(ASTM D4414-95(2020), section 7). No tooth wet gives (0, first tooth], all teeth wet gives (last tooth, no limit).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from hullwright.errors import InputError, Problem, QuantityError
from hullwright.proof.gauge_verdict import Verdict, verdict


@dataclass(frozen=True, slots=True)
class Comb:
    """A wet-film comb gauge with its own teeth.

    Parameters
    ----------
    teeth : tuple of float
        Heights of the teeth, ascending [m]. No gauge is assumed: the list of the gauge used belongs to the reading.
    name : str
        What the crew calls it.

    Raises
    ------
    InputError
        Fewer than two teeth, teeth that are not ascending, zero, negative or not finite.

    Examples
    --------
    >>> gauge = Comb((20e-6, 40e-6, 60e-6))
    >>> gauge.read(20e-6).low, gauge.read(20e-6).high
    (2e-05, 4e-05)
    """

    teeth: tuple[float, ...]
    name: str = ""

    def __post_init__(self) -> None:
        ascending = all(a < b for a, b in pairwise(self.teeth))
        sound = all(math.isfinite(tooth) and tooth > 0 for tooth in self.teeth)
        if len(self.teeth) < 2 or not ascending or not sound:
            raise InputError(
                "the tooth list of the comb can't be used",
                [
                    Problem(
                        "a comb needs its own teeth in rising order",
                        got=_um(self.teeth),
                        allowed="two or more teeth above 0, each larger than the one before",
                        hint="read the numbers off the gauge that was used",
                    )
                ],
            )

    def read(self, last_wet: float | None) -> Reading:
        """Make the reading from the last wet tooth.

        Parameters
        ----------
        last_wet : float or None
            Height of the last wet tooth [m]; None where no tooth was wet.

        Returns
        -------
        Reading

        Raises
        ------
        QuantityError
            Where the gauge has no such tooth.
        """
        if last_wet is None:
            return Reading(0.0, self.teeth[0], self)
        index = self._index(last_wet)
        upper = self.teeth[index + 1] if index + 1 < len(self.teeth) else math.inf
        return Reading(self.teeth[index], upper, self)

    def between(self, last_wet: float | None, next_dry: float | None) -> Reading:
        """Make the reading from both teeth, and refuse a pair that this gauge can't give.

        Parameters
        ----------
        last_wet, next_dry : float or None
            [m]; None for *no tooth wet* and *all teeth wet*.

        Returns
        -------
        Reading

        Raises
        ------
        QuantityError
            Where the two are not neighbours on this gauge, or both are missing.
        """
        if last_wet is None and next_dry is None:
            raise _bad("neither a wet nor a dry tooth was given", "", self)
        reading = self.read(last_wet)
        expected = math.inf if next_dry is None else self.teeth[self._index(next_dry)]
        if reading.high != expected:
            raise _bad("these two teeth are not neighbours", f"{last_wet}, {next_dry} m", self)
        return reading

    def step_at(self, film: float) -> float:
        """Give the step of the gauge round a film [m]: what a reading there will be worth."""
        edges = (0.0, *self.teeth)
        for low, high in pairwise(edges):
            if low < film <= high:
                return high - low
        raise _bad("this film is thicker than the last tooth", f"{film} m", self)

    def _index(self, tooth: float) -> int:
        for index, height in enumerate(self.teeth):
            if math.isclose(height, tooth, rel_tol=1e-6):
                return index
        raise _bad("the gauge has no such tooth", f"{tooth * 1e6:g} µm", self)


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: the wet film lies in (low, high].

    Parameters
    ----------
    low, high : float
        [m]; `high` is infinite where all teeth were wet.
    comb : Comb
        The gauge used.
    """

    low: float
    high: float
    comb: Comb

    @property
    def step(self) -> float:
        """Width of the interval [m]; above the last tooth, the last step of the gauge."""
        if math.isinf(self.high):
            return self.comb.teeth[-1] - self.comb.teeth[-2]
        return self.high - self.low

    @property
    def middle(self) -> float:
        """Value that acceptance takes [m]: the middle, or the last tooth where all were wet (on the safe side)."""
        return self.low if math.isinf(self.high) else 0.5 * (self.low + self.high)

    def dry(self, solids: float, *, thinned: float = 0.0) -> tuple[float, float]:
        """Give the interval of the dry film.

        Parameters
        ----------
        solids : float
            Volume solids of the product, 0 to 1.
        thinned : float
            Thinner added, volume per volume of material.

        Returns
        -------
        low, high : float
            [m]. DFT = WFT·VS / (1 + T) (ASTM D4414-95(2020), 4.2).

        Raises
        ------
        QuantityError
            Solids outside (0, 1], negative thinner.

        Examples
        --------
        >>> comb = Comb((18e-6, 20e-6, 22e-6))
        >>> low, high = comb.read(20e-6).dry(0.6)
        >>> round(low * 1e6, 6), round(high * 1e6, 6)
        (12.0, 13.2)
        """
        factor = wet_to_dry(solids, thinned=thinned)
        return self.low * factor, self.high * factor

    def judge(self, least_wet: float) -> Verdict:
        """Say what this reading alone shows about a least wet film [m]."""
        return verdict(self.low, self.high, least_wet)


def wet_to_dry(solids: float, *, thinned: float = 0.0) -> float:
    """Give dry film per wet film.

    Parameters
    ----------
    solids : float
        Volume solids; solids by weight can't be used.
    thinned : float
        Thinner added, volume per volume.

    Returns
    -------
    float

    Raises
    ------
    QuantityError
        Outside (0, 1], negative thinner.

    Examples
    --------
    >>> wet_to_dry(0.6)
    0.6
    """
    if not 0 < solids <= 1 or not thinned >= 0:
        raise QuantityError(
            "volume solids or thinner out of range",
            [
                Problem(
                    "wet film can't be turned into dry film",
                    got=f"solids {solids}, thinner {thinned}",
                    allowed="solids by volume above 0 and up to 1; thinner 0 or more",
                    hint="take solids by volume (not by weight) from the product sheet",
                )
            ],
        )
    return solids / (1.0 + thinned)


def _um(teeth: tuple[float, ...]) -> str:
    return ", ".join(f"{tooth * 1e6:g}" for tooth in teeth) + " µm"


def _bad(message: str, got: str, comb: Comb) -> QuantityError:
    problem = Problem(
        message, got=got, allowed=f"teeth of this gauge: {_um(comb.teeth)}", hint="read the gauge again"
    )
    return QuantityError("the comb reading can't be used", [problem])
