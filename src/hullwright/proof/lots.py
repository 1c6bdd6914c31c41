"""Is the film of this lot proved.

A lot is one method × crew × day × surface. Wet film is compared with wet film: the least dry film of the product sheet
is turned into wet film once. The answer is *proved*, *not yet: n more readings* or *thin: where*.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any, Final

import numpy as np

from hullwright.errors import QuantityError
from hullwright.evidence import Caution, Evidence, Mark
from hullwright.material.aim import LOT_READINGS
from hullwright.material.allowance import FLOOR
from hullwright.material.distributions import Floats, normal_quantile
from hullwright.material.stable import LEVEL, Pooled, Shown
from hullwright.material.tolerance import CONFIDENCE, LEAST_READINGS, SHARE, guarded_sd, k_pooled
from hullwright.proof.censored import NormalFit, fit_normal, resolvable
from hullwright.proof.comb import Reading, wet_to_dry
from hullwright.proof.gauge_verdict import ROUNDING, Verdict
from hullwright.proof.planning import Risk, more_readings

SCHEMA: Final = {"name": "film lots", "version": 1}


class Answer(StrEnum):
    """What is said about a lot."""

    PROVED = "proved"
    NOT_YET = "not yet"
    THIN = "thin"


@dataclass(frozen=True, slots=True)
class LotKey:
    """What makes a lot.

    Parameters
    ----------
    method, crew : str
    day : date
        The crew's own day.
    surface : str
        Substrate, such as *wood panel, smooth side*.
    product : str
        '' where nobody named one: then the method stands for it.
    coat : int
        1, or that of a later coat.

    Examples
    --------
    >>> LotKey("liquid", "B", date(2024, 5, 3), "concrete").id
    'liquid/B/2024-05-03/concrete'
    """

    method: str
    crew: str
    day: date
    surface: str
    product: str = ""
    coat: int = 1

    @property
    def id(self) -> str:
        """Readable id."""
        coat = f"/coat {self.coat}" if self.coat > 1 else ""
        return f"{self.product or self.method}/{self.crew}/{self.day.isoformat()}/{self.surface}{coat}"


@dataclass(frozen=True, slots=True)
class Need:
    """What a lot must show.

    Parameters
    ----------
    least_dry : float
        Least dry film of the product sheet [m].
    solids : float
        Volume solids.
    thinned : float
        Thinner added, volume per volume.
    share, confidence : float
        At least `share` of the length, shown with `confidence`.
    """

    least_dry: float
    solids: float
    thinned: float = 0.0
    share: float = SHARE
    confidence: float = CONFIDENCE

    def __post_init__(self) -> None:
        if not (math.isfinite(self.least_dry) and self.least_dry > 0):
            raise QuantityError(f"the least dry film must be above 0, got {self.least_dry} m")
        wet_to_dry(self.solids, thinned=self.thinned)

    @property
    def least_wet(self) -> float:
        """Least wet film [m]: WFT = DFT·(1 + T)/VS."""
        return self.least_dry / wet_to_dry(self.solids, thinned=self.thinned)


@dataclass(frozen=True, slots=True)
class Placed:
    """A reading with its joint and the id of its entry."""

    reading: Reading
    joint: str
    entry: str = ""


@dataclass(frozen=True, slots=True)
class LotResult:
    """The answer about one lot, with its figures.

    Parameters
    ----------
    key : LotKey
    need : Need
    readings : int
    mean, sd : float or None
        Best estimate of wet film and its spread [m]; None without readings.
    fit : NormalFit or None
        None where the comb can't resolve the spread.
    bound : float or None
        Film proved for the asked share and confidence [m]; None below three readings.
    answer : Answer
    more : int or None
        Further readings that would prove it if film and spread stay; 0 when proved, None where none would.
    thin_at : tuple of str
        Joints whose own reading fails, or the lowest ones, thinnest first.
    cautions : tuple of Caution
    earlier : Pooled or None
        Spread of the crew's earlier lots of the product; None where there is none.
    pooled : bool
        Whether the bound stands on the spread of this and the earlier lots together.
    """

    key: LotKey
    need: Need
    readings: int
    mean: float | None
    sd: float | None
    fit: NormalFit | None
    bound: float | None
    answer: Answer
    more: int | None
    thin_at: tuple[str, ...]
    cautions: tuple[Caution, ...]
    earlier: Pooled | None = None
    pooled: bool = False

    def sentence(self) -> str:
        """Say the answer in one line."""
        if self.answer is Answer.PROVED:
            return "proved"
        if self.answer is Answer.NOT_YET:
            return f"not yet: {self.more} more readings"
        return "thin: " + ", ".join(self.thin_at[:5])

    def to_json(self) -> dict[str, Any]:
        """Give the lot with the keys of ``film lots``."""
        below: dict[str, Any] | None = None
        if self.fit is not None:
            low, high = self.fit.share_below_interval(self.need.least_wet)
            value = self.fit.share_below(self.need.least_wet)
            below = {"value": value, "low": low, "high": high, "level": 0.95}
        return {
            "id": self.key.id,
            "method": self.key.method,
            "crew": self.key.crew,
            "day": self.key.day.isoformat(),
            "surface": self.key.surface,
            "coat": self.key.coat,
            "readings": self.readings,
            "mean_um": _um(self.mean),
            "sd_um": _um(self.sd),
            "bound_um": _um(self.bound),
            "minimum_um": _um(self.need.least_wet),
            "minimum_dry_um": _um(self.need.least_dry),
            "share": self.need.share,
            "confidence": self.need.confidence,
            "answer": self.answer.value,
            "more_readings": self.more,
            "thin_at": list(self.thin_at),
            "pooled": self.pooled,
            "earlier_spread": None if self.earlier is None else self.earlier.to_json(),
            "share_below": below,
            "sentence": self.sentence(),
            "cautions": [caution.to_json() for caution in self.cautions],
        }


NORMALITY = Caution(
    "the bound takes the film to be normally spread: look at the plot of the readings",
    Evidence(Mark.PUBLISHED, "NIST/SEMATECH e-Handbook 7.2.6.3"),
)
STEP_RULES = Caution(
    "all readings share a tooth: the comb can't resolve the spread, the spread shown is its step/√12",
    Evidence(Mark.ESTIMATE, "uniform spread within one comb step"),
)
RISKS = Caution(
    f"proved means: at least {SHARE:.0%} of the length, with {CONFIDENCE:.0%} confidence; contract or sheet may ask for more",
    Evidence(Mark.ESTIMATE, "own default; no standard sets it for flashing"),
)
POOLED = Caution(
    f"judged by the spread of the crew's last lots together, as long as nothing speaks for a change (Bartlett and F, each at {LEVEL:.0%}): a "
    "spread that grew by a third is noticed in one lot of three",
    Evidence(
        Mark.PUBLISHED,
        "σ method of ISO 3951, with the exact factor for a pooled spread; power by own simulation",
    ),
)
FEW = Caution(
    f"fewer than {LEAST_READINGS} readings prove nothing about a lot",
    Evidence(Mark.ESTIMATE, "coverage of the rule shown by simulation for 3 readings and more"),
)


def assess(key: LotKey, placed: Sequence[Placed], need: Need, earlier: Pooled | None = None) -> LotResult:
    """Say whether the film of a lot is proved.

    Parameters
    ----------
    key : LotKey
    placed : sequence of Placed
        Its readings; corrections already taken in.
    need : Need
    earlier : Pooled or None
        Spread that the crew's earlier lots of the product have shown. Where it is stable and this lot does not speak for a larger one,
        the bound stands on the spread of all together (:mod:`hullwright.material.stable`).

    Returns
    -------
    LotResult

    Examples
    --------
    >>> from hullwright.proof.comb import Comb
    >>> comb = Comb(tuple(mil * 25.4e-6 for mil in range(10, 32, 2)))
    >>> wet = [20, 22, 18, 24, 20, 22, 20, 26, 22, 18]
    >>> readings = [Placed(comb.read(mil * 25.4e-6), f"J{i}") for i, mil in enumerate(wet)]
    >>> key = LotKey("liquid", "B", date(2024, 5, 3), "wood panel")
    >>> result = assess(key, readings, Need(12 * 25.4e-6, 0.75))
    >>> result.sentence(), round(result.bound / 25.4e-6, 2)
    ('proved', 16.24)
    """
    mean, sd, fit = estimate_film([item.reading for item in placed]) if placed else (None, None, None)
    cautions = (STEP_RULES,) if placed and fit is None else ()
    bound, answer, more, pooled = _decide(placed, need, earlier)
    where = _where(placed, need, answer)
    cautions = (*cautions, FEW if bound is None else NORMALITY, *((POOLED,) if pooled else ()))
    return LotResult(
        key, need, len(placed), mean, sd, fit, bound, answer, more, where, cautions, earlier, pooled
    )


def shown(placed: Sequence[Placed]) -> Shown | None:
    """Give the spread that a lot shows to later ones; None with fewer than three readings."""
    if len(placed) < LEAST_READINGS:
        return None
    middles, step = _middles(placed)
    return Shown(float(guarded_sd(middles, step)), len(placed) - 1)


def _middles(placed: Sequence[Placed]) -> tuple[Floats, float]:
    """Middles of the intervals, and the largest step [m]."""
    middles = np.array([item.reading.middle for item in placed], dtype=np.float64)
    return middles, max(item.reading.step for item in placed)


def _decide(
    placed: Sequence[Placed], need: Need, earlier: Pooled | None
) -> tuple[float | None, Answer, int | None, bool]:
    """Bound, answer, further readings and whether the spread is pooled, from the middles with the step floor."""
    n, own = len(placed), shown(placed)
    if own is None:
        return None, Answer.NOT_YET, int(LOT_READINGS.value) - n, False
    middles, step = _middles(placed)
    s, df = own.sd, own.df
    pooled = earlier is not None and earlier.stable and not earlier.grew(own)
    if earlier is not None and pooled:
        s, df = earlier.with_own(own)
    bound = float(middles.mean()) - k_pooled(n, df, need.share, need.confidence) * max(s, step * FLOOR)
    if bound >= need.least_wet * (1 - ROUNDING):
        return bound, Answer.PROVED, 0, pooled
    risks = Risk(need.least_wet, need.share, need.confidence, df - own.df)
    more = more_readings(float(middles.mean()), s, risks, n=n)
    return bound, Answer.THIN if more is None else Answer.NOT_YET, more, pooled


def to_json(results: Sequence[LotResult], cautions: Sequence[Caution] = ()) -> dict[str, Any]:
    """Give all lots as the object of ``film lots --json``."""
    return {
        "schema": dict(SCHEMA),
        "cautions": [caution.to_json() for caution in (*cautions, RISKS)],
        "lots": [result.to_json() for result in results],
    }


def normal_scores(readings: Sequence[Reading]) -> list[tuple[float, float]]:
    """Give (normal score, film [m]) of each reading for the plot of normality.

    Source: plotting position (i − 3/8)/(n + 1/4), Blom 1958.

    Examples
    --------
    >>> from hullwright.proof.comb import Comb
    >>> comb = Comb((1.0, 2.0, 3.0))
    >>> [round(score, 3) for score, _ in normal_scores([comb.read(1.0), comb.read(2.0), comb.read(None)])]
    [-0.869, 0.0, 0.869]
    """
    values = sorted(reading.middle for reading in readings)
    n = len(values)
    return [(normal_quantile((i + 1 - 0.375) / (n + 0.25)), value) for i, value in enumerate(values)]


def estimate_film(readings: Sequence[Reading]) -> tuple[float, float, NormalFit | None]:
    """Give mean and spread of the wet film [m], by maximum likelihood.

    Where the comb can't resolve the spread the mean of the middles and step/√12 stand in, and there is no fit.

    Parameters
    ----------
    readings : sequence of Reading
        One or more.

    Returns
    -------
    mean, sd : float
        [m]
    fit : NormalFit or None
    """
    low = [-math.inf if reading.low == 0 else reading.low for reading in readings]
    high = [reading.high for reading in readings]
    if len(readings) >= 2 and resolvable(low, high):
        fit = fit_normal(low, high)
        return fit.mean, fit.sd, fit
    middles = np.array([reading.middle for reading in readings])
    return float(middles.mean()), max(reading.step for reading in readings) / math.sqrt(12.0), None


def _failing(placed: Sequence[Placed], need: Need) -> tuple[str, ...]:
    """Joints with a reading that is surely below the least film, thinnest first."""
    low = [item for item in placed if item.reading.judge(need.least_wet) is Verdict.THIN]
    return tuple(dict.fromkeys(item.joint for item in sorted(low, key=lambda item: item.reading.middle)))


def _where(placed: Sequence[Placed], need: Need, answer: Answer) -> tuple[str, ...]:
    """Surely thin joints; for a thin lot without any, the joints whose reading does not pass by itself."""
    failing = _failing(placed, need)
    if failing or answer is not Answer.THIN:
        return failing
    short = [item for item in placed if item.reading.judge(need.least_wet) is not Verdict.ENOUGH] or list(
        placed
    )
    return tuple(dict.fromkeys(item.joint for item in sorted(short, key=lambda item: item.reading.middle)))


def _um(value: float | None) -> float | None:
    return None if value is None else value * 1e6
