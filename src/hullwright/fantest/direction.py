"""What does one direction of a test say: C, n, flows at reference air, and what makes them uncertain."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from hullwright.errors import FanTestError, Problem, Where
from hullwright.fantest.air import Floats
from hullwright.fantest.curve import FIELD_EXPONENT_SD, Other, fit_curve, flow_weighted, organic, weighted
from hullwright.fantest.raw import Procedure, RawTest, Run, Sense
from hullwright.fantest.reduce import Reduced, columns_of, reduce_columns, to_reference
from hullwright.fantest.regress import Lines, Mask, t_quantile, z_quantile
from hullwright.fantest.scales import PRESSURES
from hullwright.fantest.standards import Standard
from hullwright.fantest.terms import Accuracy, Terms, terms_at, zero_uncertainty

LEAST = MappingProxyType({Procedure.MULTI: 3, Procedure.TWO: 2, Procedure.SINGLE: 1})


@dataclass(frozen=True, slots=True)
class Direction:
    """Result of one direction.

    Parameters
    ----------
    run : Run
        As read.
    reduced : Reduced
        Induced pressures, flows, densities; T = 1.
    used : ndarray of bool, shape (N,)
        Stations that count.
    line : Lines
        Fit of ln flow on ln pressure, T = 1.
    procedure : Procedure
        How many pressures were held.
    viscous : bool
        Which reference correction the standard asks for.
    level : float
        Coverage of all intervals.
    terms : mapping of float to Terms
        By pressure [Pa].
    others : tuple of Other
        Second opinions: weighted and organic-correlation fits.
    without_exclusion : Direction or None
        The same with every station, where some were excluded and all can be fitted.
    """

    run: Run
    reduced: Reduced
    used: Mask
    line: Lines
    procedure: Procedure
    viscous: bool
    level: float
    terms: Mapping[float, Terms]
    others: tuple[Other, ...]
    without_exclusion: Direction | None = None

    @property
    def sense(self) -> Sense:
        """Direction as stated."""
        return self.run.sense

    @property
    def dp_pa(self) -> Floats:
        """Induced pressures, all stations [Pa]."""
        return np.asarray(self.reduced.dp_pa[0])

    @property
    def flow_m3_h(self) -> Floats:
        """Envelope flows of the day's air, all stations [m3/h]."""
        return np.asarray(self.reduced.flow_m3_h[0])

    @property
    def n(self) -> float:
        """Pressure exponent."""
        return float(self.line.slope[0])

    @property
    def c_m3_h_pan(self) -> float:
        """Coefficient of the day's air, C_env [m3/(h Pa^n)]."""
        return math.exp(float(self.line.intercept[0]))

    @property
    def cl_iso_m3_h_pan(self) -> float:
        """Coefficient at reference air by ISO 9972, C_L."""
        return self.c_m3_h_pan * float(to_reference(self.reduced, self.line.slope, viscous=False)[0])

    @property
    def co_e779_m3_h_pan(self) -> float:
        """Coefficient at reference air by ASTM E779 eq. 4, C_o."""
        return self.c_m3_h_pan * float(to_reference(self.reduced, self.line.slope, viscous=True)[0])

    @property
    def cl_m3_h_pan(self) -> float:
        """Coefficient at reference air by the standard of the test."""
        return self.co_e779_m3_h_pan if self.viscous else self.cl_iso_m3_h_pan

    @property
    def r2(self) -> float | None:
        """Coefficient of determination; None where the procedure has none."""
        value = float(self.line.r2[0])
        return None if math.isnan(value) else value

    @property
    def scatter_known(self) -> bool:
        """Whether the readings themselves show a scatter."""
        return not math.isnan(float(self.line.sd[0]))

    def flow(self, pressure_pa: float) -> float:
        """Flow of reference air at a pressure [m3/h]."""
        return float(self.cl_m3_h_pan * pressure_pa**self.n)

    def n_half(self) -> float | None:
        """Half-width of n: ``t S_n``; of an assumed n, the spread seen in the field; None from two bare readings."""
        if self.procedure is Procedure.SINGLE:
            return z_quantile(self.level) * float(FIELD_EXPONENT_SD)
        half = float(t_quantile(self.level, self.line.freedom)[0] * self.line.s_slope[0])
        return None if math.isnan(half) else half

    def c_half(self) -> float | None:
        """Half-width of ln C: ``t S_lnC``; None where the scatter is not known."""
        if self.procedure is Procedure.SINGLE:
            return None
        half = float(t_quantile(self.level, self.line.freedom)[0] * self.line.s_intercept[0])
        return None if math.isnan(half) else half


