"""Why a plan is as it is: the price of money, the next best of each run, and what would flip it.

With h the harm of an option (weighted air and water) and m its money (labour and packs in fractions), each run looks for
the least of h + λ·m, λ the harm that one unit of money takes off elsewhere. The harm of any plan is then
L + Σ regret + λ·(idle money), L the sum of those least values less λ·budget: what a run loses against its own best is its
regret.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hullwright.catalog import Catalog
from hullwright.choice.forecast import by_run, changed
from hullwright.choice.instance import Goal
from hullwright.choice.table import Choice
from hullwright.units import Show

Floats = NDArray[np.float64]
_STEPS = 60
_NEAR = 0.02


@dataclass(frozen=True, slots=True)
class Flip:
    """A figure that would turn a choice, and the value at which it does.

    Parameters
    ----------
    key : str
        Key of the figure, or ``price.`` and the product.
    now, at : float
        Value now and value at the turn.
    """

    key: str
    now: float
    at: float


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a run got its option.

    Parameters
    ----------
    best : int or None
        Row of the next best option (of another method, where one is allowed), None where there is no other.
    money, air, water : float
        What the next best would cost more [money], leak more [cm2] and let in more at the whole house, summed along the
        drainage paths [L]; below 0: less.
    regret : float
        What the option loses against the best of the run by itself, in harm.
    flip : Flip or None
    """

    best: int | None
    money: float
    air: float
    water: float
    regret: float
    flip: Flip | None


