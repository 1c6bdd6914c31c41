"""Which quantity is each number of a fan test, and which odd ones does the file say it is sure of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from types import MappingProxyType
from typing import Final

from hullwright.errors import Problem, Where
from hullwright.quantities import Verdict, ask, quantity, refuse, verdict
from hullwright.quantities.judge import system_of

SURE: Final = "sure"
QUANTITY: Final[Mapping[str, str]] = MappingProxyType(
    {
        "wind_allowance": "accuracy", "repeatability": "accuracy",
        "building.volume": "inner volume", "building.envelope": "envelope area", "building.floor": "floor area",
        "building.height": "building height", "building.volume_accuracy": "accuracy",
        "building.envelope_accuracy": "accuracy", "building.floor_accuracy": "accuracy",
        "air.inside": "inside temperature", "air.outside": "air temperature", "air.altitude": "altitude",
        "air.barometer": "barometer", "air.inside_humidity": "humidity", "air.outside_humidity": "humidity",
        "air.wind": "wind",
        "device.density": "air density", "device.accuracy": "accuracy",
        "device.laws.coefficient": "calibration coefficient", "device.laws.exponent": "calibration exponent",
        "device.laws.from": "device pressure", "device.laws.to": "device pressure",
        "gauge.accuracy": "accuracy", "gauge.accuracy_pressure": "gauge accuracy",
        "weights.pressure": "gauge accuracy", "weights.flow_share": "accuracy", "weights.flow": "flow accuracy",
        "directions.zero_before": "zero-flow pressure", "directions.zero_after": "zero-flow pressure",
        "zero.mean": "zero-flow pressure",
        "stations.pressure": "envelope pressure", "stations.flow": "fan flow", "stations.device_pressure": "device pressure",
    }
)  # fmt: skip
"""Key of a fan test to its quantity."""
TEXTS: Final = frozenset(
    {
        "format", "house", "date", "stage", "done", "masked", "standard", "procedure", "preparation", "units", "building", "air",
        "device", "gauge", "weights", "directions", "building.envelope_basis", "device.name", "device.reads", "device.laws",
        "device.laws.setting", "gauge.name", "directions.direction", "directions.bias_removed", "directions.stations",
        "stations.setting", "stations.exclude",
    }
)  # fmt: skip
"""Keys that hold no number."""
_FORMS: Final = (
    "%Y-%m-%d",
    "%Y/%m/%d",
    "%d %B %Y",
    "%d %b %Y",
    "%B %d, %Y",
    "%b %d, %Y",
    "%B %d %Y",
    "%b %d %Y",
)


@dataclass(slots=True)
class Frame:
    """A table of the file and what it is sure of.

    Parameters
    ----------
    named : dict of str to Where
    all : bool
        Nothing of it is asked: a station that does not count keeps its reading, whatever it is.
    used : set of str
    """

    named: dict[str, Where] = field(default_factory=dict[str, Where])
    all: bool = False
    used: set[str] = field(default_factory=set[str])


@dataclass(frozen=True, slots=True)
class Size:
    """What is known of a number before it is read: its key, the path to it, its quantity, its table."""

    key: str
    path: str
    of: str
    frame: Frame

    def weigh(self, value: float, text: str, bare: str | None, where: Where) -> Problem | None:
        """Say what is wrong with a value, None where it can be and is usual or sure."""
        found = verdict(self.of, value)
        if found is Verdict.USUAL:
            return None
        place = Where(where.file, where.line, where.column, self.path)
        system = system_of(text, quantity(self.of).kind, bare)
        if found is Verdict.IMPOSSIBLE:
            return refuse(self.of, text, system=system, bare=bare, where=place)
        if self.frame.all:
            return None
        if self.key in self.frame.named:
            self.frame.used.add(self.key)
            return None
        return ask(
            self.of,
            text,
            system=system,
            answer=f"add `{SURE}: [{self.key}]` beside it",
            bare=bare,
            where=place,
        )


def day(text: str, where: Where) -> str | Problem:
    """Read the date of a test as ``2026-05-04``, or say what is wrong with it.

    Parameters
    ----------
    text : str
    where : Where

    Examples
    --------
    >>> day("May 4, 2026", Where())
    '2026-05-04'
    >>> day("2026-02-31", Where()).got
    '2026-02-31'
    """
    words = " ".join(text.split())
    for form in _FORMS:
        try:
            found = datetime.strptime(words, form).date()  # noqa: DTZ007  a day has no zone
        except ValueError:
            continue
        return _year(found, text, where)
    hint = (
        "write year-month-day: 05/04/2026 could be in May or in April"
        if "/" in text
        else "write year-month-day"
    )
    return Problem("there is no such day", where, text[:60], "a day such as 2026-05-04", hint)


def _year(found: date, text: str, where: Where) -> str | Problem:
    if verdict("year", found.year) is Verdict.USUAL:
        return found.isoformat()
    return Problem(
        "this is out of range for a year",
        where,
        text[:60],
        quantity("year").usual("metric"),
        "check the year",
    )
