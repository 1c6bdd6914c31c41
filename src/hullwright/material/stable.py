"""Is a crew's spread the same from lot to lot, so that it may be pooled.

Acceptance by variables knows two ways: each lot by its own spread, or by the spread that earlier lots have shown as long as nothing
speaks for a change (the s and the σ method of ISO 3951). A pooled spread has more readings behind it, so the factor of the bound, and
with it the film that must be added, is smaller. Two tests for a change stand before it, each at :data:`LEVEL`:

- the earlier lots among themselves: Bartlett's test of equal variances;
- the lot that is judged against them: F, to the side of a larger spread.

A spread that grows little is not noticed at once: at 1.3 times, two lots in three are still judged by the pooled spread, and of lots just
at the limit up to 22 in 100 are then proved instead of 5 (own simulation, normal readings). It is why no more than the last ten lots are
pooled, and why the next lots bring it out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from hullwright.errors import Problem, QuantityError
from hullwright.evidence import ESTIMATE, Figure
from hullwright.material.distributions import chi_square_cdf, f_quantile

LEVEL: Final = 0.05
LEAST_LOTS: Final = Figure(3, "", ESTIMATE)
LEAST_DF: Final = Figure(20, "", ESTIMATE)
MOST_LOTS: Final = Figure(10, "", ESTIMATE)


@dataclass(frozen=True, slots=True)
class Shown:
    """Spread of one lot.

    Parameters
    ----------
    sd : float
        Of the middles, not below the gauge's floor [m]; above 0.
    df : int
        Readings less one, 1 or more.
    """

    sd: float
    df: int

    def __post_init__(self) -> None:
        if not (math.isfinite(self.sd) and self.sd > 0 and self.df >= 1):
            problem = Problem("no spread of a lot", got=f"{self.sd} m, {self.df} degrees of freedom")
            raise QuantityError("a spread above 0 from two readings or more is needed", [problem])


@dataclass(frozen=True, slots=True)
class Pooled:
    """Spread of several lots together.

    Parameters
    ----------
    sd : float
        Root of the mean variance, weighted by degrees of freedom [m].
    df : int
    lots : int
    chance : float
        Chance of lots as uneven among themselves where their spread is the same (Bartlett); small speaks for a change.
    """

    sd: float
    df: int
    lots: int
    chance: float

    @property
    def stable(self) -> bool:
        """Whether enough lots show one spread."""
        return self.lots >= LEAST_LOTS.value and self.df >= LEAST_DF.value and self.chance >= LEVEL

    def grew(self, own: Shown) -> bool:
        """Say whether a lot's own spread speaks for a larger one (F, one side)."""
        return (own.sd / self.sd) ** 2 > f_quantile(1.0 - LEVEL, own.df, self.df)

    def with_own(self, own: Shown) -> tuple[float, int]:
        """Give spread and degrees of freedom with the lot that is judged."""
        df = self.df + own.df
        return math.sqrt((self.df * self.sd**2 + own.df * own.sd**2) / df), df

    def to_json(self) -> dict[str, Any]:
        """Give it in µm, with the level of the tests."""
        return {
            "sd_um": self.sd * 1e6,
            "degrees_of_freedom": self.df,
            "lots": self.lots,
            "stable": self.stable,
            "chance_if_same": self.chance,
            "level": LEVEL,
        }


def pool(lots: Sequence[Shown]) -> Pooled | None:
    """Pool the spread of lots.

    Parameters
    ----------
    lots : sequence of Shown
        Oldest first; the last ten are taken.

    Returns
    -------
    Pooled or None
        None without any.

    Examples
    --------
    >>> found = pool([Shown(1.4, 9), Shown(1.6, 9), Shown(1.5, 11)])
    >>> round(found.sd, 3), found.df, found.stable
    (1.502, 29, True)
    >>> pool([Shown(1.0, 9), Shown(1.0, 9), Shown(3.0, 9)]).stable
    False
    """
    taken = lots[-int(MOST_LOTS.value) :]
    if not taken:
        return None
    df = sum(lot.df for lot in taken)
    variance = sum(lot.df * lot.sd**2 for lot in taken) / df
    return Pooled(math.sqrt(variance), df, len(taken), bartlett(taken))


def bartlett(lots: Sequence[Shown]) -> float:
    """Give the chance of variances as unequal as these where all are the same.

    Source: Bartlett 1937; NIST/SEMATECH e-Handbook 1.3.5.7: T = [(N−k)·ln s_p² − Σ(n_i−1)·ln s_i²]/C,
    C = 1 + (Σ 1/(n_i−1) − 1/(N−k))/(3(k−1)), against chi-square with k − 1 degrees of freedom.

    Examples
    --------
    >>> round(bartlett([Shown(1.0, 9), Shown(2.0, 9)]), 3)
    0.051
    >>> [bartlett([Shown(sd, 2), Shown(sd, 9), Shown(sd, 14)]) for sd in (1.4e-5, 1.5e-5, 1.7e-5)]
    [1.0, 1.0, 1.0]
    """
    if len(lots) < 2:
        return 1.0
    df = sum(lot.df for lot in lots)
    pooled = sum(lot.df * lot.sd**2 for lot in lots) / df
    uneven = df * math.log(pooled) - sum(lot.df * math.log(lot.sd**2) for lot in lots)
    correction = 1.0 + (sum(1.0 / lot.df for lot in lots) - 1.0 / df) / (3.0 * (len(lots) - 1))
    uneven = max(0.0, uneven)  # never below 0 (Jensen) but by rounding, where all spreads are the same
    return 1.0 - chi_square_cdf(uneven / correction, len(lots) - 1)