class Weighing:
    """Options of a choice on one scale.

    Parameters
    ----------
    choice : Choice
    goal : Goal
        Weights of air and water.
    pick : ndarray (R,)
        The plan.
    """

    def __init__(self, choice: Choice, goal: Goal, pick: NDArray[np.int64]) -> None:
        instance = choice.instance
        self.choice = choice
        self.pick = pick
        self.goal = goal
        self.harm: Floats = goal.air_weight * instance.air + goal.water_weight * instance.water
        self.money: Floats = instance.labour + instance.use @ instance.price
        # A coat's money lies with its face, so its rows say nothing by themselves.
        self.open = instance.coat < 0
        self.first = instance.first
        self.rate = self._rate()
        self.score: Floats = np.where(self.open, self.harm + self.rate * self.money, np.inf)

    def _rate(self) -> float:
        """Least λ at which the runs' own best take no more money than the plan does."""
        taken = self.open[self.pick]
        limit = float(self.money[self.pick][taken].sum()) * (1 + 1e-9)
        if self._spent(0.0, taken) <= limit:
            return 0.0
        low, high = 0.0, 1e-9
        while self._spent(high, taken) > limit and high < 1e6:
            low, high = high, high * 8
        for _ in range(_STEPS):
            middle = (low + high) / 2
            low, high = (middle, high) if self._spent(middle, taken) > limit else (low, middle)
        return high

    def _spent(self, rate: float, taken: NDArray[np.bool_]) -> float:
        score = np.where(self.open, self.harm + rate * self.money, np.inf)
        least = np.minimum.reduceat(score, self.first[:-1])
        hit = score <= np.repeat(least, np.diff(self.first))
        money = np.minimum.reduceat(np.where(hit, self.money, np.inf), self.first[:-1])
        return float(money[taken].sum())

    def reason(self, run: int, catalog: Catalog) -> Reason:
        """Reason of one run."""
        return self._reasons([run], catalog)[0]

    def reasons(self, catalog: Catalog) -> list[Reason]:
        """Reasons of all runs."""
        return self._reasons(list(range(len(self.pick))), catalog)

    def _reasons(self, runs: list[int], catalog: Catalog) -> list[Reason]:
        best = [self._next_best(run) for run in runs]
        rows = [row for row in best if row is not None]
        rain = iter((changed(self.choice, self.pick, rows) - by_run(self.choice, self.pick).sum()).tolist())
        return [
            Reason(None, 0.0, 0.0, 0.0, 0.0, None)
            if row is None
            else self._reason(run, row, next(rain), catalog)
            for run, row in zip(runs, best, strict=True)
        ]

    def _next_best(self, run: int) -> int | None:
        rows = np.arange(self.first[run], self.first[run + 1])
        chosen = int(self.pick[run])
        others = rows[(rows != chosen) & self.open[rows]]
        if not len(others) or not self.open[chosen]:
            return None
        # Another method says more than another make of the same.
        method = self.choice.options[chosen].method
        apart = [row for row in others.tolist() if self.choice.options[row].method != method]
        others = np.array(apart) if apart else others
        return int(others[np.argmin(self.score[others])])

    def _reason(self, run: int, best: int, rain: float, catalog: Catalog) -> Reason:
        instance, chosen = self.choice.instance, int(self.pick[run])
        regret = max(0.0, float(self.score[chosen] - self.score[best]))
        return Reason(
            best,
            float(self.money[best] - self.money[chosen]),
            float(instance.air[best] - instance.air[chosen]),
            rain,
            regret,
            None if regret > 0 else self.flip(run, chosen, best, catalog),
        )

    def flip(self, run: int, chosen: int, best: int, catalog: Catalog) -> Flip | None:
        """Find the figure that turns the choice with the least change."""
        found: list[tuple[float, Flip]] = []
        lead = float(self.score[best] - self.score[chosen])
        ways = ((chosen, lead), (best, -lead))
        one, other = self.choice.options[chosen], self.choice.options[best]
        for row, change in ways:
            option = self.choice.options[row]
            if one.method != other.method:
                found += _turn(
                    self._flaw_key(run, option.method, catalog), self._flaw_harm(row), change, catalog
                )
            if option.product and one.product != other.product:
                column = self.choice.products.index(option.product)
                instance = self.choice.instance
                weight = self.rate * float(instance.use[row, column] * instance.price[column])
                found += _turn(f"price.{option.product}", weight, change, catalog)
        return min(found, key=lambda entry: entry[0])[1] if found else None

    def _flaw_key(self, run: int, method: str, catalog: Catalog) -> str:
        kind = self.choice.runs[run].kind
        return f"each.{method}.{catalog.kinds[kind.value].row}" if kind.piece else f"flaws.{method}"

    def _flaw_harm(self, row: int) -> float:
        terms = self.choice.terms
        air = float(terms.number[row] * terms.hole[row])
        water = float(terms.number[row] * terms.flaw_water[row])
        return self.goal.air_weight * air + self.goal.water_weight * water

    def identity(self, budget: float, spent: float) -> dict[str, float]:
        """What the plan loses: run by run, and in money that lies idle."""
        least = np.minimum.reduceat(self.score, self.first[:-1])
        mine = self.score[self.pick]
        taken = self.open[self.pick]
        idle = max(0.0, budget - spent) if math.isfinite(budget) else 0.0
        return {
            "harm_per_money": self.rate,
            "regrets": float((mine[taken] - least[taken]).sum()),
            "idle_money": idle,
            "idle_harm": self.rate * idle,
        }


def _turn(key: str, weight: float, change: float, catalog: Catalog) -> list[tuple[float, Flip]]:
    """Scale a figure of that weight so that its option's score moves by `change`."""
    if weight <= 0 or not key:
        return []
    scale = 1 + change / weight
    if scale <= 0:
        return []
    now = catalog.products[key[6:]].price if key.startswith("price.") else catalog.find(key)
    if not now:
        return []
    return [(abs(math.log(scale)), Flip(key, now, now * scale))]


@dataclass(frozen=True, slots=True)
class Reader:
    """Who a reason is said to.

    Parameters
    ----------
    show : Show
        Units.
    currency : str
    target : bool
        The plan is the cheapest that keeps its limits, not the best for a budget.
    """

    show: Show
    currency: str
    target: bool = False


