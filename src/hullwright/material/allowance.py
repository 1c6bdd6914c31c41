"""How far above its least must a film be aimed so that a handful of gauge readings proves it.

A lot is proved where mean − k·s of its readings reaches the least film (:mod:`hullwright.material.tolerance`). A crew that lays the
mean film μ with the spread σ is proved with the wanted chance where

    P(x̄ − k·max(s, step/√12) ≥ least) ≥ chance,

x̄ and s of n readings, each the middle of the step in which the film lies. The *allowance* is the smallest μ − least that does.

- exact values (step 0): x̄ − k·s by the noncentral t distribution, the power of the k-method of ISO 3951;
- a gauge: mean and standard deviation of the middles at the worst place of μ between two notches (at a spread above the step they are
  μ and √(σ² + step²/12), Sheppard's correction), x̄ normal, integrated over the chi distribution of s. Held against the exact chances
  of few notches and against simulation this is too hopeful by up to 0.02, so the chance is asked for with so much more;
- a spread pooled with earlier lots: the same, s and k of the lot alone where its own spread speaks for a change (F), else of all together;
- up to eight readings at a small spread: the joint chances of sum and sum of squares on the notches, exactly, by one Fourier transform.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np

from hullwright.errors import Problem, QuantityError
from hullwright.material.distributions import (
    Floats,
    chi_square_quantiles,
    f_quantile,
    noncentrality,
    normal_cdf,
)
from hullwright.material.stable import LEVEL
from hullwright.material.tolerance import CONFIDENCE, LEAST_READINGS, SHARE, k_factor, k_pooled

MOST_READINGS: Final = 200  # (estimate) more than this in one lot nobody takes: put on film instead
CHANCE: Final = 0.90  # (estimate: own default) a lot laid at the aim is proved with this chance
FLOOR: Final = 1.0 / math.sqrt(12.0)  # least spread that the bound takes, in steps
_NARROW: Final = 0.85  # spread in steps below which single notches show
_SHORT: Final = {True: 0.02, False: 0.008}  # by narrow or not: what the sum for a gauge may be too hopeful by
_EXACT: Final = 8  # readings up to which the notches are counted exactly
_REACH: Final = 4.5  # spreads to each side within which notches are counted; the rest is below 7e-6
_PLACES: Final = np.append(
    np.arange(20) / 20.0, 0.999
)  # of the mean between two notches; the last all but on the next one


@dataclass(frozen=True, slots=True)
class Reads:
    """How a lot is read.

    Parameters
    ----------
    readings : int
        Number, 3 or more.
    step : float
        Step of the gauge [m]; 0 for exact values.
    pooled : float
        Degrees of freedom of the crew's earlier lots that the spread is pooled with; 0: each lot by its own spread.
    share, confidence : float
        Of the bound.

    Raises
    ------
    QuantityError
        Where one is out of range.
    """

    readings: int
    step: float
    pooled: float = 0.0
    share: float = SHARE
    confidence: float = CONFIDENCE

    def __post_init__(self) -> None:
        sound = math.isfinite(self.step) and self.step >= 0 and self.pooled >= 0
        if self.readings < LEAST_READINGS or not sound:
            problem = Problem(
                "readings or gauge out of range",
                got=f"{self.readings} readings, step {self.step * 1e6:g} µm, pooled {self.pooled:g}",
                allowed=f"{LEAST_READINGS} readings or more; step and pooled 0 or more",
                hint="state the readings planned for a lot and the step of the gauge at that film",
            )
            raise QuantityError("no allowance for these readings", [problem])

    @property
    def df(self) -> float:
        """Degrees of freedom of the spread."""
        return self.readings - 1 + self.pooled

    @property
    def k(self) -> float:
        """Factor of the bound."""
        return k_pooled(self.readings, self.df, self.share, self.confidence)


def allowance(spread: float, reads: Reads, chance: float = CHANCE) -> float:
    """Give how far the mean film must lie above its least so that a lot is proved.

    Parameters
    ----------
    spread : float
        True spread of the wet film [m].
    reads : Reads
    chance : float
        Chance with which such a lot is to be proved.

    Returns
    -------
    float
        [m], wet as `spread` and `step` are.

    Raises
    ------
    QuantityError
        Spread negative or not finite, chance outside (0, 1).

    Examples
    --------
    Ten exact readings, then ten of a gauge with a step of 2, of a film with a spread of 1.5:

    >>> round(allowance(1.5, Reads(10, 0.0)), 3), round(allowance(1.5, Reads(10, 2.0)), 2)
    (4.668, 5.14)
    """
    if not (math.isfinite(spread) and spread >= 0 and 0 < chance < 1):
        problem = Problem("spread or chance out of range", got=f"spread {spread}, chance {chance}")
        raise QuantityError("no allowance for this spread", [problem])
    if reads.step == 0 and not reads.pooled:
        root = math.sqrt(reads.readings)  # the tail of the noncentral t with δ = √n·(μ − least)/σ
        return spread * noncentrality(1.0 - chance, reads.df, reads.k * root) / root
    if reads.step == 0:
        return _normal(spread, reads, chance, floor=0.0)
    return reads.step * _in_steps(spread / reads.step, _unit(reads), chance)


def chance_at(margin: float, spread: float, reads: Reads) -> float:
    """Give the chance that a lot is proved whose mean film lies so far above its least.

    Parameters
    ----------
    margin : float
        Mean less least film [m].
    spread : float
        True spread [m].
    reads : Reads

    Returns
    -------
    float
        Mean over the places of the film between two notches.

    Examples
    --------
    A crew that lays 15.3 mil where 12.2 is the least, with a spread of 1.5 and then of 2.5 mil:

    >>> round(chance_at(3.1, 1.5, Reads(10, 2.0)), 2), round(chance_at(3.1, 2.5, Reads(10, 2.0)), 2)
    (0.29, 0.04)
    """
    if reads.step == 0:
        return _chance(margin, spread, reads, floor=0.0)
    ratio, steps, unit = spread / reads.step, margin / reads.step, _unit(reads)
    if _counts(ratio, unit):
        found = (_bounds(float(place), ratio, unit) for place in _PLACES)
        return float(np.mean([chances[bounds >= -steps - 1e-9].sum() for bounds, chances in found]))
    places = [_moments(float(place), ratio) for place in _PLACES]
    return float(np.mean([_chance(steps - shift, sd, unit) for shift, sd in places]))


def readings_for(
    margin: float, spread: float, step: float, chance: float = CHANCE, *, most: int = MOST_READINGS
) -> int | None:
    """Give the fewest readings with which a film so far above its least is proved.

    Parameters
    ----------
    margin, spread, step : float
        Mean less least film, true spread, step of the gauge [m].
    chance : float
    most : int
        Largest number looked at.

    Returns
    -------
    int or None
        None where even `most` would not do.

    Examples
    --------
    >>> readings_for(4.0, 1.5, 2.0), readings_for(1.0, 1.5, 2.0)
    (19, None)
    """
    low, high = LEAST_READINGS - 1, LEAST_READINGS
    while allowance(spread, Reads(high, step), chance) > margin:
        if high >= most:
            return None
        low, high = high, min(2 * high, most)
    while high - low > 1:
        middle = (low + high) // 2
        enough = allowance(spread, Reads(middle, step), chance) <= margin
        low, high = (low, middle) if enough else (middle, high)
    return high


def _unit(reads: Reads) -> Reads:
    return Reads(reads.readings, 1.0, reads.pooled, reads.share, reads.confidence)


@lru_cache(maxsize=8192)
def _in_steps(ratio: float, reads: Reads, chance: float) -> float:
    """Allowance in steps, of a spread in steps, at the worst place between two notches."""
    narrow = ratio < _NARROW
    if _counts(ratio, reads):
        return max(_counted(float(place), ratio, reads, chance) for place in np.arange(100) / 99.1)
    wanted = min(chance + _SHORT[narrow], 0.5 * (1.0 + chance))
    places = _PLACES if narrow else _PLACES[:1]
    return max(
        shift + _normal(sd, reads, wanted) for shift, sd in (_moments(float(at), ratio) for at in places)
    )


def _counts(ratio: float, reads: Reads) -> bool:
    """Whether so few readings fall on so few notches that they are counted exactly."""
    return ratio < _NARROW and reads.readings <= _EXACT and not reads.pooled


def _chances(place: float, ratio: float) -> tuple[int, Floats]:
    """Number of the first step, and the chance of each; a step is 1, the mean lies at `place`."""
    if ratio == 0:
        return 0, np.ones(1)
    reach = _REACH * ratio
    first, last = math.floor(place - reach), math.floor(place + reach)
    edges = (np.arange(first, last + 2) - place) / ratio
    chances = np.diff(normal_cdf(edges))
    return first, np.asarray(chances / chances.sum(), dtype=np.float64)


def _moments(place: float, ratio: float) -> tuple[float, float]:
    """How far the mean of the middles lies below the film's, and the standard deviation of the middles."""
    first, chances = _chances(place, ratio)
    middles = first + 0.5 + np.arange(len(chances))
    mean = float(chances @ middles)
    return place - mean, math.sqrt(max(float(chances @ (middles - mean) ** 2), 0.0))


