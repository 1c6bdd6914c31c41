"""The user's own products in a plan: which are used, and where a rule bars one, which rule and what to state."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hullwright.catalog import Catalog, Rule
from hullwright.choice.table import Choice
from hullwright.joints.model import Run
from hullwright.units import Show

_OF_THE_PRODUCT = frozenset({"chemistry", "surface_fails"})
"""Facts by which a rule without anything to state still speaks of the product, and not only of its method."""


@dataclass(frozen=True, slots=True)
class BarredSpot:
    """Where one rule keeps a product out.

    Parameters
    ----------
    rule, text, state : str
        The rule, in words, and what to state so that it bars no longer ('' where nothing would).
    kinds, faces : tuple of str
        Kinds of joint and faces, each once.
    length : float
        Of lines [m].
    count : float
        Pieces.
    """

    rule: str
    text: str
    state: str
    kinds: tuple[str, ...]
    faces: tuple[str, ...]
    length: float
    count: float

    def to_json(self) -> dict[str, Any]:
        """Give it as JSON."""
        return {
            "rule": self.rule,
            "text": self.text,
            "state": self.state,
            "kinds": list(self.kinds),
            "faces": list(self.faces),
            "length_m": self.length,
            "count": self.count,
        }

    def words(self, show: Show) -> str:
        """Say it in one sentence."""
        pieces = f"{self.count:.0f} piece{'' if self.count == 1 else 's'}"
        parts = [*([show.run_length(self.length)] if self.length else []), *([pieces] if self.count else [])]
        faces = self.faces[0] if len(self.faces) == 1 else f"{len(self.faces)} faces"
        todo = f" To state: {self.state}." if self.state else ""
        return f"Barred on {' and '.join(parts)} of {', '.join(self.kinds)} ({faces}): {self.text}{todo}"


@dataclass(frozen=True, slots=True)
class Mine:
    """One product of the user's own.

    Parameters
    ----------
    product, name : str
    packs : float
        That the plan uses, in fractions.
    runs : int
        Runs on which an option with it is allowed.
    barred : tuple of BarredSpot
        Most length first.
    """

    product: str
    name: str
    packs: float
    runs: int
    barred: tuple[BarredSpot, ...]

    @property
    def used(self) -> bool:
        """Whether the plan takes it."""
        return self.packs > 0

    def to_json(self) -> dict[str, Any]:
        """Give it as JSON."""
        return {
            "product": self.product,
            "name": self.name,
            "used": self.used,
            "packs": self.packs,
            "runs_allowed": self.runs,
            "barred": [one.to_json() for one in self.barred],
        }

    def words(self, show: Show) -> tuple[str, ...]:
        """Say what a person should know, '' of what is used and nowhere barred."""
        said = [f"{self.name}: {one.words(show)}" for one in self.barred]
        if self.used:
            return tuple(said)
        runs = f"{self.runs} run{'' if self.runs == 1 else 's'}"
        why = (
            f"allowed on {runs}, where the plan has a better way"
            if self.runs
            else "allowed nowhere on this house"
        )
        return (f"{self.name}: not used, {why}.", *said)


def mine(
    choice: Choice, pick: NDArray[np.int64], coated: NDArray[np.bool_], catalog: Catalog
) -> tuple[Mine, ...]:
    """Say what became of each product that the user stated.

    Parameters
    ----------
    choice : Choice
    pick : ndarray (R,)
        Row of each run in the plan.
    coated : ndarray (C,)
        Faces that are coated whole.
    catalog : Catalog

    Returns
    -------
    tuple of Mine
        By product id; empty where all products are invented.
    """
    use = choice.instance.use[pick].sum(axis=0)
    for coat, on in zip(choice.instance.coats, coated, strict=True):
        use = use + coat.use * bool(on)
    return tuple(
        Mine(
            product,
            catalog.products[product].name,
            float(use[column]),
            sum(_allowed(choice, run, product) for run in range(len(choice.runs))),
            _barred(choice, product),
        )
        for column, product in enumerate(choice.products)
        if not catalog.products[product].generic
    )


def _allowed(choice: Choice, run: int, product: str) -> bool:
    return any(product in choice.options[row].takes for row in choice.rows(run))


def _barred(choice: Choice, product: str) -> tuple[BarredSpot, ...]:
    spots: defaultdict[str, list[Run]] = defaultdict(list)
    rules: dict[str, Rule] = {}
    for number, run in enumerate(choice.runs):
        rule = next(_bars(choice, number, product), None)
        if rule is not None and not _allowed(choice, number, product):
            rules[rule.id] = rule
            spots[rule.id].append(run)
    found = [_spot(rules[key], runs) for key, runs in spots.items()]
    return tuple(sorted(found, key=lambda one: (-one.length, -one.count, one.rule)))


def _bars(choice: Choice, run: int, product: str) -> Iterator[Rule]:
    """Rules that speak of the product itself, that of the best prepared option first: what preparing mends is not in the way.

    What its method can't do on such a joint goes without saying.
    """
    for bar in reversed(choice.barred[run]):
        if bar.option.product == product and (bar.rule.state or _OF_THE_PRODUCT & bar.rule.when.keys()):
            yield bar.rule


def _spot(rule: Rule, runs: list[Run]) -> BarredSpot:
    return BarredSpot(
        rule.id,
        rule.text,
        rule.state,
        tuple(dict.fromkeys(run.kind.value for run in runs)),
        tuple(dict.fromkeys(run.face for run in runs)),
        sum(run.quantity for run in runs if not run.kind.piece),
        sum(run.quantity for run in runs if run.kind.piece),
    )