def words(reason: Reason, choice: Choice, catalog: Catalog, reader: Reader) -> str:
    """Say a reason.

    Parameters
    ----------
    reason : Reason
    choice : Choice
    catalog : Catalog
    reader : Reader

    Returns
    -------
    str
        One to three sentences.
    """
    if reason.best is None:
        return "No other way is allowed here."
    option = choice.options[reason.best]
    made_of = catalog.called(option.product) if option.product else ""
    other = (
        option.label(catalog).replace(f": {made_of}", f" ({made_of})") if made_of else option.label(catalog)
    )
    text = f"Next best is {other}: {_compare(reason, reader)}"
    return text + _flip_words(reason.flip, catalog, reader.currency)


def amount(show: Show, air: float, water: float) -> str:
    """Say a leakage area [cm2] and an amount of water [L]; what would print as nought is called hardly any."""
    leak, wet = show.hole(air * 1e-4), show.water(water)
    leak = "hardly any leakage" if _nought(leak) else f"{leak} of leakage"
    return f"{leak} and {'hardly any water' if _nought(wet) else f'{wet} of water'}"


def _nought(text: str) -> bool:
    return float(text.split(maxsplit=1)[0].replace(",", "")) == 0.0


_SAME = "the same money"


def _compare(reason: Reason, reader: Reader) -> str:
    """Say what the next best would change: money first, then leakage and water where they print as more than nought."""
    sum_of_money = f"{abs(reason.money):,.0f}"
    money = _SAME
    if sum_of_money != "0":
        money = f"{sum_of_money} {reader.currency} {'less' if reason.money < 0 else 'more'}"
    parts = (
        (reason.air, reader.show.hole(abs(reason.air) * 1e-4), "leakage"),
        (reason.water, reader.show.water(abs(reason.water)), "water"),
    )
    told = [
        (change, f"{text} {'more' if change > 0 else 'less'} {what}")
        for change, text, what in parts
        if not _nought(text)
    ]
    worse = [text for change, text in told if change > 0]
    better = [text for change, text in told if change < 0]
    dearer = reason.money > 0 and sum_of_money != "0"
    if worse and better:
        effect = f", {worse[0]}, {better[0]}."
    elif worse:
        joined = " and ".join(worse)
        effect = f", {joined}." if dearer or money == _SAME else f", but {joined}."
    elif better:
        effect = f" for {' and '.join(better)}."
    else:
        effect = ", with leakage and water as good as the same."
    return money + effect + _tipped(reason, reader, spare=dearer and bool(better) and not worse)


def _tipped(reason: Reason, reader: Reader, *, spare: bool) -> str:
    """Say why the next best was not taken, where its own figures don't."""
    if reason.regret > 0:
        return " For this joint alone it would be the better buy; packs that are open anyway, set-ups or a limit tip it."
    if not spare:
        return ""
    return " The target is kept without it." if reader.target else " That money does more elsewhere."


def _flip_words(flip: Flip | None, catalog: Catalog, currency: str) -> str:
    if flip is None:
        return ""
    group, _, rest = flip.key.partition(".")
    if group == "price":
        name, unit, scale = f"the price of {catalog.products[rest].name}", f" {currency} a pack", 1.0
    elif group == "each":
        method, _, row = rest.partition(".")
        name, unit, scale = f"flaws of {catalog.methods[method].name} ({row})", " each", 1.0
    else:
        name, unit, scale = f"flaws of {catalog.methods[rest].name} on a flat seam", " per 100 m", 100.0
    turn = "rise" if flip.at > flip.now else "fall"
    turn += "s" if group == "price" else ""
    if abs(flip.at - flip.now) < _NEAR * flip.now:
        return f" It is a near tie: {name} ({flip.now * scale:.3g}{unit}) decides it."
    return f" It flips where {name} {turn} from {flip.now * scale:.3g} to {flip.at * scale:.3g}{unit}."
