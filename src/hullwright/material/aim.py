"""Least, aim and greatest of a film: one value each for card, order, sheet and record.

The sheet states the least and the greatest film, and mostly a film of its own to aim at. A crew that lays just that is often
not proved: its film spreads, and a handful of readings must show that nearly all of it is thick enough. So aim and number of readings
are chosen together: the aim is the least film and what the planned readings need at this crew's spread
(:mod:`hullwright.material.allowance`), at least the sheet's own aim, never above the sheet's greatest; of the numbers of readings that
do, the one for which film and reading cost least.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal

from hullwright.errors import QuantityError
from hullwright.evidence import ESTIMATE, Evidence, Figure, Mark
from hullwright.material.allowance import CHANCE, MOST_READINGS, Reads, allowance, chance_at, readings_for
from hullwright.material.ask import Ask
from hullwright.material.film import Liquid
from hullwright.units import MIL

LOT_READINGS: Final = Figure(10, "", ESTIMATE)
USUAL_MOST: Final = Figure(
    20, "", ESTIMATE
)  # minutes a day: more only where the sheet's greatest film holds no other way
TAB: Final = Evidence(Mark.PUBLISHED, "ASTM D4414-95(2020), 7.1.2, steps of an example tab")
_TAB: Final = ((6.0, 0.5), (10.0, 1.0), (30.0, 2.0), (math.inf, 5.0))  # up to this film, this step [mil]
_FINER: Final = (2.0, 1.0, 0.5)  # steps of gauges that can be had [mil]
_TRIED: Final = (10, 12, 14, 16, 18, 20, 22, 25, 28, 32, 36, 40)

Rule = Literal["readings", "sheet", "greatest"]


@dataclass(frozen=True, slots=True)
class Range:
    """Films of a product sheet, dry.

    Parameters
    ----------
    least : float
        [m]
    greatest : float
        [m]; infinite where the sheet states none.
    stated : float
        What the sheet itself aims at [m]; 0 where it states none.
    liquid : Liquid
        Solids and thinning.

    Raises
    ------
    InputError
        Where they are not in order.

    Examples
    --------
    >>> found = Range(10 * MIL, 20 * MIL, 14 * MIL, Liquid(0.98))
    >>> round(found.liquid.wet_per_dry * found.least / MIL, 1)
    10.2
    """

    least: float
    greatest: float
    stated: float
    liquid: Liquid

    def __post_init__(self) -> None:
        ask = Ask("the films of a sheet")
        ask.positive("least", self.least, "m")
        ask.not_negative("stated", self.stated, "m")
        if not ask.problems and not self.least <= self.greatest:
            ask.refuse("greatest", self.greatest, f"the least film {self.least:g} m or more")
        if not ask.problems and self.stated and not self.least <= self.stated <= self.greatest:
            ask.refuse("stated", self.stated, f"{self.least:g} to {self.greatest:g} m")
        ask.done()


@dataclass(frozen=True, slots=True)
class Hand:
    """How a crew lays a product and reads it.

    Parameters
    ----------
    spread : float
        Standard deviation of the wet film along a lot [m].
    evidence : Evidence
        Where the spread is from.
    step : float
        Step of the crew's gauge at such films [m]; 0: that of a usual gauge.
    readings : int
        Readings stated for a lot; 0: chosen with the aim.
    pooled : float
        Degrees of freedom of earlier lots with which the spread is pooled; 0: each lot by its own spread.

    Examples
    --------
    >>> Hand(1.5 * MIL, ESTIMATE).readings
    0
    """

    spread: float
    evidence: Evidence
    step: float = 0.0
    readings: int = 0
    pooled: float = 0.0

    def __post_init__(self) -> None:
        ask = Ask("a crew's film")
        for key in ("spread", "step", "pooled"):
            ask.not_negative(key, getattr(self, key), "m")
        ask.count("readings", self.readings)
        if not ask.problems and self.readings and not 3 <= self.readings <= MOST_READINGS:
            ask.refuse("readings", self.readings, f"3 to {MOST_READINGS} readings a lot")
        ask.done()


@dataclass(frozen=True, slots=True)
class Worth:
    """What film and readings cost in a lot.

    Parameters
    ----------
    film : float
        Money for 1 m more of dry film over the area of a lot (money/m).
    reading : float
        Money a reading.
    """

    film: float
    reading: float


@dataclass(frozen=True, slots=True)
class Instead:
    """What would do where the sheet's greatest film forbids the aim; each alone, None where it can't.

    Parameters
    ----------
    readings : int or None
    spread, step : float or None
        Largest spread and largest step of a gauge [m].
    """

    readings: int | None
    spread: float | None
    step: float | None


@dataclass(frozen=True, slots=True)
class Aim:
    """Least, aim and greatest of an option.

    Parameters
    ----------
    least, aim, greatest : float
        Dry [m]; `greatest` infinite where the sheet states none.
    wet_per_dry : float
    readings : int
        To be taken in a lot.
    hand : Hand
        With the step that was counted.
    needed : float
        Dry film that the readings need [m].
    chance : float
        That a lot laid at the aim with that spread is proved.
    rule : str
        What the aim rests on: ``readings``, the ``sheet``'s own aim, or the sheet's ``greatest``, which forbids more.
    instead : Instead or None
        Where the greatest film forbids what the readings need.
    """

    least: float
    aim: float
    greatest: float
    wet_per_dry: float
    readings: int
    hand: Hand
    needed: float
    chance: float
    rule: Rule
    instead: Instead | None = field(default=None)

    @property
    def provable(self) -> bool:
        """Whether a lot laid at the aim is proved with the wanted chance."""
        return self.rule != "greatest"

    @property
    def least_wet(self) -> float:
        """[m]."""
        return self.least * self.wet_per_dry

    @property
    def aim_wet(self) -> float:
        """[m]."""
        return self.aim * self.wet_per_dry

    @property
    def greatest_wet(self) -> float:
        """[m]."""
        return self.greatest * self.wet_per_dry

    def to_json(self) -> dict[str, Any]:
        """Give the films in µm, dry and wet, and what they rest on."""
        greatest = math.isfinite(self.greatest)
        instead = self.instead
        return {
            "least_um": self.least * 1e6,
            "aim_um": self.aim * 1e6,
            "greatest_um": self.greatest * 1e6 if greatest else None,
            "least_wet_um": self.least_wet * 1e6,
            "aim_wet_um": self.aim_wet * 1e6,
            "greatest_wet_um": self.greatest_wet * 1e6 if greatest else None,
            "readings": self.readings,
            "spread_um": self.hand.spread * 1e6,
            "step_um": self.hand.step * 1e6,
            "pooled": self.hand.pooled,
            "needed_um": self.needed * 1e6,
            "chance": self.chance,
            "rule": self.rule,
            "provable": self.provable,
            "evidence": self.hand.evidence.to_json(),
            "instead": None
            if instead is None
            else {
                "readings": instead.readings,
                "spread_um": None if instead.spread is None else instead.spread * 1e6,
                "step_um": None if instead.step is None else instead.step * 1e6,
            },
        }


def usual_step(wet: float) -> float:
    """Give the step of a usual gauge at a wet film [m].

    Source: ASTM D4414-95(2020), 7.1.2, example tab: 0.5 mil up to 6 mil, 1 up to 10, 2 up to 30, 5 above.

    Examples
    --------
    >>> round(usual_step(15 * MIL) / MIL, 6), round(usual_step(31 * MIL) / MIL, 6)
    (2.0, 5.0)
    """
    return next(step for most, step in _TAB if wet <= most * MIL * (1 + 1e-9)) * MIL


def aim_for(films: Range, hand: Hand, worth: Worth | None = None, *, chance: float = CHANCE) -> Aim:
    """Choose aim and readings of a film together.

    Parameters
    ----------
    films : Range
        Of the sheet.
    hand : Hand
        Of the crew.
    worth : Worth or None
        What film and readings cost; None: the fewest readings that do.
    chance : float
        With which a lot laid at the aim is to be proved.

    Returns
    -------
    Aim

    Examples
    --------
    A least of 12.2 mil wet, a spread of 1.5, ten readings by a gauge of 2 mil:

    >>> films = Range(12 * MIL, 30 * MIL, 15 * MIL, Liquid(0.98))
    >>> found = aim_for(films, Hand(1.5 * MIL, ESTIMATE, readings=10))
    >>> round(found.aim_wet / MIL, 1), found.rule
    (17.4, 'readings')
    """
    numbers = (hand.readings,) if hand.readings else _TRIED
    best: Aim | None = None
    cost = math.inf
    for readings in numbers:
        found = _with(films, hand, readings, chance)
        spent = math.inf if not found.provable else 0.0 if worth is None else _cost(found, worth)
        if best is None or spent < cost or (not best.provable and found.needed < best.needed):
            best, cost = found, spent
        elif best.provable:
            break  # film and readings cost more from here on
        if best.provable and readings >= USUAL_MOST.value:
            break
    if best is None:
        raise QuantityError("no number of readings to choose from")
    return best if best.provable else _forbidden(best, hand, chance)


def _cost(found: Aim, worth: Worth) -> float:
    return worth.film * found.aim + worth.reading * found.readings


def _with(films: Range, hand: Hand, readings: int, chance: float) -> Aim:
    wet_per_dry = films.liquid.wet_per_dry
    step, needed = _needed(films.least * wet_per_dry, hand, readings, chance)
    held = Hand(hand.spread, hand.evidence, step, hand.readings, hand.pooled)
    dry = needed / wet_per_dry
    rule: Rule = "readings"
    aim = dry
    if dry <= films.stated:
        rule, aim = "sheet", films.stated
    if dry > films.greatest * (1 + 1e-9):
        rule, aim = "greatest", films.greatest
    reads = Reads(readings, step, hand.pooled)
    reached = chance_at((aim - films.least) * wet_per_dry, hand.spread, reads)
    return Aim(films.least, aim, films.greatest, wet_per_dry, readings, held, dry, reached, rule)


def _needed(least_wet: float, hand: Hand, readings: int, chance: float) -> tuple[float, float]:
    """Step of the gauge and wet film needed; a usual gauge has wider steps at thicker films, so both are found together."""
    step = hand.step or usual_step(least_wet)
    while True:
        needed = least_wet + allowance(hand.spread, Reads(readings, step, hand.pooled), chance)
        wider = hand.step or max(step, usual_step(needed + 2.0 * hand.spread))
        if wider <= step:
            return step, needed
        step = wider


def _forbidden(best: Aim, hand: Hand, chance: float) -> Aim:
    room, step = best.greatest_wet - best.least_wet, best.hand.step
    readings = None if hand.pooled else readings_for(room, hand.spread, step, chance)
    finer = [one * MIL for one in _FINER if one * MIL < step * (1 - 1e-9)]
    does = (
        one for one in finer if allowance(hand.spread, Reads(best.readings, one, hand.pooled), chance) <= room
    )
    instead = Instead(
        readings,
        _steadier(room, Reads(best.readings, step, hand.pooled), hand.spread, chance),
        next(does, None),
    )
    return replace(best, instead=instead)


def _steadier(room: float, reads: Reads, spread: float, chance: float) -> float | None:
    """Largest spread that these readings prove within the room."""
    if allowance(0.0, reads, chance) > room:
        return None
    low, high = 0.0, spread
    for _ in range(12):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if allowance(middle, reads, chance) <= room else (low, middle)
    return low
