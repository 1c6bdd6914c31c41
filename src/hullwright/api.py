"""The jobs of the command line as functions: typed objects out, each with ``to_json()``.

Use them as ``hullwright.plan(…)``; this module only gathers them.
"""

from __future__ import annotations

from pathlib import Path

from hullwright.app import plan as _plan
from hullwright.app.fantest import analyse as fantest
from hullwright.app.film import film
from hullwright.app.house import Source, check, joints, load
from hullwright.app.leaks import hunt, leaks
from hullwright.app.plan import Drawn, Ordered, Planned, Wish
from hullwright.app.worthhouse import worth_of_house as worth
from hullwright.building import starter as new
from hullwright.material.order import Basis

__all__ = [
    "check",
    "curve",
    "fantest",
    "film",
    "hunt",
    "joints",
    "leaks",
    "load",
    "new",
    "order",
    "plan",
    "worth",
]


def plan(
    source: Source,
    *,
    budget: float | None = None,
    target: float | None = None,
    confidence: float | None = None,
    quick: bool = False,
    curve_points: int = 0,
) -> Planned:
    """Make the best plan of a house.

    Parameters
    ----------
    source : path or Building
    budget : float, optional
        Most money, in the file's currency.
    target : float, optional
        Air changes an hour at 50 Pa to reach for the least money [1/h].
    confidence : float, optional
        With which the target must be met.
    quick : bool
        Own search only, no waiting for the proof.
    curve_points : int
        Points of the curve to draw with it, 0 for none.

    Returns
    -------
    Planned
        With ``house``, ``plan`` and ``to_json()``.

    Raises
    ------
    InputError
        Where the input is wrong.
    InfeasibleError
        Where no allowed plan fits; says by how much.

    Examples
    --------
    >>> from hullwright.app.files import demo_file
    >>> import hullwright
    >>> planned = hullwright.plan(demo_file(), quick=True)
    >>> planned.plan.gap < 0.05
    True
    """
    return _plan.plan(source, Wish(budget, target, confidence, quick), curve_points=curve_points)


def order(source: Source | Planned, *, basis: Basis = "mean") -> Ordered:
    """Say what to buy for a plan, or for the best plan of a file.

    Parameters
    ----------
    source : path, Building or Planned
    basis : {'mean', 'p50', 'p90'}
        What the packs stand on.
    """
    return _plan.order(source if isinstance(source, Planned) else _plan.plan(source), basis=basis)


def curve(source: Source | Path, *, budget: float | None = None) -> Drawn:
    """Best result for each amount of money.

    Parameters
    ----------
    source : path or Building
    budget : float, optional
        Budget from which the next step is told.
    """
    return _plan.curve(source, Wish(budget))
