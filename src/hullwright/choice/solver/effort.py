"""How much work is put in, counted and not timed: the same question gets the same answer on every machine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

# Called with (value, bound, work); answers whether to go on.
Progress = Callable[[float, float, int], bool]


@dataclass(frozen=True, slots=True)
class Effort:
    """Counted work.

    Parameters
    ----------
    nodes : int
        Most nodes of the own tree.
    beams : int
        Most beam searches for plans.
    mip_nodes : int
        Most nodes of the general solver.
    gap : float
        Stop where (value - bound) ÷ value is at most this.
    seconds : float
        Clock limit of the general solver; inf leaves the answer to counted work alone.
    """

    nodes: int = 400
    beams: int = 40
    mip_nodes: int = 200_000
    gap: float = 1e-4
    seconds: float = float("inf")


QUICK = Effort(nodes=40, beams=6, mip_nodes=1, gap=1e-3)
NORMAL = Effort()
CURVE = Effort(nodes=60, beams=10, mip_nodes=1, gap=1e-2)
THOROUGH = Effort(nodes=4000, beams=300)

LEVELS = {"quick": QUICK, "normal": NORMAL, "thorough": THOROUGH}


def effort_of(effort: Effort | str) -> Effort:
    """Give the effort of a name ('quick', 'normal', 'thorough') or the effort itself.

    Raises
    ------
    KeyError
        Where there is no such name.
    """
    return effort if isinstance(effort, Effort) else LEVELS[effort]
