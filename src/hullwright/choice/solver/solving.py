"""The front door: one question, one plan with its proof, checked before it is handed over.

A search by figures can be led astray by rounding. So nothing of it is taken on trust: whatever fails in the own engine, or
does not add up in what it hands over, is kept as a case and the general solver answers in its place.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, Literal

from hullwright.choice.instance import Answer, Goal, Instance, Limits
from hullwright.choice.solver.case import Case, Keep, keep_none
from hullwright.choice.solver.check import check
from hullwright.choice.solver.effort import Effort, Progress, effort_of
from hullwright.choice.solver.enumerate import allowed
from hullwright.choice.solver.infeasible import why_infeasible
from hullwright.choice.solver.ledger import Bill, bill
from hullwright.choice.solver.mip import Outcome, Start, solve_mip
from hullwright.choice.solver.own.engine import solve_own
from hullwright.errors import HullwrightError, InfeasibleError, Problem

_UNSURE: Final = Problem(
    "it is not proved that there is none",
    hint="raise the effort, or loosen the tightest limit",
)
# Where the own engine found no plan, or failed, the general solver is asked, so long and no longer.
_RESCUE_NODES, _RESCUE_SECONDS = 2000, 60.0
# A bound may be above a plan by this share of it: the tolerance of the general solver.
_ABOVE: Final = 1e-6
_NOTHING: Final = Outcome(None, -math.inf, 0)

Engine = Literal["own", "mip", "both"]


def solve(
    instance: Instance,
    limits: Limits,
    goal: Goal,
    *,
    effort: Effort | str = "normal",
    engine: Engine = "own",
    start: Answer | None = None,
    progress: Progress | None = None,
    keep: Keep = keep_none,
) -> Answer:
    """Find the best plan and prove how good it is.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question.
    effort : Effort or {'quick', 'normal', 'thorough'}
        Counted work.
    engine : {'own', 'mip', 'both'}
        The own engine, the general MIP solver, or the latter started from the plan of the former.
    start : Answer or None
        A plan at hand; used where it is allowed.
    progress : callable or None
        Called with (value, bound, work) now and then; answers whether to go on. What it raises goes on to the caller.
    keep : callable
        Told each case in which a search failed a check; another has answered then.

    Returns
    -------
    Answer
        Plan, value and proven bound; the plan adds up and keeps its limits.

    Raises
    ------
    InfeasibleError
        Where no plan is allowed: which limit is in the way and by how much.
    """
    asked = _Asked(instance, limits, goal, effort_of(effort), progress, keep)
    plan = asked.usable(start)
    if engine == "mip" or instance.runs == 0:
        return asked.answer([asked.general(plan, asked.effort)], plan)
    own = asked.own(plan)
    if own is None:
        return asked.answer([asked.general(plan, asked.rescue)], plan)
    outcomes, plan = [own], asked.best(own.plan, plan)
    if plan is None and own.bound < math.inf:
        plan = asked.cheapest()
        again = None if plan is None else asked.own(plan)
        if again is not None:
            outcomes, plan = [own, again], asked.best(again.plan, plan)
    bound = max(outcome.bound for outcome in outcomes)
    if plan is None:
        outcomes.append(asked.general(None, asked.rescue))
    elif engine == "both" and bound < plan.value(goal) * (1.0 - asked.effort.gap):
        outcomes.append(asked.general(plan, asked.effort))
    return asked.answer(outcomes, plan)


@dataclass(frozen=True, slots=True)
class _Asked:
    """One question, put to one solver after the other."""

    instance: Instance
    limits: Limits
    goal: Goal
    effort: Effort
    progress: Progress | None
    keep: Keep

    @property
    def rescue(self) -> Effort:
        """Work of the general solver where it answers in place of the own engine."""
        effort = self.effort
        return replace(
            effort,
            mip_nodes=max(effort.mip_nodes, _RESCUE_NODES),
            seconds=min(effort.seconds, _RESCUE_SECONDS),
        )

    def failed(self, why: str, plan: Bill | None) -> None:
        """Keep the question as a case."""
        start = None if plan is None else plan.pick
        self.keep(Case(why, self.instance, self.limits, self.goal, self.effort, start))

    def usable(self, start: Answer | None) -> Bill | None:
        """Plan at hand, where it is allowed."""
        if start is None:
            return None
        plan = bill(self.instance, start.pick)
        return plan if allowed(self.instance, self.limits, plan) else None

    def best(self, *plans: Bill | None) -> Bill | None:
        """Best of some plans."""
        there = [plan for plan in plans if plan is not None]
        return min(there, key=lambda plan: plan.value(self.goal), default=None)

    def own(self, plan: Bill | None) -> Outcome | None:
        """What the own engine finds; None where it failed a check."""

        def search(progress: Progress | None) -> Outcome:
            return solve_own(
                self.instance, self.limits, self.goal, effort=self.effort, start=plan, progress=progress
            )

        found = self._tried("own engine", search, plan)
        if found is None:
            return None
        faults = self.faults(found, plan)
        if faults:
            self.failed(f"own engine: {'; '.join(faults[:3])}", plan)
            return None
        return found

    def general(self, plan: Bill | None, effort: Effort) -> Outcome:
        """What the general solver finds; nothing where it failed."""

        def search(progress: Progress | None) -> Outcome:
            start = Start(plan, progress)
            return solve_mip(self.instance, self.limits, self.goal, effort=effort, start=start)

        found = self._tried("general solver", search, plan)
        return _NOTHING if found is None or math.isnan(found.bound) else found

    def cheapest(self) -> Bill | None:
        """Cheapest plan of all, where it keeps the limits: with a tight budget it may be the only one that is found."""
        if self.goal.money or not math.isfinite(self.limits.budget):
            return None
        lifted, least = replace(self.limits, budget=math.inf), replace(self.goal, money=True)

        def search(progress: Progress | None) -> Outcome:
            return solve_own(self.instance, lifted, least, effort=self.effort, start=None, progress=progress)

        found = self._tried("own engine, cheapest plan", search, None)
        plan = None if found is None else found.plan
        return plan if plan is not None and allowed(self.instance, self.limits, plan) else None

    def _tried(
        self, what: str, search: Callable[[Progress | None], Outcome], plan: Bill | None
    ) -> Outcome | None:
        """Search, and keep the case where the search breaks down; what the caller's own function raises is the caller's."""
        heard = None if self.progress is None else _Heard(self.progress)
        try:
            return search(heard)
        except (HullwrightError, MemoryError):
            raise
        except Exception as error:  # whatever it is, a plan can be made by other means
            if heard is not None and heard.raised is not None:
                raise
            self.failed(f"{what}: {type(error).__name__} {error}".strip(), plan)
            return None

    def faults(self, found: Outcome, known: Bill | None) -> list[str]:
        """Say all that does not add up in what a search came back with."""
        if math.isnan(found.bound):
            return ["the bound is no number"]
        faults: list[str] = []
        if found.plan is not None:
            faults = self.wrong(found.plan)
            if not faults and not allowed(self.instance, self.limits, found.plan):
                faults = ["the plan is beyond a limit by more than rounding"]
        for name, plan in (("its plan", found.plan), ("the plan at hand", known)):
            if plan is not None and self.above(found.bound, plan):
                faults.append(f"bound {found.bound!r} above {name}, {plan.value(self.goal)!r}")
        return faults

    def wrong(self, plan: Bill) -> list[str]:
        """Say all that is wrong with a plan."""
        return check(self.instance, self.limits, self.goal, plan.answer(self.goal, -math.inf, 0))

    def above(self, bound: float, plan: Bill) -> bool:
        """Whether a bound is wrong, for here is a better plan."""
        value = plan.value(self.goal)
        return bound > value + _ABOVE * max(abs(value), 1e-9)

    def answer(self, outcomes: list[Outcome], plan: Bill | None) -> Answer:
        """Best plan against best bound of all solvers."""
        best = self.best(*(outcome.plan for outcome in outcomes), plan)
        if best is None:
            if any(o.bound == math.inf for o in outcomes):
                raise why_infeasible(self.instance, self.limits, self.goal)
            raise InfeasibleError("no plan was found with the work allowed", [_UNSURE])
        sound = [o for o in outcomes if not self.above(o.bound, best)]
        if len(sound) < len(outcomes):
            self.failed("one solver's bound is above the other's plan", best)
        bound = max((o.bound for o in sound if math.isfinite(o.bound)), default=0.0)
        return best.answer(self.goal, max(bound, 0.0), sum(outcome.nodes for outcome in outcomes))


class _Heard:
    """Passes on what a search tells, and knows what the listener raised."""

    def __init__(self, progress: Progress) -> None:
        self.progress = progress
        self.raised: BaseException | None = None

    def __call__(self, value: float, bound: float, work: int) -> bool:
        try:
            return self.progress(value, bound, work)
        except BaseException as error:
            self.raised = error
            raise
