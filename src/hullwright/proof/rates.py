"""How fast does this crew work and how many flaws does it leave: by method, kind and crew, prior and data apart."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from hullwright.evidence import ESTIMATE, Caution, Evidence, Figure, Mark
from hullwright.proof.bayes import BetaShare, GammaRate, LogNormal, LogStats

SCHEMA: Final = {"name": "rates", "version": 1}
# Flaws per metre: 400 unsealed places in 35 000 ft of one building's sealant joints; taken as a weak prior of shape 1.
FLAW_PRIOR: Final = Figure(
    400 / (35_000 * 0.3048),
    "1/m",
    Evidence(
        Mark.PUBLISHED, "11th Int. Conf. on Durability of Building Materials and Components 2008, paper T14"
    ),
)
ONE_JOB: Final = Caution(
    "the flaw prior comes from cured sealant joints of one building, not from tape or liquid: your own counts replace it",
    FLAW_PRIOR.evidence,
)
HOURS_GSD: Final = Figure(1.6, "", ESTIMATE)


@dataclass(frozen=True, slots=True)
class Group:
    """What is counted together."""

    method: str
    kind: str
    crew: str


@dataclass(frozen=True, slots=True)
class Work:
    """One stretch of work.

    Parameters
    ----------
    group : Group
    quantity : float
        Metres, or pieces.
    hours : float
        Crew-hours.
    """

    group: Group
    quantity: float
    hours: float


@dataclass(frozen=True, slots=True)
class Inspection:
    """One look at finished work.

    Parameters
    ----------
    group : Group
    quantity : float
        Metres, or pieces, looked at.
    flaws : int
        Flaws found there; for pieces, pieces that failed.
    pieces : bool
        Whether `quantity` counts pieces.
    """

    group: Group
    quantity: float
    flaws: int
    pieces: bool = False


@dataclass(frozen=True, slots=True)
class HourRate:
    """Hours per metre or piece.

    Parameters
    ----------
    group : Group
    prior : LogNormal or None
    data : LogStats
    posterior : LogNormal or None
        None where there is neither a prior nor two observations.
    planned : float or None
        What the plan counts with: the mean of the prior. None where it knows nothing.
    """

    group: Group
    prior: LogNormal | None
    data: LogStats
    posterior: LogNormal | None
    planned: float | None = None

    def to_json(self) -> dict[str, Any]:
        """Give prior, data and posterior apart."""
        mean = math.exp(self.data.mean_log) if self.data.n else None
        return {
            "method": self.group.method,
            "kind": self.group.kind,
            "crew": self.group.crew,
            "observations": self.data.n,
            "data_h_per_unit": mean,
            "planned_h_per_unit": self.planned,
            "prior_h_per_unit": None if self.prior is None else self.prior.to_json(),
            "h_per_unit": None if self.posterior is None else self.posterior.to_json(),
        }


@dataclass(frozen=True, slots=True)
class FlawRate:
    """Flaws per metre, or share of pieces that failed.

    Parameters
    ----------
    group : Group
    flaws : int
    quantity : float
        Metres or pieces looked at.
    prior, posterior : GammaRate or BetaShare
    planned : float or None
        What the plan counts with [1/m, or flaws a piece]: the mean of the prior, but for pieces of which it takes one flaw
        or more for each, which is no share. None where it knows nothing.
    """

    group: Group
    flaws: int
    quantity: float
    prior: GammaRate | BetaShare
    posterior: GammaRate | BetaShare
    planned: float | None = None

    def to_json(self) -> dict[str, Any]:
        """Give prior, data and posterior apart; rates along lines per 100 m."""
        line = isinstance(self.posterior, GammaRate)
        scale = 100.0 if line else 1.0
        data = None if self.quantity == 0 else scale * self.flaws / self.quantity
        return {
            "method": self.group.method,
            "kind": self.group.kind,
            "crew": self.group.crew,
            "per": "100 m" if line else "piece",
            "flaws": self.flaws,
            "looked_at": self.quantity,
            "data": data,
            "planned": None if self.planned is None else scale * self.planned,
            "prior": _scaled(self.prior.to_json(), scale),
            "posterior": _scaled(self.posterior.to_json(), scale),
        }


@dataclass(frozen=True, slots=True)
class Rates:
    """All rates of a job."""

    hours: tuple[HourRate, ...]
    flaws: tuple[FlawRate, ...]

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``rates --json``."""
        return {
            "schema": dict(SCHEMA),
            "cautions": [ONE_JOB.to_json()],
            "hours": [rate.to_json() for rate in self.hours],
            "flaws": [rate.to_json() for rate in self.flaws],
        }


