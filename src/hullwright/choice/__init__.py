"""Which options are allowed on each run and why; the best plan for a budget or a target; the curve between."""

from __future__ import annotations

from hullwright.choice.making import Settings, ask, make, make_curve
from hullwright.choice.plan import Curve, Plan, RunPlan

__all__ = ["Curve", "Plan", "RunPlan", "Settings", "ask", "make", "make_curve"]
