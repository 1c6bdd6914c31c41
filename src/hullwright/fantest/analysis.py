"""What does the whole test say: directions analysed apart, their results averaged, C and n never."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from hullwright.errors import FanTestError, Problem, Where
from hullwright.evidence import Mark
from hullwright.fantest.cautions import cautions
from hullwright.fantest.curve import E1827_EXPONENT, FIELD_EXPONENT_SD
from hullwright.fantest.direction import Direction, analyse_run
from hullwright.fantest.flags import Flag, rule_flags
from hullwright.fantest.plausible import plausibility_flags
from hullwright.fantest.raw import Procedure, RawTest
from hullwright.fantest.regress import z_quantile
from hullwright.fantest.scales import Scale
from hullwright.fantest.standards import Standard, find
from hullwright.fantest.terms import Accuracy, Terms, average

CALM_ALLOWANCE = 0.10
WINDY_ALLOWANCE = 0.20
GUSTS_PA = 0.4
ALLOWANCE_CLAUSE = "ISO 9972:2015, uncertainty guidance: 10 % in calm weather, up to 20 % in wind"


@dataclass(frozen=True, slots=True)
class Spread:
    """A value with its interval.

    Parameters
    ----------
    value, low, high : float
        Value and ends.
    level : float
        Coverage.
    """

    value: float
    low: float
    high: float
    level: float

    def to_json(self) -> dict[str, float]:
        """Give value, low, high, level."""
        return {"value": self.value, "low": self.low, "high": self.high, "level": self.level}


def spread(value: float, half_log: float, level: float) -> Spread:
    """Make an interval from a half-width of the logarithm.

    Parameters
    ----------
    value : float
        Value.
    half_log : float
        Half-width of its natural logarithm.
    level : float
        Coverage.

    Returns
    -------
    Spread

    Examples
    --------
    >>> spread(100.0, 0.0, 0.95).high
    100.0
    """
    return Spread(value, value * math.exp(-half_log), value * math.exp(half_log), level)


@dataclass(frozen=True, slots=True)
class TestResult:
    """Result of one fan test.

    Parameters
    ----------
    raw : RawTest
        All that was read.
    standard : Standard
        By which it was analysed.
    level : float
        Coverage of all intervals.
    accuracy : Accuracy
        Instruments as counted.
    directions : tuple of Direction
        One or two.
    flags : tuple of Flag
        Validity and plausibility.
    """

    __test__ = False  # tells test collectors that this is no test class

    raw: RawTest
    standard: Standard
    level: float
    accuracy: Accuracy
    directions: tuple[Direction, ...]
    flags: tuple[Flag, ...]

    @property
    def void(self) -> tuple[Flag, ...]:
        """The flags for which the standard calls the test invalid."""
        return tuple(flag for flag in self.flags if flag.kind == "void")

    def flow(self, pressure_pa: float) -> float:
        """Mean flow of the directions at reference air [m3/h]."""
        return sum(direction.flow(pressure_pa) for direction in self.directions) / len(self.directions)

    def terms(self, pressure_pa: float) -> Terms:
        """What makes the mean flow uncertain."""
        flows = tuple(direction.flow(pressure_pa) for direction in self.directions)
        return average(tuple(direction.terms[pressure_pa] for direction in self.directions), flows)

    def spread(self, scale: Scale, *, direction: Direction | None = None, fit_only: bool = False) -> Spread:
        """Give one derived result with its interval.

        Parameters
        ----------
        scale : Scale
            Which result.
        direction : Direction or None
            Of one direction; None for the mean.
        fit_only : bool
            Scatter of the fit alone, as the standards print it, instead of all terms.

        Returns
        -------
        Spread
        """
        p = scale.pressure_pa
        terms = direction.terms[p] if direction else self.terms(p)
        value = scale.factor * (direction.flow(p) if direction else self.flow(p))
        size = math.log1p(scale.size_share) * z_quantile(self.level) / z_quantile(0.95)
        half = terms.scatter if fit_only else math.hypot(terms.total, size)
        return spread(value, half, self.level)

    def to_json(self, against: Sequence[Any] = ()) -> dict[str, Any]:
        """Give the answer object of ``fantest``.

        Parameters
        ----------
        against : sequence of Against
            Answers to limits, from :func:`hullwright.fantest.limits.answer`.

        Returns
        -------
        dict
        """
        from hullwright.fantest.answer import answer_json  # noqa: PLC0415 - answer.py reads this module

        return answer_json(self, against)


def analyse(raw: RawTest, *, level: float = 0.95) -> TestResult:
    """Analyse one fan test by the standard it names.

    Parameters
    ----------
    raw : RawTest
        As noted on site.
    level : float
        Coverage of all intervals, such as 0.95 or 0.90.

    Returns
    -------
    TestResult

    Raises
    ------
    FanTestError
        With everything that makes the test impossible to compute, in all directions.

    Examples
    --------
    >>> from hullwright.fantest import example
    >>> result = analyse(example())
    >>> [round(direction.n, 4) for direction in result.directions]
    [0.6407]
    """
    if not 0.5 <= level <= 0.999:
        problem = Problem("this coverage is not offered", got=f"{level:g}", allowed="0.5 to 0.999")
        raise FanTestError("unknown coverage", [problem])
    standard = find(raw.standard)
    _check(raw, standard)
    accuracy, notes = _accuracy(raw, standard)
    directions: list[Direction] = []
    problems: list[Problem] = []
    for run in raw.runs:
        try:
            directions.append(analyse_run(raw, run, standard, accuracy, level=level))
        except FanTestError as error:
            problems += error.problems
    if problems:
        raise FanTestError("the fan test can't be computed", problems)
    found = tuple(directions)
    flags = (
        *rule_flags(raw, standard, found),
        *plausibility_flags(raw, found),
        *notes,
        *_assumed(raw, found),
        *_gusts(found),
        *_excluded(found),
    )
    return TestResult(raw, standard, level, accuracy, found, flags)


def _check(raw: RawTest, standard: Standard) -> None:
    problems: list[Problem] = []
    if raw.procedure.value not in standard.procedures:
        problems.append(
            Problem(
                f"{standard.title} has no {raw.procedure.value} procedure",
                Where(raw.source or None, key="procedure"),
                got=raw.procedure.value,
                allowed=", ".join(standard.procedures),
            )
        )
    if not raw.runs:
        problems.append(Problem("the test has no direction", Where(raw.source or None, key="directions")))
    senses = [run.sense for run in raw.runs]
    problems.extend(
        Problem(
            f"{sense.value} stands there more than once",
            Where(raw.source or None, key="directions"),
            allowed="each direction once; a repeated test is a test of its own",
        )
        for sense in sorted(set(senses))
        if senses.count(sense) > 1
    )
    if problems:
        raise FanTestError("the fan test can't be computed", problems)


def _accuracy(raw: RawTest, standard: Standard) -> tuple[Accuracy, list[Flag]]:
    """Instruments as stated, or as the standard asks of them, which is said."""
    asked = standard.instruments
    notes: list[Flag] = []
    flow = raw.device.accuracy
    if flow is None:
        flow = asked.flow_share
        notes.append(
            Flag(
                f"the accuracy of the device is not stated: ±{flow:.0%} is counted",
                asked.clause,
                asked.mark,
                "note",
            )
        )
    share, least = raw.gauge.accuracy, raw.gauge.accuracy_pa
    if share is None and least is None:
        share, least = asked.pressure_share, asked.pressure_pa
        text = f"the accuracy of the gauge is not stated: the larger of ±{share:.0%} and ±{least:g} Pa is counted"
        notes.append(Flag(text, asked.clause, asked.mark, "note"))
    wind = raw.weather.wind_m_s
    allowance = CALM_ALLOWANCE if wind is not None and wind <= 3.0 else WINDY_ALLOWANCE
    if raw.repeatability is not None:
        allowance = raw.repeatability
    return Accuracy(flow, share or 0.0, least or 0.0, raw.wind_share or 0.0, allowance), notes


def _assumed(raw: RawTest, directions: tuple[Direction, ...]) -> list[Flag]:
    out: list[Flag] = []
    if raw.procedure is Procedure.SINGLE:
        text = (
            f"n = {float(E1827_EXPONENT):g} was assumed; results away from the held pressure widen by the spread of n "
            f"seen in the field (SD {float(FIELD_EXPONENT_SD):g})"
        )
        out.append(Flag(text, E1827_EXPONENT.evidence.source, E1827_EXPONENT.evidence.mark, "note"))
    if raw.weather.barometer_pa is not None and (
        raw.weather.inside_humidity is None or raw.weather.outside_humidity is None
    ):
        text = "a humidity is not stated: that air is counted as dry (error of the density below 1 % up to 30 °C)"
        out.append(Flag(text, "ISO 9972:2015 annex B", Mark.MEMORY, "note"))
    for direction in directions:
        if direction.scatter_known:
            continue
        if raw.repeatability is not None:
            text, mark, clause = "stated by the tester", Mark.STATED, "test file"
        else:
            text, mark, clause = "the guidance of the standard is taken", Mark.MEMORY, ALLOWANCE_CLAUSE
        text = (
            f"readings without repeats show no scatter: an allowance of "
            f"±{math.expm1(direction.terms[50.0].scatter):.1%} is counted ({text}); repeat each pressure five times"
        )
        out.append(Flag(text, clause, mark, "check", direction.sense.value))
    return out


def _gusts(directions: tuple[Direction, ...]) -> list[Flag]:
    """Say where the interval the standards ask for covers too little."""
    out: list[Flag] = []
    for direction in directions:
        zeros = [zero for zero in (direction.run.before, direction.run.after) if zero and not zero.mean_only]
        swings = [float(np.std(zero.readings_pa, ddof=1)) for zero in zeros if len(zero.readings_pa) >= 3]
        if max(swings, default=0.0) < GUSTS_PA:
            continue
        text = (
            f"the zero-flow pressure swung by {max(swings):.2g} Pa (standard deviation): with such gusts the unweighted fit the "
            "standards ask for gives too narrow an interval at 4 and 10 Pa (a 95 % interval covered 90 % at 0.5 Pa and 84 % "
            "at 1 Pa); trust 50 and 75 Pa"
        )
        out.append(
            Flag(text, "own simulation of 4 000 tests", Mark.REGRESSION, "check", direction.sense.value)
        )
    return out


def _excluded(directions: tuple[Direction, ...]) -> list[Flag]:
    out: list[Flag] = []
    for direction in directions:
        for number, station in enumerate(direction.run.stations, start=1):
            if station.exclude is not None:
                text = f"station {number} ({station.pressure_pa:g} Pa) does not count: {station.exclude}"
                out.append(Flag(text, "stated by the tester", Mark.STATED, "note", direction.sense.value))
        whole = direction.without_exclusion
        if whole is not None:
            change = direction.flow(50.0) / whole.flow(50.0) - 1.0
            text = (
                f"leaving out stations changed the flow at 50 Pa by {change:+.1%} and n from {whole.n:.3f} to "
                f"{direction.n:.3f}"
            )
            out.append(Flag(text, "result with and without", Mark.MEASURED, "note", direction.sense.value))
    return out


def at_level(result: TestResult, level: float) -> TestResult:
    """Give the same test with intervals of another coverage.

    Parameters
    ----------
    result : TestResult
    level : float
        Coverage.

    Returns
    -------
    TestResult
        The same object where the coverage is the same already.
    """
    return result if result.level == level else analyse(result.raw, level=level)


def caution_list() -> list[dict[str, str]]:
    """Give the cautions that are shown before every test and on its report.

    Returns
    -------
    list of dict
        Text, source and mark.

    Examples
    --------
    >>> any("combustion" in caution["text"].lower() for caution in caution_list())
    True
    """
    return [caution.to_json() for caution in cautions()]
