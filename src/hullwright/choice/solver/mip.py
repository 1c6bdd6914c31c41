"""The general MIP solver behind the choice: exact, slow on large houses, a proof on small ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from hullwright.choice.instance import Goal, Instance, Ints, Limits
from hullwright.choice.solver.effort import Effort, Progress
from hullwright.choice.solver.enumerate import allowed
from hullwright.choice.solver.ledger import Bill, bill
from hullwright.choice.solver.mip_model import Model, build, start_columns

_TIGHT = 1e-7  # absolute tolerance of whole numbers and of rows
_SEED = 1


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the general solver came back with.

    Parameters
    ----------
    plan : Bill or None
        Its best plan.
    bound : float
        Proven lower bound on what was made small; inf where there is no plan at all.
    nodes : int
        Nodes of its tree.
    """

    plan: Bill | None
    bound: float
    nodes: int


@dataclass(frozen=True, slots=True)
class Start:
    """What the general solver is told beforehand: a plan, and how often it is to be asked to go on."""

    plan: Bill | None = None
    progress: Progress | None = None


def solve_mip(
    instance: Instance,
    limits: Limits,
    goal: Goal,
    *,
    effort: Effort,
    start: Start | None = None,
    aim: str = "value",
) -> Outcome:
    """Solve the exact model.

    Parameters
    ----------
    instance, limits, goal : Instance, Limits, Goal
        The question.
    effort : Effort
        Node limit, gap and clock limit.
    start : Start or None
        Known plan and progress callback.
    aim : str
        What is made small (see :data:`hullwright.choice.solver.mip_model.AIMS`).

    Returns
    -------
    Outcome
        Plan and bound.
    """
    told = start or Start()
    if instance.runs == 0:
        return _empty(instance, limits, goal)
    model = build(instance, limits, goal, aim)
    solver = _load(model, effort)
    if told.plan is not None:
        _warm(solver, start_columns(instance, model.columns, told.plan))
    if told.progress is not None:
        _listen(solver, told.progress)
    solver.run()
    return _read(solver, instance, limits)


def _empty(instance: Instance, limits: Limits, goal: Goal) -> Outcome:
    plan = bill(instance, np.zeros(0, dtype=np.int64))
    ok = allowed(instance, limits, plan)
    return Outcome(plan if ok else None, plan.value(goal) if ok else float("inf"), 0)


def _load(model: Model, effort: Effort) -> Any:
    import highspy  # noqa: PLC0415 - heavy; only where it is asked for

    lp = highspy.HighsLp()
    order = np.argsort(model.row, kind="stable")
    lp.num_col_, lp.num_row_ = len(model.cost), len(model.low)
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = model.cost, np.zeros(len(model.cost)), model.upper
    lp.row_lower_, lp.row_upper_ = model.low, model.high
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    counts = np.bincount(model.row, minlength=len(model.low))
    lp.a_matrix_.start_ = np.concatenate([[0], np.cumsum(counts)]).astype(np.int32)
    lp.a_matrix_.index_ = model.col[order].astype(np.int32)
    lp.a_matrix_.value_ = model.val[order]
    lp.integrality_ = [highspy.HighsVarType.kInteger] * len(model.cost)
    solver = _quiet(highspy.Highs)
    options = {
        "output_flag": False,
        "threads": 1,
        "random_seed": _SEED,
        "mip_rel_gap": effort.gap,
        "mip_abs_gap": 0.0,
        "mip_max_nodes": effort.mip_nodes,
        "time_limit": effort.seconds,
        "mip_feasibility_tolerance": _TIGHT,
        "primal_feasibility_tolerance": _TIGHT,
    }
    for name, value in options.items():
        solver.setOptionValue(name, value)
    solver.passModel(lp)
    return solver


def _quiet(kind: Any) -> Any:
    """Make a solver that never writes to the screen (the library greets while it is being built)."""

    class Quiet(kind):  # type: ignore[misc]
        def enableCallbacks(self) -> Any:  # noqa: N802 - the library's name
            self.setOptionValue("output_flag", False)  # noqa: FBT003 - the library's signature
            return super().enableCallbacks()

    return Quiet()


def _warm(solver: Any, values: Any) -> None:
    import highspy  # noqa: PLC0415 - heavy; only where it is asked for

    solution = highspy.HighsSolution()
    solution.col_value = list(values)
    solution.value_valid = True
    solver.setSolution(solution)


def _listen(solver: Any, progress: Progress) -> None:
    def ask(event: Any) -> None:
        out = event.data_out
        if not progress(float(out.mip_primal_bound), float(out.mip_dual_bound), int(out.mip_node_count)):
            event.interrupt()

    solver.cbMipInterrupt.subscribe(ask)


def _read(solver: Any, instance: Instance, limits: Limits) -> Outcome:
    import highspy  # noqa: PLC0415 - heavy; only where it is asked for

    if solver.getModelStatus() in (
        highspy.HighsModelStatus.kInfeasible,
        highspy.HighsModelStatus.kUnboundedOrInfeasible,
    ):
        return Outcome(None, float("inf"), 0)
    info = solver.getInfo()
    bound, nodes = float(info.mip_dual_bound), int(max(info.mip_node_count, 0))
    solution = solver.getSolution()
    if not solution.value_valid:
        return Outcome(None, bound, nodes)
    plan = bill(instance, _picked(np.array(solution.col_value[: instance.options]), instance))
    return Outcome(plan if allowed(instance, limits, plan) else None, bound, nodes)


def _picked(x: Any, instance: Instance) -> Ints:
    """Option row with the largest share in each run."""
    top = np.maximum.reduceat(x, instance.first[:-1])
    runs = np.repeat(np.arange(instance.runs), np.diff(instance.first))
    best = np.flatnonzero(x >= top[runs])
    keep = np.concatenate([[True], np.diff(runs[best]) > 0])
    rows: Ints = best[keep].astype(np.int64)
    return rows
