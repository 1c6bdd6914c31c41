"""Is this test valid by its standard, and do the readings look right: flags with clause and mark, nothing mended."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from hullwright.errors import FanTestError
from hullwright.evidence import Mark
from hullwright.fantest.direction import Direction
from hullwright.fantest.raw import Procedure, RawTest, Sense
from hullwright.fantest.standards import Rule, Standard


@dataclass(frozen=True, slots=True)
class Flag:
    """One remark on the validity of a test.

    Parameters
    ----------
    text : str
        What was found and what is asked.
    clause : str
        Where it is asked.
    mark : Mark
        How far that figure can be trusted.
    kind : str
        ``void`` (the standard calls the test invalid), ``outside`` (outside what it asks for), ``check`` (look again)
        or ``note``.
    direction : str or None
        Which direction; None for the whole test.
    """

    text: str
    clause: str
    mark: Mark
    kind: str
    direction: str | None = None

    def to_json(self) -> dict[str, Any]:
        """Give the flag as JSON."""
        return {
            "text": self.text,
            "clause": self.clause,
            "mark": self.mark.value,
            "kind": self.kind,
            "direction": self.direction,
        }


Found = Iterator[str]
_Check = Callable[[Rule, RawTest, Direction], Found]


def rule_flags(raw: RawTest, standard: Standard, directions: tuple[Direction, ...]) -> tuple[Flag, ...]:
    """Hold a test against every rule of its standard.

    Parameters
    ----------
    raw : RawTest
        As read.
    standard : Standard
        With its rules.
    directions : tuple of Direction
        Results.

    Returns
    -------
    tuple of Flag
        One for each rule that is not kept, in each direction.
    """
    out: list[Flag] = []
    for rule in standard.rules:
        if rule.name in _TEST_RULES:
            out += [
                Flag(text, rule.clause, rule.mark, rule.kind)
                for text in _TEST_RULES[rule.name](rule, raw, directions)
            ]
            continue
        for direction in directions:
            found = _RUN_RULES[rule.name](rule, raw, direction)
            out += [Flag(text, rule.clause, rule.mark, rule.kind, direction.sense.value) for text in found]
    return tuple(out)


def _multi(check: _Check) -> _Check:
    def only_multi(rule: Rule, raw: RawTest, direction: Direction) -> Found:
        if raw.procedure is Procedure.MULTI:
            yield from check(rule, raw, direction)

    return only_multi


def _levels(direction: Direction) -> list[float]:
    """Induced pressures of the stations that count, low to high [Pa]."""
    return sorted(float(p) for p in direction.dp_pa[direction.used])


def _zeros(direction: Direction) -> list[float]:
    """Every zero-flow mean the standards look at: all, positive only, negative only [Pa]."""
    taken = [zero for zero in (direction.run.before, direction.run.after) if zero is not None]
    every = [value for zero in taken for value in (zero.mean, zero.positive, zero.negative)]
    return [value for value in every if value is not None]


def _largest_zero(direction: Direction) -> float:
    return max((abs(value) for value in _zeros(direction)), default=0.0)


def _stations_min(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    count = int(direction.used.sum())
    if count < rule.value:
        yield f"{count} stations count; at least {rule.value:g} are asked"


def _steps(direction: Direction) -> list[float]:
    return [float(step) for step in np.diff(_levels(direction))]


def _step_max(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    largest = max(_steps(direction))
    if largest > rule.value * 1.1:
        yield f"the largest step between stations is {largest:.1f} Pa; steps of {rule.value:g} Pa or less are asked"


def _step_min(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    smallest = min(_steps(direction))
    if smallest < rule.value * 0.9:
        yield f"the smallest step between stations is {smallest:.1f} Pa; steps of {rule.value:g} Pa or more are asked"


def _lowest_max(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    lowest = _levels(direction)[0]
    bound = max(rule.value, rule.more.get("times_zero", 0.0) * _largest_zero(direction))
    if lowest > bound * 1.1:
        yield f"the lowest station is {lowest:.1f} Pa; about {bound:.3g} Pa is asked"
    floor = rule.more.get("times_zero", 0.0) * _largest_zero(direction)
    if floor and lowest < floor * 0.9:
        yield (
            f"the lowest station, {lowest:.1f} Pa, is below {rule.more['times_zero']:g} times the zero-flow pressure "
            f"({floor:.1f} Pa)"
        )


def _highest_min(rule: Rule, raw: RawTest, direction: Direction) -> Found:
    highest = _levels(direction)[-1]
    bound = rule.value
    large = rule.more.get("large_m3")
    if large is not None and raw.building.volume_m3 is not None and raw.building.volume_m3 > large:
        bound = rule.more["large_value"]
    if highest < bound - rule.more.get("tolerance", 0.0) - 1e-9:
        yield f"the highest station is {highest:.1f} Pa; at least {bound:g} Pa is asked"


def _highest_max(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    highest = _levels(direction)[-1]
    if highest > rule.value:
        yield f"the highest station is {highest:.1f} Pa; the standard goes up to {rule.value:g} Pa"


def _zero_max(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    largest = _largest_zero(direction)
    if largest > rule.value:
        yield f"a zero-flow pressure of {largest:.2f} Pa was noted; above {rule.value:g} Pa the test is void"


def _zero_readings_min(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    for name, zero in (("before", direction.run.before), ("after", direction.run.after)):
        if zero is None:
            continue
        if zero.mean_only:
            yield f"only the mean zero-flow pressure {name} the test was kept; {rule.value:g} readings are asked"
        elif len(zero.readings_pa) < rule.value:
            yield f"{len(zero.readings_pa)} zero-flow readings {name} the test; {rule.value:g} are asked"


def _zero_both(_rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    if direction.run.bias_removed:
        yield "the gauge took the bias off itself: the zero-flow pressures were not kept and can't be checked"
        return
    for name, zero in (("before", direction.run.before), ("after", direction.run.after)):
        if zero is None:
            yield f"no zero-flow pressure {name} the test: drift is not known, the other one was taken alone"


def _zero_share_max(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    share = _largest_zero(direction) / _levels(direction)[0]
    if share > rule.value:
        yield f"the zero-flow pressure is {share:.0%} of the lowest station; at most {rule.value:.0%} is asked"


def _n_min(rule: Rule, raw: RawTest, direction: Direction) -> Found:
    if raw.procedure is not Procedure.SINGLE and direction.n < rule.value:
        yield f"n = {direction.n:.3f} is below {rule.value:g}: invalid, repeat the test"


def _n_max(rule: Rule, raw: RawTest, direction: Direction) -> Found:
    if raw.procedure is not Procedure.SINGLE and direction.n > rule.value:
        yield f"n = {direction.n:.3f} is above {rule.value:g}: invalid, repeat the test"


def _r2_min(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    if direction.r2 is None or direction.r2 < rule.value:
        yield f"r2 = {direction.r2 or 0.0:.4f} is below {rule.value:g}"


def _r_min(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    r = math.copysign(math.sqrt(direction.r2 or 0.0), direction.n)
    if r < rule.value:
        yield f"r = {r:.4f} is below {rule.value:g}"


def _relative_error(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    error = float(direction.line.s_line(math.log(10.0))[0])
    if error > rule.value:
        yield f"the standard error of the flow at 10 Pa is {error:.1%}; at most {rule.value:.0%} is allowed"


def _single_near(rule: Rule, raw: RawTest, direction: Direction) -> Found:
    if raw.procedure is Procedure.SINGLE:
        yield from _near(rule, math.exp(float(direction.line.x_mean[0])), "the held pressure")


def _two_high_near(rule: Rule, raw: RawTest, direction: Direction) -> Found:
    if raw.procedure is Procedure.TWO:
        yield from _near(rule, _levels(direction)[-1], "the upper pressure")


def _two_low_near(rule: Rule, raw: RawTest, direction: Direction) -> Found:
    if raw.procedure is Procedure.TWO:
        yield from _near(rule, _levels(direction)[0], "the lower pressure")


def _near(rule: Rule, value: float, what: str) -> Found:
    if abs(value - rule.value) > rule.more["tolerance"]:
        yield f"{what} is {value:.1f} Pa; about {rule.value:g} Pa is asked"


def _repeats_min(rule: Rule, raw: RawTest, direction: Direction) -> Found:
    if raw.procedure is Procedure.MULTI:
        return
    kinds = 2 if raw.procedure is Procedure.TWO else 1
    count = int(direction.used.sum())
    if count < kinds * rule.value:
        yield f"{count} readings; {rule.value:g} at each pressure are asked"


def _extrapolated(rule: Rule, _raw: RawTest, direction: Direction) -> Found:
    highest = _levels(direction)[-1]
    if highest < rule.value - 1.0:
        yield f"{rule.value:g} Pa was not reached ({highest:.1f} Pa): the result there is extrapolated"


_RUN_RULES: dict[str, _Check] = {
    "stations_min": _multi(_stations_min),
    "step_max": _multi(_step_max),
    "step_min": _multi(_step_min),
    "lowest_max": _multi(_lowest_max),
    "highest_min": _highest_min,
    "highest_max": _highest_max,
    "zero_max": _zero_max,
    "zero_readings_min": _zero_readings_min,
    "zero_both": _zero_both,
    "zero_share_max": _zero_share_max,
    "n_min": _n_min,
    "n_max": _n_max,
    "r2_min": _multi(_r2_min),
    "r_min": _multi(_r_min),
    "relative_error_10pa_max": _multi(_relative_error),
    "single_near": _single_near,
    "two_high_near": _two_high_near,
    "two_low_near": _two_low_near,
    "repeats_min": _repeats_min,
    "extrapolated": _extrapolated,
}

_TestCheck = Callable[[Rule, RawTest, tuple[Direction, ...]], Found]


def _height_times_dt(rule: Rule, raw: RawTest, _directions: tuple[Direction, ...]) -> Found:
    if raw.building.height_m is None:
        yield "the height is not stated: height times temperature difference can't be checked"
        return
    product = raw.building.height_m * abs(raw.weather.inside_c - raw.weather.outside_c)
    if product > rule.value:
        yield f"height times temperature difference is {product:.0f} m K; at most {rule.value:g} m K is asked"


def _wind_max(rule: Rule, raw: RawTest, _directions: tuple[Direction, ...]) -> Found:
    if raw.weather.wind_m_s is None:
        yield "the wind is not stated and can't be checked"
    elif raw.weather.wind_m_s > rule.value:
        yield f"the wind was {raw.weather.wind_m_s:.1f} m/s; at most {rule.value:g} m/s is asked"


def _outside_temperature(rule: Rule, raw: RawTest, _directions: tuple[Direction, ...]) -> Found:
    if not rule.value <= raw.weather.outside_c <= rule.more["high"]:
        yield (
            f"it was {raw.weather.outside_c:.1f} °C outside; {rule.value:g} to {rule.more['high']:g} °C is preferred"
        )


def _both_directions(_rule: Rule, _raw: RawTest, directions: tuple[Direction, ...]) -> Found:
    if len({direction.sense for direction in directions}) < 2:
        yield f"only {directions[0].sense.value} was measured; both directions are asked"


def _only_depressurization(_rule: Rule, _raw: RawTest, directions: tuple[Direction, ...]) -> Found:
    if any(direction.sense is Sense.PRESSURIZATION for direction in directions):
        yield "the standard is for depressurization; a pressurization was measured"


_TEST_RULES: dict[str, _TestCheck] = {
    "height_times_dt_max": _height_times_dt,
    "wind_max": _wind_max,
    "outside_temperature": _outside_temperature,
    "both_directions": _both_directions,
    "only_depressurization": _only_depressurization,
}


def check_rules(standard: Standard) -> None:
    """Refuse a data file with a rule that no code looks at.

    Parameters
    ----------
    standard : Standard

    Raises
    ------
    FanTestError
        With the name of the rule.
    """
    unknown = [
        rule.name for rule in standard.rules if rule.name not in _RUN_RULES and rule.name not in _TEST_RULES
    ]
    if unknown:
        raise FanTestError(f"{standard.id}: unknown rules {', '.join(unknown)}")
