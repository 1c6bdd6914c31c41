"""Spread of a plan: leakage and water drawn many times.

For each draw one factor H is shared by the whole house and crew (log-normal, mean 1, GSD 1.6) and one factor R is drawn per run
(log-normal, mean 1, GSD 2). Sound leakage is a·q·H·R, the number of flaws N is Poisson with mean λ·q·H·R, and flaw sizes are
exponential with mean ā, so that their sum is ā times a Gamma(N) number; water goes with the same number. A joint left bare
leaks unsealed·q·R. Units, material and services get a factor each (log-normal, mean 1). Every mean is that of the sums.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.sums import EXPONENT, Terms, flow

Floats = NDArray[np.float64]
SEED: Final = 20_240
_BLOCK: Final = 2048
_Z95: Final = 1.959964


@dataclass(frozen=True, slots=True)
class Spreads:
    """Geometric standard deviations of the factors."""

    house: float = 1.6
    run: float = 2.0
    other: float = 1.5


@dataclass(frozen=True, slots=True)
class Band:
    """A drawn quantity.

    Parameters
    ----------
    p10, p50, p90, mean : float
    errors : tuple of float
        Half width of the 95 % interval of p10, p50, p90 and mean from the finite number of draws.
    """

    p10: float
    p50: float
    p90: float
    mean: float
    errors: tuple[float, float, float, float]

    def to_json(self) -> dict[str, Any]:
        """Percentiles, mean and Monte Carlo errors as JSON."""
        names = ("p10", "p50", "p90", "mean")
        values = (self.p10, self.p50, self.p90, self.mean)
        return dict(zip(names, values, strict=True)) | {
            "monte_carlo_error": dict(zip(names, self.errors, strict=True))
        }


@dataclass(frozen=True, slots=True)
class Drawn:
    """Draws of a plan.

    Parameters
    ----------
    area : ndarray (n,)
        Leakage area of the layer [cm2].
    water : ndarray (n,)
        [L]
    other : ndarray (n,)
        Other leakage at 50 Pa [m3/h].
    """

    area: Floats
    water: Floats
    other: Floats

    def ach50(self, volume: float, exponent: float = EXPONENT) -> Floats:
        """Air changes at 50 Pa of each draw.

        Parameters
        ----------
        volume : float
            Inner volume [m3].
        exponent : float
            Flow exponent.

        Returns
        -------
        ndarray (n,)
            [1/h]
        """
        changes: Floats = (self.area * flow(1.0, exponent=exponent) + self.other) / volume
        return changes


def draw(
    terms: Terms,
    other: Sequence[float] = (),
    *,
    draws: int = 20_000,
    seed: int = SEED,
    spreads: Spreads | None = None,
) -> Drawn:
    """Draw leakage and water of a plan.

    Parameters
    ----------
    terms : Terms
        Terms of the chosen options, one entry a run (R,).
    other : sequence of float
        Mean of each other leakage [m3/h at 50 Pa].
    draws, seed : int
        The same seed gives the same draws.
    spreads : Spreads or None

    Returns
    -------
    Drawn

    Examples
    --------
    >>> one = np.ones(1)
    >>> t = Terms(100 * one, 0.02 * one, 0.015 * one, 0.3 * one, 0.05 * one, 0.1 * one, 0 * one, 90 * one)
    >>> d = draw(t, draws=40_000)
    >>> bool(abs(d.area.mean() - t.air[0]) < 4 * d.area.std() / 200)
    True
    """
    wide = spreads or Spreads()
    rng = np.random.Generator(np.random.SFC64(seed))
    house = lognormal(rng, wide.house, draws)
    others = np.zeros(draws)
    for mean in other:
        others += mean * lognormal(rng, wide.other, draws)
    area, water = np.empty(draws), np.empty(draws)
    columns = _Columns(terms)
    for start in range(0, draws, _BLOCK):
        stop = min(start + _BLOCK, draws)
        area[start:stop], water[start:stop] = _block(columns, house[start:stop], rng, wide)
    return Drawn(area, water, others)


class _Columns:
    """Terms in the order that a block needs them: runs with flaws first, runs that can't leak left out."""

    def __init__(self, terms: Terms) -> None:
        flawed = np.flatnonzero(terms.number > 0)
        rest = np.flatnonzero((terms.number <= 0) & ((terms.sound_air > 0) | (terms.open_water > 0)))
        work = terms.take(flawed)
        bare = terms.take(rest)
        self.flawed = len(flawed)
        self.count = len(flawed) + len(rest)
        self.number = work.number
        self.hole = work.hole
        self.flaw_water = work.flaw_water
        self.sound = work.sound_air.astype(np.float32)
        self.bare = bare.sound_air.astype(np.float32)
        self.open = np.concatenate([work.open_water, bare.open_water]).astype(np.float32)


def _block(
    columns: _Columns, house: Floats, rng: np.random.Generator, wide: Spreads
) -> tuple[Floats, Floats]:
    sigma = np.float32(math.log(wide.run))
    factor = rng.standard_normal((len(house), columns.count), dtype=np.float32)
    factor *= sigma
    factor -= sigma * sigma / 2
    np.exp(factor, out=factor)
    # Work that was done shares the house's factor; joints left bare do not.
    work, bare = factor[:, : columns.flawed], factor[:, columns.flawed :]
    area: Floats = house * (work @ columns.sound) + bare @ columns.bare
    water: Floats = (factor @ columns.open).astype(np.float64)
    rate = work * columns.number
    rate *= house[:, None]
    number = rng.poisson(rate).ravel()
    where = np.flatnonzero(number)
    size = rng.standard_gamma(number[where])
    row, run = np.divmod(where, max(columns.flawed, 1))
    area += np.bincount(row, size * columns.hole[run], minlength=len(house))
    water += np.bincount(row, size * columns.flaw_water[run], minlength=len(house))
    return area, water


def lognormal(rng: np.random.Generator, gsd: float, size: int) -> Floats:
    """Log-normal factors with mean 1.

    Parameters
    ----------
    rng : Generator
    gsd : float
        Geometric standard deviation.
    size : int
    """
    sigma = math.log(gsd)
    drawn: Floats = np.exp(sigma * rng.standard_normal(size) - sigma * sigma / 2)
    return drawn


def band(values: Floats) -> Band:
    """Percentiles and mean with their Monte Carlo errors.

    The error of a percentile is half the distance between the order statistics at ±1.96·sqrt(n·p·(1 − p)) ranks
    (distribution-free interval).

    Parameters
    ----------
    values : ndarray (n,)

    Examples
    --------
    >>> b = band(np.arange(1001.0))
    >>> b.p10, b.p50, b.p90
    (100.0, 500.0, 900.0)
    """
    ordered = np.sort(values)
    p10, p50, p90 = (float(q) for q in np.quantile(ordered, (0.1, 0.5, 0.9)))
    errors = [_rank_error(ordered, share) for share in (0.1, 0.5, 0.9)]
    mean_error = _Z95 * float(values.std()) / math.sqrt(len(values))
    return Band(p10, p50, p90, float(values.mean()), (errors[0], errors[1], errors[2], mean_error))


def _rank_error(ordered: Floats, share: float) -> float:
    n = len(ordered)
    ranks = _Z95 * math.sqrt(n * share * (1 - share))
    low = max(0, math.floor(n * share - ranks))
    high = min(n - 1, math.ceil(n * share + ranks))
    return float(ordered[high] - ordered[low]) / 2


def chance_error(share: float, draws: int) -> float:
    """Half width of the 95 % interval of a share found in so many draws (normal approximation)."""
    return _Z95 * math.sqrt(share * (1 - share) / draws)
