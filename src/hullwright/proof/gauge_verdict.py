"""What is said at once about one gauge reading.

The film lies between the last wet notch and the next dry one. *Enough* where all of that is at or above the least film; *too thin*
where all of it is below; else *close*: the reading counts, and the lot as a whole decides (:mod:`hullwright.proof.lots`).
The page says the same; one table of cases holds both (``tests/cases/gauge_verdicts.json``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from hullwright.errors import Problem, QuantityError

ROUNDING: Final = 1e-9  # a film that equals its least but for the rounding of a unit is not below it


class Verdict(StrEnum):
    """What one reading says about a least film."""

    ENOUGH = "enough"
    CLOSE = "close"
    THIN = "too thin"


SAYS: Final = {
    Verdict.ENOUGH: "enough",
    Verdict.CLOSE: "close: it counts; lay the next a little thicker",
    Verdict.THIN: "too thin: add now",
}


@dataclass(frozen=True, slots=True)
class Said:
    """The answer to one reading.

    Parameters
    ----------
    verdict : Verdict
    low, high : float
        Wet film lies between [m]; `high` infinite where all notches were wet.
    least, aim : float
        Least wet film, and the one aimed at [m].
    """

    verdict: Verdict
    low: float
    high: float
    least: float
    aim: float

    @property
    def words(self) -> str:
        """What to do."""
        return SAYS[self.verdict]

    def to_json(self) -> dict[str, Any]:
        """Give verdict, words and films in µm."""
        return {
            "verdict": self.verdict.value,
            "words": self.words,
            "low_um": self.low * 1e6,
            "high_um": None if math.isinf(self.high) else self.high * 1e6,
            "least_wet_um": self.least * 1e6,
            "aim_wet_um": self.aim * 1e6,
        }


def verdict(low: float, high: float, least: float) -> Verdict:
    """Say what a reading shows.

    Parameters
    ----------
    low, high : float
        Last wet notch (0 where none was wet) and next dry one (infinite where all were wet), any unit of length.
    least : float
        Least wet film, same unit.

    Returns
    -------
    Verdict

    Raises
    ------
    QuantityError
        Where the interval is upside down, or the least film not above 0.

    Examples
    --------
    >>> [verdict(low, low + 2, 12.0).value for low in (12, 11, 10, 8)]
    ['enough', 'close', 'close', 'too thin']
    """
    if not (0 <= low < high and math.isfinite(least) and least > 0):
        problem = Problem(
            "no reading, or no least film",
            got=f"last wet {low}, next dry {high}, least {least}",
            allowed="0 ≤ last wet notch < next dry notch; least film above 0",
        )
        raise QuantityError("this reading can't be judged", [problem])
    edge = least * (1.0 - ROUNDING)
    if low >= edge:
        return Verdict.ENOUGH
    return Verdict.THIN if high < edge else Verdict.CLOSE