def _normal(sd: float, reads: Reads, chance: float, floor: float = FLOOR) -> float:
    """Allowance where the mean of the readings is normal and s independent of it."""
    if sd == 0:
        return reads.k * floor
    low, high = -reads.k * floor - sd, reads.k * floor + sd
    while _chance(high, sd, reads, floor) < chance:
        low, high = high, 2.0 * high
    while high - low > 1e-6 * sd:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _chance(middle, sd, reads, floor) < chance else (low, middle)
    return high


@lru_cache(maxsize=512)
def _chi(df: float, cells: int = 200) -> Floats:
    """s/σ at even chances."""
    grid = (np.arange(cells) + 0.5) / cells
    return np.asarray(np.sqrt(chi_square_quantiles(grid, df) / df), dtype=np.float64)


@lru_cache(maxsize=512)
def _factors(reads: Reads) -> tuple[Floats, Floats]:
    """s/σ and its factor over even chances; pooled: of the lot's own spread where that speaks for a change, else of both together."""
    own_df, own_k = reads.readings - 1, k_factor(reads.readings, reads.share, reads.confidence)
    if not reads.pooled:
        own = _chi(own_df)
        return own, np.full_like(own, own_k)
    own, earlier = (grid.ravel() for grid in np.meshgrid(_chi(own_df, 60), _chi(reads.pooled, 30)))
    together = np.sqrt((own_df * own**2 + reads.pooled * earlier**2) / reads.df)
    grew = (own / earlier) ** 2 > f_quantile(1.0 - LEVEL, own_df, reads.pooled)
    return np.where(grew, own, together), np.where(grew, own_k, reads.k)


