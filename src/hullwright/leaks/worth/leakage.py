"""The leakage of a house as the infiltration models take it: from a test, or from a flow at 50 Pa."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from hullwright.evidence import Evidence, Figure, Mark
from hullwright.fantest import TestResult
from hullwright.fantest.areas import area_cm2

TYPICAL_EXPONENT: Final = Figure(
    0.65, "", Evidence(Mark.PUBLISHED, "ASHRAE Fundamentals 2021 ch. 16: exponent 0.6 to 0.7, typically 0.65")
)


@dataclass(frozen=True, slots=True)
class Leak:
    """Leakage of a house.

    Parameters
    ----------
    q50_m3_h : float
        Flow at 50 Pa [m3/h].
    ela_cm2 : float
        Effective leakage area at 4 Pa [cm2].
    laws : tuple of (float, float)
        Coefficient [m3/(s Pa^n)] and exponent; one for each direction measured. C and n are never averaged: flows are.
    evidence : Evidence
        Where it comes from.
    """

    q50_m3_h: float
    ela_cm2: float
    laws: tuple[tuple[float, float], ...]
    evidence: Evidence

    def scaled(self, factor: float) -> Leak:
        """Give the same kind of leaks, more or fewer of them."""
        laws = tuple((c * factor, n) for c, n in self.laws)
        return replace(self, q50_m3_h=self.q50_m3_h * factor, ela_cm2=self.ela_cm2 * factor, laws=laws)


def leak_of(q50_m3_h: float, *, n: float | None = None, stated: Evidence | None = None) -> Leak:
    """Leakage from a flow at 50 Pa and an exponent.

    Parameters
    ----------
    q50_m3_h : float
        Flow at 50 Pa [m3/h].
    n : float or None
        Exponent; None takes :data:`TYPICAL_EXPONENT` and says so in the evidence.
    stated : Evidence or None
        Where the flow comes from.

    Returns
    -------
    Leak

    Examples
    --------
    >>> round(leak_of(479.19).ela_cm2, 1)
    100.0
    """
    source = stated or Evidence(Mark.STATED, "flow at 50 Pa as stated")
    if n is None:
        n = TYPICAL_EXPONENT.value
        source = replace(source, source=f"{source.source}; exponent {TYPICAL_EXPONENT}")
    ela = area_cm2(q50_m3_h * (4.0 / 50.0) ** n, 4.0)
    return Leak(q50_m3_h, ela, ((q50_m3_h / 3600.0 / 50.0**n, n),), source)


def leak_of_test(result: TestResult) -> Leak:
    """Leakage from a fan test.

    Parameters
    ----------
    result : TestResult

    Returns
    -------
    Leak
    """
    laws = tuple((direction.cl_m3_h_pan / 3600.0, direction.n) for direction in result.directions)
    source = Evidence(Mark.MEASURED, f"fan test by {result.standard.title}")
    return Leak(result.flow(50.0), area_cm2(result.flow(4.0), 4.0), laws, source)