def analyse_run(raw: RawTest, run: Run, standard: Standard, accuracy: Accuracy, *, level: float) -> Direction:
    """Analyse one direction.

    Parameters
    ----------
    raw : RawTest
        The whole test.
    run : Run
        This direction.
    standard : Standard
        Which correction to make.
    accuracy : Accuracy
        Of the instruments.
    level : float
        Coverage of the intervals.

    Returns
    -------
    Direction

    Raises
    ------
    FanTestError
        With every station that can't be used.
    """
    reduced = reduce_columns(columns_of(run, raw.device, raw.weather))
    used = np.array([station.exclude is None for station in run.stations])
    _check(raw, run, reduced, used)
    result = _fit(raw, run, reduced, used=used, standard=standard, accuracy=accuracy, level=level)
    every = np.ones_like(used)
    if used.all() or _wrong(run, reduced, every):
        return result
    whole = _fit(raw, run, reduced, used=every, standard=standard, accuracy=accuracy, level=level)
    return replace(result, without_exclusion=whole)


def _fit(
    raw: RawTest,
    run: Run,
    reduced: Reduced,
    *,
    used: Mask,
    standard: Standard,
    accuracy: Accuracy,
    level: float,
) -> Direction:
    line = fit_curve(reduced.dp_pa, reduced.flow_m3_h, used[None, :], raw.procedure)
    zero = zero_uncertainty(run.before, run.after, level)
    sd = float(FIELD_EXPONENT_SD) if raw.procedure is Procedure.SINGLE else 0.0
    terms = {
        p: terms_at(
            line,
            reduced.dp_pa,
            used[None, :],
            accuracy=accuracy,
            zero=zero,
            at_pa=p,
            level=level,
            exponent_sd=sd,
        )
        for p in PRESSURES
    }
    return Direction(
        run,
        reduced,
        used,
        line,
        raw.procedure,
        standard.viscosity,
        level,
        MappingProxyType(terms),
        _others(raw, line, reduced, used),
    )


def _others(raw: RawTest, line: Lines, reduced: Reduced, used: Mask) -> tuple[Other, ...]:
    if raw.procedure is not Procedure.MULTI:
        return ()
    dp, flow = reduced.dp_pa[0][used], reduced.flow_m3_h[0][used]
    device = flow / float(reduced.factor[0])
    stated = weighted(dp, flow, raw.weights, device_m3_h=device) if raw.weights else None
    found = [stated, flow_weighted(dp, flow), organic(line)]
    return tuple(other for other in found if other is not None)


def _check(raw: RawTest, run: Run, reduced: Reduced, used: Mask) -> None:
    """Raise with everything that makes this direction impossible to compute."""
    problems: list[Problem] = []
    where = Where(raw.source or None, key=f"directions ({run.sense.value})")
    if math.isnan(float(reduced.bias_pa[0])):
        problems.append(
            Problem(
                "no zero-flow pressure was noted",
                where,
                allowed="zero_before and zero_after, or bias_removed: true where the gauge took the bias off itself",
                hint="cover the fan, read the envelope pressure before and after the test",
            )
        )
        raise FanTestError("the fan test can't be computed", problems)
    if math.isnan(float(reduced.rho_leak[0])):
        problems.append(
            Problem(
                "the density of the air is not known",
                Where(raw.source or None, key="air"),
                allowed="barometer or altitude",
            )
        )
    problems += _wrong(run, reduced, used)
    least = LEAST[raw.procedure]
    if used.sum() < least:
        problems.append(
            Problem(
                f"too few stations for a {raw.procedure.value} test",
                where,
                got=f"{int(used.sum())} that count",
                allowed=f"{least} or more",
                hint="measure more stations, or state the procedure that was used",
            )
        )
    dp = reduced.dp_pa[0][used]
    if raw.procedure is not Procedure.SINGLE and len(dp) >= 2 and np.ptp(dp) <= 1e-6 * np.abs(dp).max():
        problems.append(
            Problem(
                "all stations have the same pressure",
                where,
                got=f"{dp[0]:g} Pa",
                allowed="different pressures, or procedure: single-point",
            )
        )
    if problems:
        raise FanTestError("the fan test can't be computed", problems)


def _wrong(run: Run, reduced: Reduced, used: Mask) -> list[Problem]:
    problems: list[Problem] = []
    counted = [index for index, use in enumerate(used) if use]
    dp, flow, sign = reduced.dp_pa[0], reduced.flow_m3_h[0], run.sense.sign
    against = [index for index in counted if not dp[index] > 0]
    side = "below" if sign < 0 else "above"
    for index in against:
        station = run.stations[index]
        everywhere = "every station" if len(against) == len(counted) else "other stations"
        problems.append(
            Problem(
                "the induced pressure of this station does not point the way of the test",
                station.where,
                got=f"{station.pressure_pa:g} Pa measured, {dp[index] * sign:g} Pa after the zero-flow pressure is taken off",
                allowed=f"{side} zero in a {run.sense.value} (pressures are inside minus outside)",
                hint=f"check sign and direction: {everywhere} "
                + ("read this way" if len(against) == len(counted) else "do not"),
            )
        )
    problems.extend(
        Problem(
            "the flow of this station can't be used",
            run.stations[index].where,
            got=f"{flow[index]:g} m3/h",
            allowed="a flow above zero",
            hint="correct it, or exclude the station with a reason",
        )
        for index in counted
        if not (flow[index] > 0 and math.isfinite(flow[index]))
    )
    return problems
