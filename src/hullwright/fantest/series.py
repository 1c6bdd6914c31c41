"""What did each step buy: tests of one house in order, changes with their intervals."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from hullwright.errors import FanTestError, Problem
from hullwright.fantest.analysis import Spread, TestResult
from hullwright.fantest.direction import Direction
from hullwright.fantest.raw import Sense
from hullwright.fantest.scales import ELA_FACTOR
from hullwright.fantest.terms import Terms, average


@dataclass(frozen=True, slots=True)
class Step:
    """From one test of a house to the next.

    Parameters
    ----------
    before, after : str
        Stage, or date, or file of the two tests.
    done : str
        What was done between them.
    masked_before, masked_after : tuple of str
        Zones taped off in each.
    senses : tuple of Sense
        Directions that both tests have; only these are compared.
    q50 : Spread
        Change of the flow at 50 Pa [m3/h]; below zero is tighter.
    ela : Spread
        Change of the effective leakage area at 4 Pa [cm2].
    share : float
        Change of the flow at 50 Pa over the flow before.
    ach50 : float or None
        Change by the volume of the later test [1/h].
    notes : tuple of str
        What makes the two hard to compare.
    """

    before: str
    after: str
    done: str
    masked_before: tuple[str, ...]
    masked_after: tuple[str, ...]
    senses: tuple[Sense, ...]
    q50: Spread
    ela: Spread
    share: float
    ach50: float | None
    notes: tuple[str, ...]

    @property
    def seen(self) -> bool:
        """Whether the interval of the change leaves out zero: the tests tell the two stages apart."""
        return self.q50.high < 0 or self.q50.low > 0

    def to_json(self) -> dict[str, Any]:
        """Give the step as JSON."""
        return {
            "from": self.before,
            "to": self.after,
            "done": self.done,
            "masked_from": list(self.masked_before),
            "masked_to": list(self.masked_after),
            "directions": [sense.value for sense in self.senses],
            "q50_change_m3_h": self.q50.to_json(),
            "ela_change_cm2": self.ela.to_json(),
            "share": self.share,
            "ach50_change": self.ach50,
            "seen": self.seen,
            "notes": list(self.notes),
        }


@dataclass(frozen=True, slots=True)
class Series:
    """Tests of one house in the order they were made.

    Parameters
    ----------
    tests : tuple of TestResult
        Tests.
    steps : tuple of Step
        Between neighbours.
    whole : Step
        From the first to the last.
    """

    tests: tuple[TestResult, ...]
    steps: tuple[Step, ...]
    whole: Step

    def to_json(self) -> dict[str, Any]:
        """Give the series as JSON."""
        return {
            "schema": {"name": "fantest_series", "version": 1},
            "tests": [
                {"name": name_of(test), "q50_m3_h": test.flow(50.0), "valid": not test.void}
                for test in self.tests
            ],
            "steps": [step.to_json() for step in self.steps],
            "whole": self.whole.to_json(),
        }


def name_of(test: TestResult) -> str:
    """Name a test by its stage, or date, or file.

    Parameters
    ----------
    test : TestResult

    Returns
    -------
    str
    """
    return test.raw.stage or test.raw.date or test.raw.source or "test"


def steps(tests: Sequence[TestResult]) -> Series:
    """Compare the tests of one house, neighbour with neighbour.

    Parameters
    ----------
    tests : sequence of TestResult
        Two or more, in order, of the same coverage.

    Returns
    -------
    Series

    Raises
    ------
    FanTestError
        Where there are fewer than two, or two neighbours have no direction in common.
    """
    if len(tests) < 2:
        problem = Problem("a series needs two tests or more", got=str(len(tests)))
        raise FanTestError("nothing to compare", [problem])
    pairs = [_step(before, after) for before, after in itertools.pairwise(tests)]
    return Series(tuple(tests), tuple(pairs), _step(tests[0], tests[-1], whole=tuple(tests)))


def _step(before: TestResult, after: TestResult, *, whole: tuple[TestResult, ...] = ()) -> Step:
    have = {direction.sense for direction in before.directions}
    common = tuple(direction.sense for direction in after.directions if direction.sense in have)
    if not common:
        problem = Problem(
            "the two tests have no direction in common",
            got=f"{name_of(before)}: {', '.join(have)}; {name_of(after)}: "
            + ", ".join(direction.sense for direction in after.directions),
        )
        raise FanTestError("the tests can't be compared", [problem])
    old = tuple(direction for sense in common for direction in before.directions if direction.sense is sense)
    new = tuple(direction for sense in common for direction in after.directions if direction.sense is sense)
    shared = before.raw.device.name == after.raw.device.name != ""
    q50 = _change(old, new, 50.0, shared=shared, level=after.level)
    q4 = _change(old, new, 4.0, shared=shared, level=after.level)
    ela = Spread(q4.value * ELA_FACTOR, q4.low * ELA_FACTOR, q4.high * ELA_FACTOR, q4.level)
    volume = after.raw.building.volume_m3
    return Step(
        name_of(before),
        name_of(after),
        "; ".join(test.raw.done for test in whole[1:] if test.raw.done) if whole else after.raw.done,
        before.raw.masked,
        after.raw.masked,
        common,
        q50,
        ela,
        q50.value / _mean(old, 50.0),
        q50.value / volume if volume else None,
        _notes(before, after, shared=shared),
    )


def _mean(directions: tuple[Direction, ...], pressure_pa: float) -> float:
    return sum(direction.flow(pressure_pa) for direction in directions) / len(directions)


def _terms(directions: tuple[Direction, ...], pressure_pa: float) -> Terms:
    flows = tuple(direction.flow(pressure_pa) for direction in directions)
    return average(tuple(direction.terms[pressure_pa] for direction in directions), flows)


def _change(
    old: tuple[Direction, ...], new: tuple[Direction, ...], pressure_pa: float, *, shared: bool, level: float
) -> Spread:
    """Change of the mean flow; what one device and gauge have in common in both tests scales the change only."""
    q_old, q_new = _mean(old, pressure_pa), _mean(new, pressure_pa)
    t_old, t_new = _terms(old, pressure_pa), _terms(new, pressure_pa)
    apart = [
        q * part for q, t in ((q_old, t_old), (q_new, t_new)) for part in (t.scatter, t.zero_flow, t.wind)
    ]
    for name in ("device", "gauge", "exponent"):
        a, b = q_old * getattr(t_old, name), q_new * getattr(t_new, name)
        apart.append(a - b if shared else math.hypot(a, b))
    half = math.sqrt(sum(part**2 for part in apart))
    return Spread(q_new - q_old, q_new - q_old - half, q_new - q_old + half, level)


def _notes(before: TestResult, after: TestResult, *, shared: bool) -> tuple[str, ...]:
    out: list[str] = []
    if not shared:
        out.append("different or unnamed devices: their accuracies count in full against the change")
    if before.raw.preparation != after.raw.preparation:
        out.append(
            f"prepared differently ({before.raw.preparation or 'not stated'}; {after.raw.preparation or 'not stated'})"
        )
    if before.raw.building.volume_m3 != after.raw.building.volume_m3:
        out.append("the volume stated differs")
    if set(before.raw.masked) != set(after.raw.masked):
        zones = ", ".join(sorted(set(before.raw.masked) ^ set(after.raw.masked)))
        out.append(f"zones masked in one of the two only ({zones}): the change holds what leaks there")
    out += [f"{name_of(test)}: void by its standard" for test in (before, after) if test.void]
    return tuple(out)
