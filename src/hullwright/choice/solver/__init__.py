"""The optimiser of the choice: own engine, general MIP solver, check, enumeration and curve."""

from __future__ import annotations

from hullwright.choice.solver.case import Case, Keep, case_of, keep_none
from hullwright.choice.solver.check import check
from hullwright.choice.solver.curve import curve
from hullwright.choice.solver.effort import Effort, Progress
from hullwright.choice.solver.explain import Explanation, explain
from hullwright.choice.solver.ledger import bill
from hullwright.choice.solver.solving import Engine, solve

__all__ = [
    "Case",
    "Effort",
    "Engine",
    "Explanation",
    "Keep",
    "Progress",
    "bill",
    "case_of",
    "check",
    "curve",
    "explain",
    "keep_none",
    "solve",
]
