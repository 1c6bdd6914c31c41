"""Holding the limit on rain that the file states: on the figure that is printed.

The solver holds a limit on the sum of the runs, each as if nothing were lost above it and at the expected number of flaws. What is
printed, and what the stated limit is on, is the middle of the forecast along the drainage paths. The solver's limit is moved until
the plan's own middle keeps what is stated.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

from hullwright.choice.forecast import Forecast
from hullwright.choice.instance import Answer, Goal, Limits
from hullwright.choice.solver.infeasible import ShortError, Shortfall, worded
from hullwright.choice.solver.ledger import bill, within

Ask = Callable[[Limits, Goal, Answer | None], Answer]
_ROUNDS: Final = 6
_CLOSE: Final = 0.02
_DRIEST: Final = Goal(0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Dry:
    """A stated limit on the rain that gets in.

    Parameters
    ----------
    forecast : Forecast
    limit : float
        Most rain, in the middle of the forecast [L].
    ask : callable
        The solver: limits, goal and a plan to start from.
    """

    forecast: Forecast
    limit: float
    ask: Ask

    def solve(self, limits: Limits, goal: Goal, start: Answer | None) -> Answer:
        """Give the best plan whose forecast keeps the limit.

        Its bound is that of the question without the limit on rain, which no plan with it can beat.

        Raises
        ------
        InfeasibleError
            Where none keeps it: by how much.
        """
        free = self.ask(limits, goal, start)
        if within(self.forecast.rain(free.pick), self.limit):
            return free
        driest = self._driest(limits)
        low, high = self._sum(driest), self._sum(free)
        best, trial = self._at(driest, goal), self._scaled(free)
        for _ in range(_ROUNDS):
            if high - low <= _CLOSE * high:
                break
            if not low < trial < high:
                trial = (low + high) / 2
            found = self.ask(replace(limits, water=trial), goal, driest)
            if within(self.forecast.rain(found.pick), self.limit):
                best, low = found, trial
            else:
                high = trial
            trial = self._scaled(found)
        return replace(best, bound=min(free.bound, best.value))

    def _driest(self, limits: Limits) -> Answer:
        driest = self.ask(limits, _DRIEST, None)
        rain = self.forecast.rain(driest.pick)
        if not within(rain, self.limit):
            short = Shortfall("water", self.limit, rain)
            raise ShortError("no allowed plan", [worded(short)], [short])
        return driest

    def _at(self, answer: Answer, goal: Goal) -> Answer:
        """The same plan, valued by another goal."""
        instance = self.forecast.choice.instance
        return bill(instance, answer.pick).answer(goal, -math.inf, answer.work)

    def _scaled(self, answer: Answer) -> float:
        """Limit on the sum at which the middle would just keep what is stated, were it to go with the sum [L]."""
        rain = self.forecast.rain(answer.pick)
        return self._sum(answer) * self.limit / rain if rain > 0 else math.inf

    def _sum(self, answer: Answer) -> float:
        return float(self.forecast.choice.instance.water[answer.pick].sum())
