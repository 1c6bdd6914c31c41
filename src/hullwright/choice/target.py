"""Target mode: least money so that the simulated ACH50 keeps its target with the asked confidence.

The solver keeps a mean leakage area; the simulation says how far the asked quantile lies above the mean. The limit on the
mean is moved until the quantile just keeps the target, and the plan is confirmed with fresh draws.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from hullwright.choice.house import Whole
from hullwright.choice.instance import Answer, Goal, Limits
from hullwright.choice.simulate import SEED, Drawn, Spreads, chance_error, draw
from hullwright.choice.table import Choice
from hullwright.errors import InfeasibleError, Problem, Where

Solve = Callable[[Limits, Goal], Answer]
_ROUNDS = 7
_CLOSE = 0.01
_HAIR = 1e-6
_CHEAP = Goal(1.0, 0.0, money=True)


@dataclass(frozen=True, slots=True)
class Aimed:
    """What target mode is asked for.

    Parameters
    ----------
    ach50 : float
        Target [1/h].
    confidence : float
        Share of draws that must keep it.
    draws : int
    spreads : Spreads
    """

    ach50: float
    confidence: float
    draws: int
    spreads: Spreads


@dataclass(frozen=True, slots=True)
class Confirmed:
    """How a target is kept.

    Parameters
    ----------
    target, confidence : float
        As asked.
    mean_limit : float
        Limit on the mean leakage area that the solver kept [cm2]: the surrogate.
    margin : float
        Room of the target [cm2] less that limit.
    share : float
        Share of fresh draws that keep the target.
    error : float
        Half width of its 95 % interval from the finite number of draws.
    rounds : int
        Times the limit was moved.
    """

    target: float
    confidence: float
    mean_limit: float
    margin: float
    share: float
    error: float
    rounds: int

    @property
    def text(self) -> str:
        """Say it."""
        kept = f"{self.share:.1%} ± {self.error:.1%} of fresh draws keep ACH50 {self.target:g} (asked: {self.confidence:.0%})"
        if not self.rounds:
            return f"{kept}; it asks for nothing more than the other limits do."
        return (
            f"{kept}; searched with a limit on the mean leakage of the layer: {self.mean_limit:.1f} cm2, "
            f"{self.margin:.1f} cm2 below what the target leaves."
        )

    def to_json(self) -> dict[str, Any]:
        """Confirmation as JSON."""
        return {
            "target_ach50": self.target,
            "confidence": self.confidence,
            "mean_limit_cm2": self.mean_limit,
            "margin_cm2": self.margin,
            "share_of_draws": self.share,
            "monte_carlo_error": self.error,
            "rounds": self.rounds,
            "text": self.text,
        }


def reach(
    choice: Choice, house: Whole, aimed: Aimed, *, limits: Limits, solve: Solve
) -> tuple[Answer, Confirmed]:
    """Find the cheapest plan that reaches a target.

    Parameters
    ----------
    choice : Choice
    house : Whole
        Inner volume and other leakage.
    aimed : Aimed
    limits : Limits
        Every other limit (hours, products, money).
    solve : callable
        Solver for limits and a goal.

    Returns
    -------
    Answer, Confirmed

    Raises
    ------
    InfeasibleError
        Where even the tightest plan does not reach it: by how much, and what is in the way.
    """
    search = _Search(choice, house, aimed, limits, solve)
    best, at, rounds = search.cheapest()
    while not search.confirms(best):
        rounds += 1
        best, at = search.tighter(at * (1 - _CLOSE))
    share = search.share(best, SEED + 1)
    room = house.room_for(aimed.ach50)
    error = chance_error(share, aimed.draws)
    return best, Confirmed(aimed.ach50, aimed.confidence, at, room - at, share, error, rounds)


class _Search:
    def __init__(self, choice: Choice, house: Whole, aimed: Aimed, limits: Limits, solve: Solve) -> None:
        self.choice = choice
        self.house = house
        self.aimed = aimed
        self.limits = limits
        self.solve = solve

    def within(self, mean: float) -> Answer:
        """Cheapest plan with at most that mean leakage area."""
        return self.solve(replace(self.limits, air=mean), _CHEAP)

    def mean(self, answer: Answer) -> float:
        return float(self.choice.instance.air[answer.pick].sum())

    def cheapest(self) -> tuple[Answer, float, int]:
        """Move the limit until the quantile just keeps the target; plan, limit, rounds."""
        answer = self.within(float("inf"))
        high = self.mean(answer)
        if self.keeps(answer):
            return answer, high, 0
        trial, low, rounds = self.scaled(answer), 0.0, 0
        best: Answer | None = None
        while rounds < _ROUNDS and high - low > _CLOSE * high:
            rounds += 1
            answer, trial = self.tighter(trial)
            if self.keeps(answer):
                best, low = answer, trial
            else:
                high = min(trial, self.mean(answer))
            trial = self.scaled(answer)
            if not low < trial < high:
                trial = (low + high) / 2
        if best is None:
            best, low = self.tighter(0.0)
        return best, low, rounds

    def tighter(self, mean: float) -> tuple[Answer, float]:
        """Cheapest plan within a mean and the limit that was kept; where there is none, the tightest plan of all."""
        try:
            return self.within(mean), mean
        except InfeasibleError:
            least = self.mean(self.solve(replace(self.limits, air=float("inf")), Goal(1.0, 0.0)))
            tightest = self.within(least * (1 + _HAIR))
            if not (self.keeps(tightest) and self.confirms(tightest)):
                raise _out_of_reach(self, tightest) from None
            return tightest, least * (1 + _HAIR)

    def scaled(self, answer: Answer) -> float:
        """Limit at which the quantile would just keep the target, were it to go with the mean [cm2]."""
        reached = float(np.quantile(self.ach50(answer, SEED), self.aimed.confidence))
        room, used = self.house.room_for(self.aimed.ach50), self.house.room_for(reached)
        return self.mean(answer) * max(room, 0.0) / used

    def drawn(self, answer: Answer, seed: int) -> Drawn:
        terms = self.choice.terms.take(answer.pick)
        other = [mean for _, mean in self.house.other]
        return draw(terms, other=other, draws=self.aimed.draws, seed=seed, spreads=self.aimed.spreads)

    def ach50(self, answer: Answer, seed: int) -> np.ndarray[Any, np.dtype[np.float64]]:
        return self.drawn(answer, seed).ach50(self.house.volume.value, self.house.exponent)

    def share(self, answer: Answer, seed: int) -> float:
        return float((self.ach50(answer, seed) <= self.aimed.ach50).mean())

    def keeps(self, answer: Answer) -> bool:
        return self.share(answer, SEED) >= self.aimed.confidence

    def confirms(self, answer: Answer) -> bool:
        return self.share(answer, SEED + 1) >= self.aimed.confidence


def sure_ach50(choice: Choice, house: Whole, aimed: Aimed, answer: Answer) -> float:
    """Give the least target that a plan keeps with the asked confidence, in the search and when confirmed [1/h]."""
    search = _Search(choice, house, aimed, Limits(), lambda _limits, _goal: answer)
    return max(float(np.quantile(search.ach50(answer, seed), aimed.confidence)) for seed in (SEED, SEED + 1))


def _out_of_reach(search: _Search, tightest: Answer) -> InfeasibleError:
    aimed, house, choice = search.aimed, search.house, search.choice
    reached = float(np.quantile(search.ach50(tightest, SEED), aimed.confidence))
    over = reached - aimed.ach50
    parts = [(name, flow / house.volume.value) for name, flow in house.other]
    air = choice.instance.air[tightest.pick]
    bare = house.ach50(0.0)
    parts += [(run.name, house.ach50(float(a)) - bare) for run, a in zip(choice.runs, air, strict=True)]
    parts.sort(key=lambda part: (-part[1], part[0]))
    largest = "; ".join(f"{name} {share:.3f}" for name, share in parts[:5])
    problem = Problem(
        f"even the tightest allowed plan reaches ACH50 {reached:.3g} with {aimed.confidence:.0%} confidence, "
        f"{over:.2g} above the target of {aimed.ach50:g}",
        Where(key="target"),
        f"in the way, in ACH50: {largest}",
        f"{reached:.3g} or more",
        "tighter units, a lower rating of the largest part, a lower confidence, or a looser target",
    )
    return InfeasibleError("the target is out of reach", [problem])
