"""Where the leakage is, given what was measured: draws of all components together.

Sampler: Hamiltonian Monte Carlo (Neal 2011, *MCMC using Hamiltonian dynamics*, eq. 5.18–5.20) on the standard normal
coordinates of the prior, many chains at once. A measured total ties all components to one thin sheet; the mass matrix
carries that direction as a rank-one term ``M = I + v vᵀ``, so that the step need not shrink with the test's error. Two
exact moves join it: the house factor is drawn from its normal conditional given the flows, and pairs of components that
no term tells apart share their sum anew (so that "this one or that one" is walked between, not climbed over).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hullwright.leaks.components import Prior
from hullwright.leaks.evidence_seen import Likelihood, Term, value_of

Floats = NDArray[np.float64]

State = tuple[Floats, Floats, Floats]

CHAINS: Final = 40
WARM: Final = 150
KEEP: Final = 250
STEPS: Final = 10
AGREE: Final = 1.06
TELL: Final = 10


@dataclass(frozen=True, slots=True)
class Posterior:
    """Draws after a test.

    Parameters
    ----------
    flows : ndarray (draws, J)
        [m3/h at 50 Pa]
    effective : float
        Effective sample size of the least well sampled sum: the total, the house factor, the ten largest components.
    mixing : float
        Largest ratio of between-chain to within-chain spread of the same (1 is perfect, below 1.05 is good).
    accepted : float
        Share of proposals accepted.
    """

    flows: Floats
    effective: float
    mixing: float
    accepted: float

    @property
    def total(self) -> Floats:
        """Total flow of each draw (draws,) [m3/h at 50 Pa]."""
        summed: Floats = self.flows.sum(axis=1)
        return summed


class _Target:
    """Log density and gradient in standard normal coordinates; column 0 is the house factor."""

    def __init__(self, prior: Prior, terms: Sequence[Term]) -> None:
        self.prior = prior
        self.likelihood = Likelihood(tuple(terms))
        self.weights = self.likelihood.weights

    def flows(self, z: Floats) -> Floats:
        p = self.prior
        grown: Floats = np.exp(p.location + p.house * p.shared * z[:, :1] + p.own * z[:, 1:])
        return grown

    def __call__(self, z: Floats) -> tuple[Floats, Floats]:
        with np.errstate(
            over="ignore", invalid="ignore", divide="ignore"
        ):  # a trajectory that runs away is refused by its energy
            return self._both(z)

    def _both(self, z: Floats) -> tuple[Floats, Floats]:
        x = self.flows(z)
        value, slope = self.likelihood.value_and_slope(x @ self.weights.T)
        by_log = (slope @ self.weights) * x
        grad = -z
        grad[:, 1:] += by_log * self.prior.own
        grad[:, 0] += (by_log * self.prior.shared).sum(axis=1) * self.prior.house
        density: Floats = value - 0.5 * (z**2).sum(axis=1)
        return density, grad

    def stiff(self, z: Floats) -> Floats:
        """Direction v of the total's curvature at the chains' middle (J + 1,)."""
        x = np.exp(np.log(self.flows(z)).mean(axis=0))
        v = np.zeros(z.shape[1])
        for term, row in zip(self.likelihood.terms, self.weights, strict=True):
            if term.sort == "total":
                share = row * x / max(float(row @ x), 1e-300) / term.spread
                direction = np.concatenate(
                    [[self.prior.house * float(share @ self.prior.shared)], share * self.prior.own]
                )
                if direction @ direction > v @ v:
                    v = direction
        return v


def sample(
    prior: Prior,
    terms: Sequence[Term],
    *,
    seed: int = 1,
    chains: int = CHAINS,
    warm: int = WARM,
    keep: int = KEEP,
) -> Posterior:
    """Draw all components given what was seen.

    Parameters
    ----------
    prior : Prior
    terms : sequence of Term
        At least one.
    seed : int
        The same seed gives the same draws.
    chains, warm, keep : int
        Chains, and iterations of each that are thrown away and kept.

    Returns
    -------
    Posterior

    Examples
    --------
    Two leaks that nobody has looked at share a measured total of 100 m3/h:

    >>> import numpy as np
    >>> from hullwright.leaks.components import Prior
    >>> even = Prior(np.log([30.0, 30.0]), np.array([1.0, 1.0]), 0.5, np.array([1.0, 1.0]))
    >>> got = sample(even, [Term("total", np.ones(2), 100.0, 0.05)])
    >>> bool(abs(got.total.mean() - 100) < 2), bool(abs(got.flows[:, 0].mean() - 50) < 4)
    (True, True)
    """
    run = _Chains(prior, terms, chains, seed)
    run.advance(warm, adapt=True)
    run.advance(keep)
    return run.posterior()


def _nobody(done: int, of: int) -> None:
    """Nobody is told."""


def sample_until(
    prior: Prior,
    terms: Sequence[Term],
    *,
    enough: float,
    longest: int,
    seed: int = 1,
    step: Callable[[int, int], None] = _nobody,
) -> Posterior:
    """Draw until the effective sample size is enough and the chains agree, or `longest` iterations are kept.

    Parameters
    ----------
    prior : Prior
    terms : sequence of Term
    enough : float
        Effective sample size asked for.
    longest : int
        Most iterations kept of each chain; what was reached stands in the answer.
    seed : int
    step : callable
        Told iterations done, and the most that there can be; what it raises ends the work.
    """
    run = _Chains(prior, terms, CHAINS, seed)
    run.told = lambda done: step(done, WARM + longest)
    run.advance(WARM, adapt=True)
    while True:
        run.advance(KEEP)
        drawn = run.posterior()
        if (drawn.effective >= enough and drawn.mixing < AGREE) or len(run.kept) >= longest:
            return drawn


class _Chains:
    """Chains under way."""

    def __init__(self, prior: Prior, terms: Sequence[Term], chains: int, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.target = _Target(prior, terms)
        self.exact = _Exact(prior, self.target.weights, self.target.likelihood.terms)
        z = _starts(self.target, chains, self.rng)
        self.state: State = (z, *self.target(z))
        self.step, self.v = 0.15, np.zeros(z.shape[1])
        self.kept: list[tuple[Floats, float]] = []
        self.done = 0
        self.told: Callable[[int], None] = lambda _done: None

    def advance(self, turns: int, *, adapt: bool = False) -> None:
        """Go on; while it adapts, the step is tuned and nothing is kept."""
        for turn in range(turns):
            if adapt and turn % 25 == 0:
                self.v = self.target.stiff(self.state[0])
            step = self.step * self.rng.uniform(0.7, 1.3)
            z, _, _, rate = _move(self.target, self.state, self.v, step, self.rng)
            z = self.exact.move(z, self.rng)
            self.state = (z, *self.target(z))
            share = float(np.minimum(rate, 1.0).mean())
            if adapt:
                self.step = min(self.step * math.exp(0.12 * (share - 0.8)), 0.6)
            else:
                self.kept.append((z, share))
            self.done += 1
            if self.done % TELL == 0:
                self.told(self.done)

    def posterior(self) -> Posterior:
        """Everything kept so far."""
        stack = np.stack([each for each, _ in self.kept])  # (keep, chains, J + 1)
        flows = self.target.flows(stack.reshape(-1, stack.shape[2]))
        watched = _watched(flows, stack, len(self.kept), stack.shape[1])
        effective = min(effective_size(series) for series in watched)
        mixing = max(chain_ratio(series) for series in watched)
        return Posterior(flows, effective, mixing, float(np.mean([share for _, share in self.kept])))


def _starts(target: _Target, chains: int, rng: np.random.Generator, pool: int = 1500) -> Floats:
    """Starts that lie where the answer is: prior draws, picked by their likelihood with the errors widened until enough fit."""
    z = rng.standard_normal((pool, len(target.prior.own) + 1))
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        value, _ = target.likelihood.value_and_slope(target.flows(z) @ target.weights.T)
    value -= value.max()
    heat = 1.0
    weight = np.exp(value)
    while float(weight.sum()) ** 2 / float((weight**2).sum()) < 2 * chains:
        heat *= 1.5
        weight = np.exp(value / heat)
    started: Floats = z[rng.choice(pool, size=chains, p=weight / weight.sum())]
    return started


def _watched(flows: Floats, stack: Floats, keep: int, chains: int) -> list[Floats]:
    logs = np.log(flows).reshape(keep, chains, -1)
    largest = np.argsort(flows.mean(axis=0))[::-1][:10]
    return [
        np.log(flows.sum(axis=1)).reshape(keep, chains),
        stack[:, :, 0],
        *(logs[:, :, j] for j in largest),
    ]


class _Exact:
    """Moves that leave every measured sum as it is."""

    def __init__(self, prior: Prior, weights: Floats, terms: Sequence[Term]) -> None:
        self.prior = prior
        own_terms = [k for k, row in enumerate(weights) if (row > 0).sum() == 1]
        self.single = [(terms[k], int(np.argmax(weights[k]))) for k in own_terms]
        columns = np.delete(weights, own_terms, axis=0)
        _, kind = np.unique(columns, axis=1, return_inverse=True)
        self.classes = [np.flatnonzero(kind == k) for k in range(int(kind.max()) + 1)]
        pull = prior.house * prior.shared / prior.own**2
        self.pull, self.sharp = pull, 1.0 + float((pull * prior.house * prior.shared).sum())

    def move(self, z: Floats, rng: np.random.Generator) -> Floats:
        """House factor from its conditional, then three rounds of shared sums."""
        p = self.prior
        log_x = p.house * p.shared * z[:, :1] + p.own * z[:, 1:]  # less the location
        house = (log_x @ self.pull) / self.sharp + rng.standard_normal(len(z)) / math.sqrt(self.sharp)
        z = np.concatenate([house[:, None], (log_x - p.house * p.shared * house[:, None]) / p.own], axis=1)
        for turn in range(3):
            for group in self.classes:
                if len(group) > 1:
                    self._share(z, rng.permutation(group), swap=turn == 0, rng=rng)
        return z

    def _share(self, z: Floats, order: NDArray[np.intp], *, swap: bool, rng: np.random.Generator) -> None:
        """Split the sums of disjoint pairs anew, in place: symmetric on the log odds, so only the prior decides."""
        half = len(order) // 2
        i, j = order[:half], order[half : 2 * half]
        p = self.prior
        base = p.location + p.house * p.shared * z[:, :1]
        log_i, log_j = base[:, i] + p.own[i] * z[:, 1 + i], base[:, j] + p.own[j] * z[:, 1 + j]
        total, odds = np.logaddexp(log_i, log_j), log_i - log_j
        odds_new = -odds if swap else odds + 1.5 * rng.standard_normal(odds.shape)
        new_i, new_j = total - np.logaddexp(0.0, -odds_new), total - np.logaddexp(0.0, odds_new)
        z_i, z_j = (new_i - base[:, i]) / p.own[i], (new_j - base[:, j]) / p.own[j]
        gain = 0.5 * (z[:, 1 + i] ** 2 + z[:, 1 + j] ** 2 - z_i**2 - z_j**2)
        gain += self._looks(order, half, (log_i, log_j), (new_i, new_j))
        take = np.log(rng.uniform(size=gain.shape)) < gain
        z[:, 1 + i] = np.where(take, z_i, z[:, 1 + i])
        z[:, 1 + j] = np.where(take, z_j, z[:, 1 + j])

    def _looks(
        self, order: NDArray[np.intp], half: int, old: tuple[Floats, Floats], new: tuple[Floats, Floats]
    ) -> Floats:
        """Change of the log-likelihood of terms on one component alone."""
        gain = np.zeros_like(old[0])
        place = {int(name): k for k, name in enumerate(order[: 2 * half])}
        for term, member in self.single:
            if member in place:
                side, k = divmod(place[member], half)
                share = float(term.members[member])
                gain[:, k] += value_of(term, share * np.exp(new[side][:, k])) - value_of(
                    term, share * np.exp(old[side][:, k])
                )
        return gain


def _move(
    target: _Target, state: State, v: Floats, step: float, rng: np.random.Generator
) -> tuple[Floats, Floats, Floats, Floats]:
    z, value, grad = state
    vv = float(v @ v)
    momentum = rng.standard_normal(z.shape) + rng.standard_normal((len(z), 1)) * v

    def velocity(p: Floats) -> Floats:
        turned: Floats = p - (p @ v)[:, None] * v / (1.0 + vv)
        return turned

    def kinetic(p: Floats) -> Floats:
        energy: Floats = 0.5 * ((p**2).sum(axis=1) - (p @ v) ** 2 / (1.0 + vv))
        return energy

    start = value - kinetic(momentum)
    at, now, slope = z, value, grad
    p = momentum + 0.5 * step * slope
    with np.errstate(over="ignore", invalid="ignore"):
        for turn in range(STEPS):
            at = at + step * velocity(p)
            now, slope = target(at)
            p = p + (step if turn < STEPS - 1 else 0.5 * step) * slope
        rate = np.exp(np.clip(now - kinetic(p) - start, -700, 50))
    rate = np.where(np.isfinite(rate), rate, 0.0)
    take = rng.uniform(size=len(z)) < rate
    return (
        np.where(take[:, None], at, z),
        np.where(take, now, value),
        np.where(take[:, None], slope, grad),
        rate,
    )


def effective_size(series: Floats) -> float:
    """Effective sample size of chains (n, m) by Geyer's initial positive sequence.

    Notes
    -----
    Gelman et al., *Bayesian Data Analysis*, 3rd ed., eq. 11.8.

    Examples
    --------
    >>> import numpy as np
    >>> free = np.random.default_rng(1).standard_normal((500, 8))
    >>> bool(2500 < effective_size(free) <= 4000)
    True
    """
    n, m = series.shape
    centred = series - series.mean(axis=0)
    size = 1 << (2 * n - 1).bit_length()
    spectrum = np.abs(np.fft.rfft(centred, size, axis=0)) ** 2
    auto = np.fft.irfft(spectrum, size, axis=0)[:n].mean(axis=1) / n
    within = auto[0] * n / (n - 1)
    between = float(series.mean(axis=0).var(ddof=1)) if m > 1 else 0.0
    pooled = within * (n - 1) / n + between
    if pooled <= 0:
        return float(n * m)
    rho = 1.0 - (within - auto * n / (n - 1)) / pooled
    tail = 0.0
    for lag in range(1, n - 1, 2):
        pair = float(rho[lag] + rho[lag + 1])
        if pair < 0:
            break
        tail += pair
    return float(min(n * m / (1.0 + 2.0 * tail), float(n * m)))


def chain_ratio(series: Floats) -> float:
    """Ratio of pooled to within-chain spread of chains split in halves (n, m); 1 where the chains agree.

    Notes
    -----
    Gelman et al., *Bayesian Data Analysis*, 3rd ed., eq. 11.4.
    """
    half = len(series) // 2
    split = np.concatenate([series[:half], series[half : 2 * half]], axis=1)
    within = float(split.var(axis=0, ddof=1).mean())
    between = float(split.mean(axis=0).var(ddof=1))
    return 1.0 if within <= 0 else math.sqrt((within * (half - 1) / half + between) / within)