def _chance(margin: float, sd: float, reads: Reads, floor: float = FLOOR) -> float:
    if sd == 0:
        return float(margin >= reads.k * floor)
    s, k = _factors(reads)
    return float(
        normal_cdf((margin - k * np.maximum(sd * s, floor)) * (math.sqrt(reads.readings) / sd)).mean()
    )


def _counted(place: float, ratio: float, reads: Reads, chance: float) -> float:
    """Allowance in steps for one place of the mean."""
    bounds, chances = _bounds(place, ratio, reads)
    return -float(bounds[int(np.searchsorted(np.cumsum(chances), chance - 1e-12))])


def _bounds(place: float, ratio: float, reads: Reads) -> tuple[Floats, Floats]:
    """Bounds less the film's mean in steps, highest first, with their exact chances from sum and sum of squares."""
    n = reads.readings
    first, chances = _chances(place, ratio)
    last = len(chances) - 1
    one = np.zeros((n * last + 1, n * last * last + 1))
    one[np.arange(last + 1), np.arange(last + 1) ** 2] = chances
    joint = np.fft.irfft2(np.fft.rfft2(one) ** n, s=one.shape)
    at, squares = np.nonzero(joint > 1e-13)
    s = np.sqrt(np.maximum(squares - at**2 / n, 0.0) / (n - 1))
    bound = np.asarray(first + 0.5 + at / n - reads.k * np.maximum(s, FLOOR) - place, dtype=np.float64)
    order, weight = np.argsort(-bound), joint[at, squares]
    return bound[order], np.asarray(weight[order] / weight.sum(), dtype=np.float64)
