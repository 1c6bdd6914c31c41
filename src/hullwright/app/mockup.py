"""A mock-up as a person measured it: film, agreement with the comb, pace, bead, saving; and readings to plan."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from hullwright.errors import InputError, Problem, QuantityError, Where
from hullwright.evidence import Evidence, Mark
from hullwright.material.aim import Aim, Hand, Range, aim_for
from hullwright.material.film import Liquid
from hullwright.material.sheet import printed_share
from hullwright.material.tolerance import LEAST_READINGS
from hullwright.proof.comb import Comb, wet_to_dry
from hullwright.proof.mockup import Agreement, MockUp, Saving, Target, agreement, pace, saving, spread_of
from hullwright.proof.planning import OperatingCurve, operating_curve, readings_for
from hullwright.quantities import Verdict, refuse, verdict
from hullwright.quantities.judge import system_of
from hullwright.units import read

_SIZES: Final = {
    "length": "length", "width": "length", "used": "volume", "time": "time", "gap": "length", "depth": "length",
    "used_u": "volume", "width_u": "length", "target_width": "length", "target_dry": "length", "house_length": "length",
    "least_dry": "length", "greatest_dry": "length", "pack": "volume",
}  # fmt: skip
_OF: Final = {
    "length": "mock-up length", "width": "band width", "used": "volume used", "time": "gunning time", "gap": "gap",
    "depth": "fill depth", "used_u": "uncertainty of a volume", "width_u": "uncertainty of a width",
    "target_width": "tape or film width", "target_dry": "dry film", "house_length": "joint length", "least_dry": "dry film",
    "greatest_dry": "dry film", "pack": "pack volume",
}  # fmt: skip
"""Row of the table of quantities for each size."""
SHOWN: Final = Evidence(Mark.MEASURED, "mock-up")
_NEEDED: Final = ("length", "width", "used")
_LISTS: Final = ("teeth", "wet")
_PLAIN: Final = ("solids", "price")


@dataclass(frozen=True, slots=True)
class MockUpAnswer:
    """What a mock-up says.

    Parameters
    ----------
    mock : MockUp
    agreement : Agreement or None
        None with fewer than two comb readings.
    target : Target or None
    pace : float or None
        [m/s]; None without target or time.
    saving : Saving or None
        None without target or house length.
    film : ShownFilm or None
        What this hand must aim at; None with fewer than three readings, or without the sheet's least film and solids.
    """

    mock: MockUp
    agreement: Agreement | None
    target: Target | None
    pace: float | None
    saving: Saving | None
    film: ShownFilm | None = None

    def to_json(self) -> dict[str, Any]:
        """Give the answer."""
        return {
            "schema": {"name": "mock-up", "version": 1},
            "wet_um": {
                "value": self.mock.film * 1e6,
                "low": (self.mock.film - 1.959963984540054 * self.mock.film_u) * 1e6,
                "high": (self.mock.film + 1.959963984540054 * self.mock.film_u) * 1e6,
                "level": 0.95,
            },
            "gap_share": self.mock.gap_share,
            "agreement": None if self.agreement is None else self.agreement.to_json(),
            "bead_mm": None if self.target is None else self.target.bead * 1e3,
            "pace_m_min": None if self.pace is None else self.pace * 60.0,
            "saving": None if self.saving is None else self.saving.to_json(),
            "film": None if self.film is None else self.film.to_json(),
            "cautions": [],
        }


@dataclass(frozen=True, slots=True)
class ShownFilm:
    """What a crew with the spread of its mock-up must aim at.

    Parameters
    ----------
    aim : Aim
    spread : tuple of float
        Spread of the wet film and the 95 % interval of it [m].
    added : float or None
        Money of the film over the least on the house; None without house length, pack and price.
    steadier : float or None
        Money that half the spread would save on the house.
    """

    aim: Aim
    spread: tuple[float, float, float]
    added: float | None = None
    steadier: float | None = None

    def to_json(self) -> dict[str, Any]:
        """Give the films with the spread and its interval in µm, and the money."""
        value, low, high = (one * 1e6 for one in self.spread)
        return {
            **self.aim.to_json(),
            "spread": {"value": value, "low": low, "high": high, "level": 0.95},
            "added_money": self.added,
            "steadier_money": self.steadier,
        }


@dataclass(frozen=True, slots=True)
class ReadingsPlan:
    """Readings to plan for a lot, and the chance curve of that many."""

    readings: int
    power: float
    curve: OperatingCurve

    def to_json(self) -> dict[str, Any]:
        """Give the answer."""
        return {
            "schema": {"name": "film readings", "version": 1},
            "readings": self.readings,
            "chance": self.power,
            "curve": self.curve.to_json(),
            "cautions": [],
        }


def mockup(given: Mapping[str, Any]) -> MockUpAnswer:
    """Say what a mock-up says.

    Parameters
    ----------
    given : mapping
        Quantities with their units: `length`, `width`, `used` (needed); `used_u`, `width_u` (standard uncertainties), `time`
        (gunning), `gap`, `depth`; `teeth` (of the gauge) and `wet` (last wet tooth of each reading, ``none`` where no tooth
        was wet); `target_width`, `target_dry`, `solids` (share by volume); `house_length`; `least_dry` and `greatest_dry` of the sheet,
        for the aim that this hand's readings prove; `pack` and `price`, for its money.

    Returns
    -------
    MockUpAnswer

    Raises
    ------
    InputError
        With everything that can't be used.

    Examples
    --------
    >>> answer = mockup({"length": "10 ft", "width": "4 in", "used": "0.05 gal", "target_width": "4 in",
    ...                  "target_dry": "20 mil", "solids": 1.0, "house_length": "300 ft"})
    >>> round(answer.mock.film / 25.4e-6, 2), round(answer.target.bead / 0.0254, 4), round(answer.saving.share, 3)
    (24.06, 0.3192, 0.169)
    """
    sizes = _sizes(given)
    mock = MockUp(
        sizes["length"],
        sizes["width"],
        sizes["used"],
        sizes.get("time", 0.0),
        sizes.get("gap", 0.0),
        sizes.get("depth", 0.0),
        _readings(given),
        sizes.get("used_u", 0.0),
        sizes.get("width_u", 0.0),
    )
    target = _target(given, sizes)
    return MockUpAnswer(
        mock,
        agreement(mock) if len(mock.readings) >= 2 else None,
        target,
        pace(mock, target) if target is not None and mock.seconds > 0 else None,
        saving(mock, target, house_length=sizes["house_length"])
        if target is not None and "house_length" in sizes
        else None,
        _shown(given, sizes, mock),
    )


def _shown(given: Mapping[str, Any], sizes: Mapping[str, float], mock: MockUp) -> ShownFilm | None:
    """Aim that the readings of a lot prove at the spread of this mock-up."""
    if "least_dry" not in sizes or "solids" not in given or len(mock.readings) < LEAST_READINGS:
        return None
    liquid = Liquid(printed_share(given["solids"]).value)
    greatest = sizes.get("greatest_dry", math.inf)
    films = Range(sizes["least_dry"], greatest, sizes.get("target_dry", 0.0), liquid)
    spread = spread_of(mock.readings)
    step = max(reading.step for reading in mock.readings)
    aim, half = (aim_for(films, Hand(share * spread[0], SHOWN, step)) for share in (1.0, 0.5))
    rate = _rate(given, sizes, liquid)
    if rate is None:
        return ShownFilm(aim, spread)
    return ShownFilm(aim, spread, rate * (aim.aim - aim.least), rate * (aim.aim - half.aim))


def _rate(given: Mapping[str, Any], sizes: Mapping[str, float], liquid: Liquid) -> float | None:
    """Money for 1 m more of dry film on the house; None where its length, the pack or the price is not stated."""
    if not {"house_length", "pack", "target_width"} <= set(sizes) or "price" not in given:
        return None
    try:
        price = float(given["price"])
    except (TypeError, ValueError) as error:
        problem = Problem("no price", Where(key="price"), str(given["price"]), "money a pack, such as 17")
        raise InputError("the mock-up can't be used", [problem]) from error
    area = sizes["house_length"] * sizes["target_width"]
    return area * liquid.wet_per_dry / sizes["pack"] * price


def plan_readings(mean: str, sd: str, *, least: str, step: str, chance: float = 0.9) -> ReadingsPlan:
    """Say how many comb readings to plan for a lot.

    Parameters
    ----------
    mean, sd : str
        Wet film the crew lays and its spread, such as ``24 mil`` and ``2 mil``.
    least : str
        Least wet film.
    step : str
        Step of the comb there.
    chance : float
        Chance with which a lot of that kind shall be proved.

    Returns
    -------
    ReadingsPlan

    Raises
    ------
    InfeasibleError
        Where no practical number would do.

    Examples
    --------
    >>> plan_readings("24 mil", "2 mil", least="20 mil", step="2 mil").readings
    51
    """
    if not 0 < chance < 1:
        raise InputError(
            "the chance must lie between 0 and 1", [Problem("out of range", Where(key="chance"), f"{chance}")]
        )
    values = [read(text) for text in (mean, sd, least, step)]
    n = readings_for(values[0], values[1], least=values[2], step=values[3], power=chance)
    return ReadingsPlan(n, chance, operating_curve(n, values[1], least=values[2], step=values[3]))


def _sizes(given: Mapping[str, Any]) -> dict[str, float]:
    problems = [
        Problem("unknown key", Where(key=key), key, ", ".join((*_SIZES, *_LISTS, *_PLAIN)))
        for key in given
        if key not in _SIZES and key not in _LISTS and key not in _PLAIN
    ]
    problems += [
        Problem(f"{key} is missing", Where(key=key), hint="measure it") for key in _NEEDED if key not in given
    ]
    sizes: dict[str, float] = {}
    for key, quantity in _SIZES.items():
        if key in given:
            try:
                sizes[key] = read(given[key], quantity)
                if verdict(_OF[key], sizes[key]) is Verdict.IMPOSSIBLE:
                    text = f"{given[key]}"
                    problems.append(
                        refuse(_OF[key], text, system=system_of(text, quantity), where=Where(key=key))
                    )
            except QuantityError as error:
                problems += [
                    Problem(p.message, Where(key=key), p.got, p.allowed, p.hint) for p in error.problems
                ]
    if problems:
        raise InputError("the mock-up can't be used", problems)
    return sizes


def _readings(given: Mapping[str, Any]) -> tuple[Any, ...]:
    if ("teeth" in given) != ("wet" in given):
        raise InputError(
            "the mock-up can't be used",
            [Problem("teeth and wet go together", Where(key="teeth"), hint="state both or neither")],
        )
    if "teeth" not in given:
        return ()
    teeth: Sequence[Any] = given["teeth"]
    comb = Comb(tuple(read(tooth) for tooth in teeth))
    return tuple(comb.read(None if str(wet).strip().lower() == "none" else read(wet)) for wet in given["wet"])


def _target(given: Mapping[str, Any], sizes: Mapping[str, float]) -> Target | None:
    keys = [key for key in ("target_width", "target_dry", "solids") if key in given]
    if not keys or (keys == ["solids"] and "least_dry" in given):
        return None
    if len(keys) < 3:
        raise InputError(
            "the mock-up can't be used",
            [Problem("a target needs target_width, target_dry and solids", got=", ".join(keys))],
        )
    wet = sizes["target_dry"] / wet_to_dry(printed_share(given["solids"]).value)
    return Target(sizes["target_width"], wet, sizes.get("gap", 0.0), sizes.get("depth", 0.0))
