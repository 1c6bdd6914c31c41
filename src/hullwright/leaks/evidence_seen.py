"""What was seen on site, as terms on sums of leaks: totals, looks with smoke, leaks found and sealed.

Every term acts on one sum ``S = w · x`` of the flows x [m3/h at 50 Pa], so that value and slope of the whole likelihood
cost one matrix product.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from hullwright.evidence import ESTIMATE, Figure

Floats = NDArray[np.float64]

SEEN_BEST: Final = Figure(0.95, "", ESTIMATE)
"""Chance that a large leak is seen by one who looks at it."""
SEEN_HALF: Final = Figure(2.0, "m3/h at 50 Pa", ESTIMATE)
"""Leak that half of `SEEN_BEST` see with smoke at 50 Pa (about 0.4 cm2)."""


@dataclass(frozen=True, slots=True)
class Term:
    """One thing that was learned.

    Parameters
    ----------
    sort : str
        ``total`` (log-normal error about a measured flow), ``moved`` (normal error about a change of flow when all of the sum
        went), ``above`` (a fix took this much away: the sum was at least that), ``nothing`` (looked, nothing seen) or ``leak``
        (looked, leak seen).
    members : ndarray (J,)
        Share of each component that belongs to the sum.
    value, spread : float
        Measured flow [m3/h] and its error: relative (total) or absolute [m3/h] (moved).
    """

    sort: Literal["total", "moved", "above", "nothing", "leak"]
    members: Floats
    value: float = 0.0
    spread: float = 0.0
    half: float = SEEN_HALF.value


@dataclass(frozen=True, slots=True)
class Likelihood:
    """All terms at once, for chains of draws.

    Parameters
    ----------
    terms : sequence of Term
    """

    terms: tuple[Term, ...]

    @property
    def weights(self) -> Floats:
        """Members of each term (K, J)."""
        return np.array([term.members for term in self.terms])

    def value_and_slope(self, sums: Floats) -> tuple[Floats, Floats]:
        """Log-likelihood (chains,) and its derivative by each sum (chains, K)."""
        total = np.zeros(len(sums))
        slope = np.empty_like(sums)
        for k, term in enumerate(self.terms):
            value, slope[:, k] = _term(term, sums[:, k])
            total += value
        return total, slope


def _term(term: Term, s: Floats) -> tuple[Floats, Floats]:
    if term.sort == "total":
        off = (np.log(s) - math.log(term.value)) / term.spread
        return -0.5 * off**2, -off / (term.spread * s)
    if term.sort == "moved":
        off = (s - term.value) / term.spread
        return -0.5 * off**2, -off / term.spread
    if term.sort == "above":
        return _above((s - term.value) / term.spread, term.spread)
    rate = math.log(2.0) / term.half
    fade = np.exp(-rate * s)
    best = SEEN_BEST.value
    if term.sort == "nothing":
        unseen = 1.0 - best * (1.0 - fade)
        return np.log(unseen), -best * rate * fade / unseen
    seen = np.maximum(-np.expm1(-rate * s), 1e-300)
    return np.log(best * seen), rate * fade / seen


def _above(off: Floats, spread: float) -> tuple[Floats, Floats]:
    """Log of the normal distribution function and its slope, safe far below."""
    from scipy.special import log_ndtr  # noqa: PLC0415 - heavy, only where a fix was measured

    value: Floats = log_ndtr(off)
    slope: Floats = np.exp(-0.5 * off**2 - 0.5 * math.log(2 * math.pi) - value) / spread
    return value, slope


def value_of(term: Term, sums: Floats) -> Floats:
    """Log-likelihood of one term at sums (chains,) [m3/h at 50 Pa]."""
    return _term(term, sums)[0]


def members(ids: Sequence[str], all_ids: Sequence[str]) -> Floats:
    """Row of a term: 1 for the components named."""
    wanted = set(ids)
    return np.array([1.0 if name in wanted else 0.0 for name in all_ids])
