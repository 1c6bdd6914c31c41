"""What a plan is expected to give: leakage and rain that gets in, drawn, always with the same draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hullwright.catalog import Catalog
from hullwright.choice.house import Whole
from hullwright.choice.instance import Goal
from hullwright.choice.simulate import RAIN_DRAWS, SEED, Drawn, Spreads, draw
from hullwright.choice.table import Choice

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def spreads(catalog: Catalog) -> Spreads:
    """Spreads of the simulation."""
    return Spreads(*(catalog.value(f"factor.{name}_gsd") for name in ("house", "run", "other")))


@dataclass(frozen=True, slots=True)
class Forecast:
    """How plans of one choice are drawn.

    Parameters
    ----------
    choice : Choice
    house : Whole
    spreads : Spreads
    draws, seed : int
    """

    choice: Choice
    house: Whole
    spreads: Spreads
    draws: int
    seed: int = SEED

    def drawn(self, pick: Ints) -> Drawn:
        """Draw leakage and rain of a plan (R,)."""
        terms = self.choice.terms.take(pick)
        other = [mean for _, mean in self.house.other]
        return draw(
            terms, self.choice.drainage, other, draws=self.draws, seed=self.seed, spreads=self.spreads
        )

    def rain(self, pick: Ints) -> float:
        """Rain that gets in while the hull is bare, the middle of what is drawn [L]: the figure that is printed."""
        terms = self.choice.terms.take(pick)
        draws = min(self.draws, RAIN_DRAWS)
        found = draw(terms, self.choice.drainage, draws=draws, seed=self.seed, spreads=self.spreads)
        return float(np.median(found.water))


def by_run(choice: Choice, pick: Ints) -> Floats:
    """Rain that gets in at each run of a plan, at the expected number of flaws (R,) [L]."""
    return choice.drainage.entered(choice.terms.take(pick))[0]


def changed(choice: Choice, pick: Ints, rows: Sequence[int]) -> Floats:
    """Rain that gets in at the whole house where one run takes another option, for each by itself (V,) [L]."""
    others = [(int(choice.run_of[row]), choice.terms.take(np.array([row]))) for row in rows]
    return choice.drainage.changed(choice.terms.take(pick), others)


def harm(choice: Choice, goal: Goal, pick: Ints) -> float:
    """Weighted leakage and rain of a plan, the rain summed along the paths."""
    air = float(choice.instance.air[pick].sum())
    return goal.air_weight * air + goal.water_weight * float(by_run(choice, pick).sum())
