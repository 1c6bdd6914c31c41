"""The plan: a method for every run, what it costs, what it is expected to give, and why."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from hullwright.choice.house import Whole
from hullwright.choice.laid import Laid
from hullwright.choice.meetings import Lap
from hullwright.choice.mine import Mine
from hullwright.choice.simulate import Band
from hullwright.choice.target import Confirmed
from hullwright.evidence import Caution

_NOTHING = 0.005
"""Share of the harm below which a difference is none."""


@dataclass(frozen=True, slots=True)
class RunPlan:
    """What is done on one run.

    Parameters
    ----------
    id, kind, face, stage : str
        The run.
    method, product : str
        Keys of the catalogue; product '' where none is used.
    label : str
        Method, product and preparation in words.
    quantity : float
        Metres or pieces, as `piece` says.
    money, hours : float
        Labour and packs in fractions, set-ups apart; coats lie with their face.
    air_cm2, water_l : float
        Expected leakage area [cm2] and water [L].
    why : str
    advice : tuple of str
        What to mind.
    barred : tuple of (option, rule id, rule text)
    uses : mapping
        Product id to packs.
    prepared : tuple of str
        primer, filler, blocking, cleaning: what goes before.
    fixed : bool
        Decided by the user.
    laid : Laid
        Width, film, bead.
    name : str
        What people call the run.
    """

    id: str
    kind: str
    face: str
    stage: str
    method: str
    product: str
    label: str
    quantity: float
    piece: bool
    money: float
    hours: float
    air_cm2: float
    water_l: float
    why: str
    advice: tuple[str, ...]
    barred: tuple[tuple[str, str, str], ...]
    uses: Mapping[str, float]
    prepared: tuple[str, ...]
    fixed: bool
    laid: Laid
    name: str = ""

    def to_json(self) -> dict[str, Any]:
        """Run as JSON."""
        return {
            "id": self.id,
            "name": self.name,
            "kind": self.kind,
            "face": self.face,
            "stage": self.stage,
            "method": self.method,
            "product": self.product,
            "label": self.label,
            ("count" if self.piece else "length_m"): self.quantity,
            **self.laid.to_json(),
            "money": self.money,
            "hours": self.hours,
            "air_cm2": self.air_cm2,
            "water_l": self.water_l,
            "why": self.why,
            "advice": list(self.advice),
            "prepared": list(self.prepared),
            "fixed": self.fixed,
            "uses": dict(self.uses),
            "barred": [{"option": option, "rule": rule, "text": text} for option, rule, text in self.barred],
        }


@dataclass(frozen=True, slots=True)
class Pack:
    """Whole packs of one product.

    Parameters
    ----------
    product, name : str
    count : int
        Packs to buy.
    owned : int
        Packs taken from stock.
    use : float
        Packs used, in fractions, evening losses within.
    lost : float
        Of these, packs that cure overnight.
    money : float
    stand_in : bool
        An invented product beside the user's own.
    gap, gap_deep : float
        Packs within `use` that go into open gaps, and what those would take through the whole panel.
    """

    product: str
    name: str
    count: int
    owned: int
    use: float
    lost: float
    money: float
    stand_in: bool = False
    gap: float = 0.0
    gap_deep: float = 0.0

    def to_json(self) -> dict[str, Any]:
        """Packs as JSON."""
        return {
            "product": self.product,
            "name": self.name,
            "count": self.count,
            "from_stock": self.owned,
            "use": self.use,
            "lost_overnight": self.lost,
            "money": self.money,
            "stand_in": self.stand_in,
        }


@dataclass(frozen=True, slots=True)
class CoatPlan:
    """A face that is coated whole."""

    face: str
    product: str
    money: float
    hours: float
    use: float

    def to_json(self) -> dict[str, Any]:
        """Coat as JSON."""
        return {
            "face": self.face,
            "product": self.product,
            "money": self.money,
            "hours": self.hours,
            "use": self.use,
        }


@dataclass(frozen=True, slots=True)
class Step:
    """The next step: where the next money goes.

    Parameters
    ----------
    run, name : str
        The run: its id, and what people call it.
    before, after : str
        Options in words.
    money : float
        What it costs, whole packs counted.
    gain : float
        What it takes off the weighted harm.
    """

    run: str
    before: str
    after: str
    money: float
    gain: float
    name: str = ""

    def to_json(self) -> dict[str, Any]:
        """Step as JSON."""
        return {
            "run": self.run,
            "name": self.name,
            "from": self.before,
            "to": self.after,
            "money": self.money,
            "gain": self.gain,
        }


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """Best plan for one budget; ACH50 and water are expected values."""

    budget: float
    spent: float
    objective: float
    bound: float
    ach50: float
    water_l: float

    def to_json(self) -> dict[str, float]:
        """Point as JSON."""
        return {
            "budget": self.budget,
            "spent": self.spent,
            "objective": self.objective,
            "bound": self.bound,
            "ach50": self.ach50,
            "water_l": self.water_l,
        }


@dataclass(frozen=True, slots=True)
class Curve:
    """Best result for each amount of money, and where the next money goes from the plan at hand."""

    points: tuple[CurvePoint, ...]
    step: Step | None
    currency: str
    cautions: tuple[Caution, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """Curve as JSON."""
        return {
            "schema": {"name": "curve", "version": 1},
            "cautions": [caution.to_json() for caution in self.cautions],
            "currency": self.currency,
            "points": [point.to_json() for point in self.points],
            "next": None if self.step is None else self.step.to_json(),
        }


@dataclass(frozen=True, slots=True)
class FixedPrice:
    """What the user's own decisions cost.

    Parameters
    ----------
    objective, money : float
        By how much the objective and the money are above those of the free plan.
    free_objective, free_money : float
        Those of the free plan.
    unmet : tuple of str
        Decisions that a rule holds back, in words.
    """

    objective: float
    money: float
    free_objective: float
    free_money: float
    unmet: tuple[str, ...]

    def words(self, currency: str, *, target: bool) -> str:
        """Say it.

        Parameters
        ----------
        currency : str
        target : bool
            In target mode the goal is the money itself.

        Examples
        --------
        >>> FixedPrice(0.02, 150.0, 0.2, 4000.0, ()).words("EUR", target=False)
        'Your own decisions cost 150 EUR more and leave 10 % more leakage and water, weighted, than the plan without them.'
        """
        money = f"{abs(self.money):,.0f}"
        spent = "cost nothing"
        if money != "0":
            spent = f"cost {money} {currency} more" if self.money > 0 else f"spend {money} {currency} less"
        share = self.objective / self.free_objective if self.free_objective > 0 and not target else 0.0
        harm = "" if share < _NOTHING else f" and leave {100 * share:.0f} % more leakage and water, weighted,"
        same = " and leave the result as good" if not harm and self.money < 0 and money != "0" else ""
        if money == "0" and not harm:
            return "Your own decisions cost nothing: the plan without them is no better."
        return f"Your own decisions {spent}{harm}{same}{' as' if same else ' than'} the plan without them."

    def to_json(self) -> dict[str, Any]:
        """Price as JSON."""
        return {
            "objective": self.objective,
            "money": self.money,
            "free_objective": self.free_objective,
            "free_money": self.free_money,
            "unmet": list(self.unmet),
        }


@dataclass(frozen=True, slots=True)
class Plan:
    """A plan with its proof.

    Parameters
    ----------
    mode : str
        budget or target.
    spent, hours : float
        Money and person-hours [h].
    budget : float
        inf where none was set.
    objective, bound, gap : float
        Value of the goal (weighted harm, or money in target mode), proven bound, (value - bound) ÷ value.
    runs : tuple of RunPlan
    packs : tuple of Pack
    coats : tuple of CoatPlan
    setup_money, setup_hours : float
        Of all set-ups.
    left_over_money : float
        Money in packs that are opened and not used up.
    area_cm2 : float
        Expected leakage area of the layer [cm2].
    expected_ach50, expected_water_l : float
    ach50, water_l : Band
        Drawn.
    whole : Whole
        Inner volume, other leakage, targets.
    laps : tuple of Lap
    identity : mapping
        Price of money, regrets, idle money.
    mine : tuple of Mine
        What became of each product that the user stated.
    """

    name: str
    currency: str
    mode: str
    spent: float
    hours: float
    budget: float
    objective: float
    bound: float
    gap: float
    proved: bool
    runs: tuple[RunPlan, ...]
    packs: tuple[Pack, ...]
    coats: tuple[CoatPlan, ...]
    setup_money: float
    setup_hours: float
    left_over_money: float
    area_cm2: float
    expected_ach50: float
    expected_water_l: float
    ach50: Band
    water_l: Band
    draws: int
    whole: Whole
    weights: tuple[float, float]
    laps: tuple[Lap, ...]
    identity: Mapping[str, float]
    step: Step | None
    confirmed: Confirmed | None
    fixed: FixedPrice | None
    cautions: tuple[Caution, ...]
    estimates: tuple[str, ...] = ()
    curve: Curve | None = field(default=None)
    mine: tuple[Mine, ...] = ()

    @property
    def unverified_meetings(self) -> int:
        """Meetings of two materials of which nothing is known."""
        return sum(lap.verdict == "unknown" for lap in self.laps)

    def to_json(self) -> dict[str, Any]:
        """Plan as JSON."""
        return {
            "schema": {"name": "plan", "version": 1},
            "cautions": [caution.to_json() for caution in self.cautions],
            "name": self.name,
            "currency": self.currency,
            "mode": self.mode,
            "budget": self.budget if math.isfinite(self.budget) else None,
            **self._proof(),
            "runs": [run.to_json() for run in self.runs],
            "packs": [pack.to_json() for pack in self.packs],
            "coats": [coat.to_json() for coat in self.coats],
            **self._forecast(),
            "meetings": [lap.to_json() for lap in self.laps],
            "unverified_meetings": self.unverified_meetings,
            "identity": dict(self.identity),
            "next": None if self.step is None else self.step.to_json(),
            "target": None if self.confirmed is None else self.confirmed.to_json(),
            "fixed": None if self.fixed is None else self.fixed.to_json(),
            "rests_on_estimates": list(self.estimates),
            "own_products": [one.to_json() for one in self.mine],
            "curve": None if self.curve is None else self.curve.to_json(),
        }

    def _proof(self) -> dict[str, Any]:
        return {
            "spent": self.spent,
            "hours": self.hours,
            "objective": self.objective,
            "bound": self.bound,
            "gap": self.gap,
            "proved": self.proved,
            "setup_money": self.setup_money,
            "setup_hours": self.setup_hours,
            "left_over_money": self.left_over_money,
        }

    def _forecast(self) -> dict[str, Any]:
        whole = self.whole
        return {
            "ach50": self.ach50.to_json() | {"expected": self.expected_ach50},
            "water_l": self.water_l.to_json() | {"expected": self.expected_water_l},
            "draws": self.draws,
            "area_cm2": self.area_cm2,
            "inner_volume_m3": whole.volume.to_json(),
            "other_leakage": [{"name": name, "m3_h_at_50_pa": flow} for name, flow in whole.other],
            "goal": {
                "air_weight": self.weights[0],
                "water_weight": self.weights[1],
                "air_target_cm2": whole.air_target,
                "water_limit_l": whole.water_limit,
            },
        }