def learn_rates(
    work: Sequence[Work],
    looked: Sequence[Inspection],
    *,
    hours_prior: Mapping[tuple[str, str], float] | None = None,
    flaw_prior: Mapping[tuple[str, str], float] | None = None,
) -> Rates:
    """Learn hours and flaws from what was logged.

    Parameters
    ----------
    work : sequence of Work
    looked : sequence of Inspection
    hours_prior : mapping of (method, kind) to float, optional
        Planned hours per metre or piece.
    flaw_prior : mapping of (method, kind) to float, optional
        Expected flaws per metre, or share of pieces; where missing :data:`FLAW_PRIOR` along lines, Beta(1, 1) for pieces.

    Returns
    -------
    Rates

    Examples
    --------
    >>> group = Group("liquid", "horizontal seam", "A")
    >>> rates = learn_rates([Work(group, 30.0, 1.5)], [Inspection(group, 100.0, 2)])
    >>> rates.flaws[0].posterior.shape, rates.hours[0].posterior is None
    (3.0, True)
    """
    return Rates(_hours(work, hours_prior or {}), _flaws(looked, flaw_prior or {}))


def chance_to_meet(flaws_per_m: float, checks: int, *, check_length: float, flaw_length: float) -> float:
    """Give the chance that spot checks meet any flaw at all.

    Parameters
    ----------
    flaws_per_m : float
        [1/m]
    checks : int
    check_length, flaw_length : float
        [m]

    Returns
    -------
    float
        1 − exp(−n·λ·(l + g)), flaws at random along the length.

    Examples
    --------
    >>> round(chance_to_meet(400 / 35000, 35, check_length=0.5, flaw_length=0.175), 4)
    0.2366
    """
    return -math.expm1(-checks * flaws_per_m * (check_length + flaw_length))


def _hours(work: Sequence[Work], priors: Mapping[tuple[str, str], float]) -> tuple[HourRate, ...]:
    values: dict[Group, list[float]] = defaultdict(list)
    for item in work:
        values[item.group].append(item.hours / item.quantity if item.quantity else math.inf)
    out = []
    for group in sorted(values, key=_order):
        data = LogStats.of(values[group])
        stated = priors.get((group.method, group.kind))
        prior = None if stated is None else hours_prior_of(stated)
        out.append(HourRate(group, prior, data, posterior_of(prior, data), stated))
    return tuple(out)


def hours_prior_of(planned: float) -> LogNormal:
    """Make the prior of hours whose mean is what the plan counts with.

    Parameters
    ----------
    planned : float
        Mean hours a unit.

    Examples
    --------
    >>> prior = hours_prior_of(0.05)
    >>> round(prior.median * math.exp(prior.scale / prior.shape / 2.0), 12)
    0.05
    """
    return LogNormal.prior(planned * math.exp(-(math.log(HOURS_GSD.value) ** 2) / 2.0), gsd=HOURS_GSD.value)


def posterior_of(prior: LogNormal | None, data: LogStats) -> LogNormal | None:
    """Update a prior; without one, two values or more stand for themselves (flat prior, Student interval)."""
    if prior is not None:
        return prior.update(data)
    if data.n < 2:
        return None
    shape = (data.n - 1) / 2.0
    return LogNormal(data.mean_log, data.n, shape, max(data.sum_squares / 2.0, 1e-12))


def _flaws(looked: Sequence[Inspection], priors: Mapping[tuple[str, str], float]) -> tuple[FlawRate, ...]:
    sums: dict[tuple[Group, bool], tuple[float, int]] = {}
    for item in looked:
        quantity, flaws = sums.get((item.group, item.pieces), (0.0, 0))
        sums[item.group, item.pieces] = quantity + item.quantity, flaws + item.flaws
    out: list[FlawRate] = []
    for (group, pieces), (quantity, flaws) in sorted(
        sums.items(), key=lambda kv: (_order(kv[0][0]), kv[0][1])
    ):
        stated = priors.get((group.method, group.kind))
        if pieces:
            known = stated is not None and stated < 1.0
            share = BetaShare(1.0, 1.0 / stated - 1.0) if stated and known else BetaShare(1.0, 1.0)
            out.append(FlawRate(group, flaws, quantity, share, share.update(flaws, round(quantity)), stated))
        else:
            rate = GammaRate(1.0, 1.0 / (FLAW_PRIOR.value if stated is None else stated))
            out.append(FlawRate(group, flaws, quantity, rate, rate.update(flaws, quantity), stated))
    return tuple(out)


def _order(group: Group) -> tuple[str, str, str]:
    return group.method, group.kind, group.crew


def _scaled(values: dict[str, float], scale: float) -> dict[str, float]:
    return {key: value if key == "level" else value * scale for key, value in values.items()}
