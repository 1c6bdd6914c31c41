"""Spread of a plan: leakage and water drawn many times.

For each draw one factor H is shared by the whole house and crew (log-normal, mean 1, GSD 1.6) and one factor R is drawn per run
(log-normal, mean 1, GSD 2). Sound leakage is a·q·H·R, the number of flaws N is Poisson with mean λ·q·H·R, and flaw sizes are
exponential with mean ā, so that their sum is ā times a Gamma(N) number. A joint left bare leaks unsealed·q·R. Units, material and
services get a factor each (log-normal, mean 1). Every mean of leakage is that of the sums.

Rain is summed along the drainage paths in each draw, with the same Gamma(N) for each run and, for what is left bare, the same R: what
enters does not pass below, so no draw lets in more than fell. Blocks of draws have random numbers of their own: fewer draws are the
first of more, and what the rain takes longest for is drawn no oftener than :data:`RAIN_DRAWS` times, so that the same plan has the
same figure wherever it is printed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from hullwright.choice.drainage import Drainage, taken
from hullwright.choice.sums import EXPONENT, Terms, flow

Floats = NDArray[np.float64]
Floats32 = NDArray[np.float32]
Ints = NDArray[np.int64]
SEED: Final = 20_240
RAIN_DRAWS: Final = 8192
"""Draws of the rain that gets in."""
_BLOCK: Final = 2048
_AT_ONCE: Final = 256  # draws that run down the paths together: what fits near the processor
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
    water : ndarray (m,)
        Rain that gets in [L], of the first :data:`RAIN_DRAWS` draws; empty where none is drawn.
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
    drainage: Drainage | None = None,
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
    drainage : Drainage or None
        Paths of the rain; None: no rain is drawn.
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
    >>> t = Terms(100 * one, 0.02 * one, 0.015 * one, 0.3 * one, 0.05 * one, 0.1 * one, 0 * one, 90 * one, 90 * one)
    >>> d = draw(t, draws=40_000)
    >>> bool(abs(d.area.mean() - t.air[0]) < 4 * d.area.std() / 200)
    True
    """
    wide = spreads or Spreads()
    area, others = np.empty(draws), np.zeros(draws)
    water = np.empty(0 if drainage is None else min(draws, RAIN_DRAWS))
    columns = _Columns(terms, drainage)
    for block, start in enumerate(range(0, draws, _BLOCK)):
        part = slice(start, min(start + _BLOCK, draws))
        count = part.stop - start
        apart = _random(seed, block, 1)
        for mean in other:
            others[part] += mean * lognormal(apart, wide.other, _BLOCK)[:count]
        area[part], factor, size = _block(columns, _random(seed, block, 0), wide, count)
        if drainage is None or start >= len(water):
            continue
        for first in range(start, min(part.stop, len(water)), _AT_ONCE):
            here = slice(first - start, min(first + _AT_ONCE, len(water)) - start)
            drawn = columns.shares(factor[here], size[here])
            water[first : first + _AT_ONCE] = drainage.chain.run(drawn)[0].sum(axis=0)
    return Drawn(area, water, others)


def _random(seed: int, block: int, stream: int) -> np.random.Generator:
    return np.random.Generator(np.random.SFC64([seed, block, stream]))


class _Columns:
    """Terms in the order that a block needs them: runs with flaws first, runs that can't leak left out."""

    def __init__(self, terms: Terms, drainage: Drainage | None) -> None:
        flawed = np.flatnonzero(terms.number > 0)
        rest = np.flatnonzero((terms.number <= 0) & ((terms.sound_air > 0) | (terms.open > 0)))
        work = terms.take(flawed)
        self.flawed = len(flawed)
        self.count = len(flawed) + len(rest)
        self.number = work.number
        self.hole = work.hole
        self.sound = work.sound_air.astype(np.float32)
        self.bare = terms.take(rest).sound_air.astype(np.float32)
        self.column = np.full(len(terms.quantity), -1, dtype=np.int64)
        self.column[np.concatenate([flawed, rest])] = np.arange(self.count)
        if drainage is not None:
            self._on_paths(terms, drainage)

    def _on_paths(self, terms: Terms, drainage: Drainage) -> None:
        """Where runs let water in: exponent of one flaw of mean size, and of what is left bare."""
        a_unit = np.divide(1.0, terms.quantity, out=np.zeros(len(terms.quantity)), where=terms.quantity > 0)
        one, bare = drainage.appetite(terms, a_unit), drainage.thirst(terms)
        column = self.column[drainage.run]
        self.nodes = drainage.nodes
        flawed = (column >= 0) & (column < self.flawed) & (one > 0)
        self.flaws = _layers(drainage.node, column, one, flawed)
        self.openings = _layers(drainage.node, column, bare, (column >= 0) & (bare > 0))

    def shares(self, factor: Floats32, size: Floats32) -> Floats:
        """Share of what comes to each node that enters (N, B)."""
        exponent = np.zeros((self.nodes, len(factor)))
        for drawn, layers in ((size.T, self.flaws), (factor.T, self.openings)):
            for node, column, weight in layers:
                exponent[node] += weight * drawn[column]
        return taken(exponent)


def _layers(
    node: Ints, column: Ints, weight: Floats, on: NDArray[np.bool_]
) -> list[tuple[Ints, Ints, Floats]]:
    """Nodes with their columns and weights, in layers that hold each node once."""
    rest = np.flatnonzero(on)
    layers: list[tuple[Ints, Ints, Floats]] = []
    while len(rest):
        first = np.unique(node[rest], return_index=True)[1]
        here = rest[first]
        layers.append((node[here], column[here], weight[here, None]))
        rest = np.delete(rest, first)
    return layers


def _block(
    columns: _Columns, rng: np.random.Generator, wide: Spreads, count: int
) -> tuple[Floats, Floats32, Floats32]:
    """Leakage area (B,), factors of the runs (B, count) and sizes of their flaws in mean flaws (B, flawed)."""
    house = lognormal(rng, wide.house, _BLOCK)[:count]
    sigma = np.float32(math.log(wide.run))
    factor = rng.standard_normal((count, columns.count), dtype=np.float32)
    factor *= sigma
    factor -= sigma * sigma / 2
    np.exp(factor, out=factor)
    # Work that was done shares the house's factor; joints left bare do not.
    work, bare = factor[:, : columns.flawed], factor[:, columns.flawed :]
    area: Floats = house * (work @ columns.sound) + bare @ columns.bare
    rate = work * columns.number
    rate *= house[:, None]
    number = rng.poisson(rate).ravel()
    where = np.flatnonzero(number)
    flat = np.zeros(len(number), dtype=np.float32)
    flat[where] = rng.standard_gamma(number[where])
    size = flat.reshape(count, columns.flawed)
    area += size @ columns.hole
    return area, factor, size


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
