"""Is more used than planned, when does it run out, what did too much film cost so far."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, Final

import numpy as np

from hullwright.errors import Problem, QuantityError
from hullwright.evidence import ESTIMATE, Figure
from hullwright.proof.bayes import GammaRate, LogNormal, LogStats
from hullwright.proof.mockup import Target

YIELD_GSD: Final = Figure(1.4, "", ESTIMATE)
CURED_PER_DAY: Final = Figure(0.5, "1/d", ESTIMATE)  # opened packs that cure overnight, per crew-day
WORLDS: Final = 20_000
_SEED: Final = 20240503  # the same log gives the same forecast


@dataclass(frozen=True, slots=True)
class UseDay:
    """One crew-day of one product and method.

    Parameters
    ----------
    day : date
    metres : float
        Joint sealed [m] (or pieces, where the plan counts pieces).
    packs : float
        Packs emptied into the work.
    cured : int
        Opened packs that cured overnight and were thrown away.
    """

    day: date
    metres: float
    packs: float
    cured: int = 0

    def __post_init__(self) -> None:
        if not (
            self.metres > 0 and self.packs > 0 and self.cured >= 0 and math.isfinite(self.metres + self.packs)
        ):
            problem = Problem(
                "a day of use is incomplete",
                got=f"{self.day}: {self.metres} m, {self.packs} packs, {self.cured} cured",
                allowed="metres and packs above 0, cured packs 0 or more",
            )
            raise QuantityError("this day of use can't be counted", [problem])


@dataclass(frozen=True, slots=True)
class Stock:
    """What is there and how it comes.

    Parameters
    ----------
    packs : float
        Unopened packs in the stock.
    lead_days : int
        Calendar days from order to site.
    """

    packs: float
    lead_days: int


@dataclass(frozen=True, slots=True)
class Yield:
    """Metres per pack.

    Parameters
    ----------
    prior, posterior : LogNormal
    data : LogStats
    cured : GammaRate
        Packs lost overnight per crew-day.
    """

    prior: LogNormal
    data: LogStats
    posterior: LogNormal
    cured: GammaRate

    def to_json(self) -> dict[str, Any]:
        """Give prior, data and posterior apart."""
        return {
            "prior_m_per_pack": self.prior.to_json(),
            "observations": self.data.n,
            "data_m_per_pack": math.exp(self.data.mean_log) if self.data.n else None,
            "m_per_pack": self.posterior.to_json(),
            "cured_packs_per_day": self.cured.to_json(),
        }


@dataclass(frozen=True, slots=True)
class Forecast:
    """What the rest will take.

    Parameters
    ----------
    packs_p50, packs_p90 : int
        Packs to finish, whole.
    short_p50, short_p90 : int
        Packs to order beyond the stock.
    out_p50, out_p10 : date or None
        Day on which the stock runs out: as likely as not, and with one chance in ten already by then; None where it lasts.
    reorder : date or None
        Last day to order so that even the one-in-ten case is served.
    """

    packs_p50: int
    packs_p90: int
    short_p50: int
    short_p90: int
    out_p50: date | None
    out_p10: date | None
    reorder: date | None

    def to_json(self) -> dict[str, Any]:
        """Give packs and days."""
        days = {"runs_out": self.out_p50, "may_run_out": self.out_p10, "reorder_by": self.reorder}
        return {
            "packs_to_finish": {"p50": self.packs_p50, "p90": self.packs_p90},
            "packs_to_order": {"p50": self.short_p50, "p90": self.short_p90},
            **{key: None if day is None else day.isoformat() for key, day in days.items()},
        }


@dataclass(frozen=True, slots=True)
class OverUse:
    """Material beyond the aim, so far.

    Parameters
    ----------
    needed, used : float
        [m3]; `used` without cured packs.
    money : float
        Of the excess film; negative where less than the aim was used.
    cured_money : float
        Of packs cured overnight.
    """

    needed: float
    used: float
    money: float
    cured_money: float

    def to_json(self) -> dict[str, Any]:
        """Give litres and money."""
        return {
            "needed_l": self.needed * 1e3,
            "used_l": self.used * 1e3,
            "over_share": self.used / self.needed - 1.0,
            "money": self.money,
            "cured_money": self.cured_money,
        }


def learn_yield(days: Sequence[UseDay], planned: float) -> Yield:
    """Learn metres per pack from what was logged.

    Parameters
    ----------
    days : sequence of UseDay
    planned : float
        Metres per pack in the plan; the prior, worth one crew-day.

    Returns
    -------
    Yield

    Examples
    --------
    >>> found = learn_yield([UseDay(date(2024, 5, 1), 60, 10), UseDay(date(2024, 5, 2), 66, 10)], planned=10)
    >>> 6.3 < found.posterior.median < 10
    True
    """
    prior = LogNormal.prior(planned, gsd=YIELD_GSD.value)
    data = LogStats.of([day.metres / day.packs for day in days])
    cured = GammaRate(1.0, 1.0 / CURED_PER_DAY.value).update(sum(day.cured for day in days), len(days))
    return Yield(prior, data, prior.update(data), cured)


def forecast(learned: Yield, plan: Sequence[tuple[date, float]], stock: Stock) -> Forecast:
    """Forecast packs to finish and the day the stock runs out.

    Parameters
    ----------
    learned : Yield
    plan : sequence of (date, float)
        Metres on each day still to come, in order of days.
    stock : Stock

    Returns
    -------
    Forecast
        By 20 000 draws with a fixed seed: a long-run yield per draw, a day's own yield on top, packs lost overnight.

    Raises
    ------
    QuantityError
        Days out of order, lengths at or below zero.

    Examples
    --------
    >>> learned = learn_yield([UseDay(date(2024, 5, d), 60, 10) for d in range(1, 11)], planned=6)
    >>> plan = [(date(2024, 5, 20 + d), 60.0) for d in range(4)]
    >>> found = forecast(learned, plan, Stock(25, 3))
    >>> found.packs_p50 <= found.packs_p90, found.out_p50
    (True, datetime.date(2024, 5, 22))
    """
    days = [day for day, _ in plan]
    if not plan or days != sorted(set(days)) or any(not metres > 0 for _, metres in plan):
        raise QuantityError("the rest of the plan needs days in order, each once, with metres above 0")
    rng = np.random.default_rng(_SEED)
    metres = np.array([length for _, length in plan])
    spread = learned.posterior.draw(rng, WORLDS, len(plan))
    lost_rate = rng.gamma(learned.cured.shape, 1.0 / learned.cured.rate, (WORLDS, 1))
    used = np.cumsum(metres / spread + rng.poisson(lost_rate, (WORLDS, len(plan))), axis=1)
    total = np.quantile(used[:, -1], [0.5, 0.9])
    short = [max(0, math.ceil(float(packs) - stock.packs - 1e-9)) for packs in total]
    out_half, out_tenth = (_runs_out(used > stock.packs, days, chance) for chance in (0.5, 0.1))
    reorder = None if out_tenth is None else out_tenth - timedelta(days=stock.lead_days)
    p50, p90 = (math.ceil(float(packs) - 1e-9) for packs in total)
    return Forecast(p50, p90, short[0], short[1], out_half, out_tenth, reorder)


def over_use(days: Sequence[UseDay], target: Target, *, pack_volume: float, pack_money: float) -> OverUse:
    """Give what was laid beyond the aim and what it cost.

    Parameters
    ----------
    days : sequence of UseDay
    target : Target
        Width of the sheet, wet film aimed at, and gap.
    pack_volume : float
        [m3]
    pack_money : float
        Price of a pack.

    Returns
    -------
    OverUse

    Examples
    --------
    >>> found = over_use([UseDay(date(2024, 5, 1), 100, 20)], Target(0.1, 1e-3), pack_volume=6e-4, pack_money=12)
    >>> round(found.needed * 1e3, 6), round(found.used * 1e3, 6), round(found.money, 6)
    (10.0, 12.0, 40.0)
    """
    if not days:
        raise QuantityError("no day of use is logged yet: nothing to compare with the plan")
    needed = target.section * sum(day.metres for day in days)
    used = pack_volume * sum(day.packs for day in days)
    cured = sum(day.cured for day in days)
    return OverUse(needed, used, (used - needed) / pack_volume * pack_money, cured * pack_money)


def _runs_out(out: np.ndarray[Any, np.dtype[np.bool_]], days: Sequence[date], chance: float) -> date | None:
    share = out.mean(axis=0)
    late = np.flatnonzero(share >= chance)
    return days[int(late[0])] if len(late) else None
