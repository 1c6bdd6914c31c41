"""The area and spot rules of a steel-coating standard, as another way to accept.

SSPC-PA 2, written for dry films on metal and borrowed here: a spot is the mean of at least 3 readings in a 1.5-in circle,
an area the mean of 5 spots in each 100 ft2 (10 m2). A 4-in band of that area is 300 ft of joint: five spots there are
too few for a water seal. :data:`SCOPE` says so with each answer.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from hullwright.errors import Problem, QuantityError
from hullwright.evidence import Caution, Evidence, Mark
from hullwright.units import FOOT

_PA2 = Evidence(Mark.PUBLISHED, "SSPC-PA 2, number of areas and definitions")
_LEVELS = Evidence(Mark.MEMORY, "SSPC-PA 2, restriction levels; level 3 restated by a published example")
SCOPE = Caution(
    "written for dry film on metal; five spots per 100 ft2 (300 ft of a 4-in band) are thin for a water seal",
    _PA2,
)
SPOTS_PER_AREA: Final = 5
READINGS_PER_SPOT: Final = 3


@dataclass(frozen=True, slots=True)
class Level:
    """How far spots and areas may leave the stated range, as factors; None means no limit.

    Parameters
    ----------
    spot_low : float
        Times the least film.
    spot_high, area_high : float or None
        Times the largest film.
    evidence : Evidence
    """

    spot_low: float
    spot_high: float | None
    area_high: float | None
    evidence: Evidence


LEVELS: Final[dict[int, Level]] = {
    1: Level(1.0, 1.0, 1.0, _LEVELS),
    2: Level(1.0, 1.2, 1.0, _LEVELS),
    3: Level(0.8, 1.2, 1.0, Evidence(Mark.PUBLISHED, "SSPC-PA 2, level 3, the default")),
    4: Level(0.8, 1.5, 1.0, _LEVELS),
    5: Level(0.8, None, None, _LEVELS),
}


@dataclass(frozen=True, slots=True)
class Sampling:
    """How many areas, spots and readings the standard asks for."""

    areas: int
    spots: int
    readings: int


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits on spots and areas in the unit of the films; None means no limit."""

    spot_low: float
    spot_high: float | None
    area_low: float
    area_high: float | None


@dataclass(frozen=True, slots=True)
class Judged:
    """What the rules say.

    Parameters
    ----------
    accepted : bool
    bad_spots : tuple of (str, int)
        Area and number of each spot outside its limits.
    bad_areas : tuple of str
        Areas whose mean is outside its limits.
    """

    accepted: bool
    bad_spots: tuple[tuple[str, int], ...]
    bad_areas: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """Give the judgement with the scope of the rules."""
        return {
            "accepted": self.accepted,
            "bad_spots": [{"area": area, "spot": spot} for area, spot in self.bad_spots],
            "bad_areas": list(self.bad_areas),
            "cautions": [SCOPE.to_json()],
        }


def sampling(area: float, *, metric: bool = False) -> Sampling:
    """Give the areas, spots and readings for a coated area.

    Parameters
    ----------
    area : float
        [m2]
    metric : bool
        Count in units of 10 m2 instead of 100 ft2; the standard prints both.

    Returns
    -------
    Sampling

    Raises
    ------
    QuantityError
        Area zero, negative or not finite.

    Examples
    --------
    >>> sampling(2800 * FOOT**2)
    Sampling(areas=5, spots=25, readings=75)
    """
    if not (math.isfinite(area) and area > 0):
        raise QuantityError(f"the area must be above 0, got {area} m2")
    units = area / (10.0 if metric else 100.0 * FOOT**2)
    if units <= 3 + 1e-9:
        areas = math.ceil(units - 1e-9)
    else:
        areas = 3 + max(0, math.ceil((units - 10.0) / 10.0 - 1e-9))
    spots = areas * SPOTS_PER_AREA
    return Sampling(areas, spots, spots * READINGS_PER_SPOT)


def limits(least: float, most: float | None = None, *, level: int = 3) -> Limits:
    """Give the limits on spots and areas.

    Parameters
    ----------
    least : float
        Least dry film, any unit of length.
    most : float or None
        Largest dry film; with None the one stated value stands for a range of ±20 %.
    level : int
        1 (most restrictive) to 5.

    Returns
    -------
    Limits

    Raises
    ------
    QuantityError
        Unknown level, range upside down.

    Examples
    --------
    >>> found = limits(8, 12)
    >>> found.spot_low, round(found.spot_high, 6)
    (6.4, 14.4)
    """
    if level not in LEVELS or least <= 0 or (most is not None and most < least):
        problem = Problem(
            "level or range out of bounds", got=f"level {level}, {least} to {most}", allowed="levels 1 to 5"
        )
        raise QuantityError("no limits for these figures", [problem])
    low, high = (0.8 * least, 1.2 * least) if most is None else (least, most)
    rule = LEVELS[level]
    spot_high = None if rule.spot_high is None else rule.spot_high * high
    area_high = None if rule.area_high is None else rule.area_high * high
    return Limits(rule.spot_low * low, spot_high, low, area_high)


def judge(spots: Mapping[str, Sequence[float]], within: Limits) -> Judged:
    """Judge spot means by area; a failing area is delimited by further spots, never averaged away.

    Parameters
    ----------
    spots : mapping of str to sequence of float
        Spot means (each of 3 readings or more) of each area, in the unit of the limits.
    within : Limits

    Returns
    -------
    Judged

    Raises
    ------
    QuantityError
        An area with fewer than five spots.

    Examples
    --------
    >>> judge({"east": [8, 9, 10, 9, 6]}, limits(8, 12)).bad_spots
    (('east', 4),)
    """
    few = [area for area, values in spots.items() if len(values) < SPOTS_PER_AREA]
    if few or not spots:
        raise QuantityError(
            "too few spots",
            [
                Problem(
                    "an area needs five spots",
                    got=f"{', '.join(few) or 'no area'}",
                    allowed="5 spots an area",
                )
            ],
        )
    bad_spots = tuple(
        (area, number)
        for area, values in spots.items()
        for number, value in enumerate(values)
        if _outside(value, within.spot_low, within.spot_high)
    )
    bad_areas = tuple(
        area
        for area, values in spots.items()
        if _outside(sum(values) / len(values), within.area_low, within.area_high)
    )
    return Judged(not bad_spots and not bad_areas, bad_spots, bad_areas)


def _outside(value: float, low: float, high: float | None) -> bool:
    return value < low or (high is not None and value > high)
