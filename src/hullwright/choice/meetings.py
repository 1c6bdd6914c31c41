"""Where two runs of a plan meet: which goes first, and whether the two materials are known to fit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from hullwright.catalog import Catalog
from hullwright.choice.options import Option
from hullwright.choice.table import Choice
from hullwright.joints.model import Meeting

STAGES = ("sheathing", "openings", "services", "later")
_WET = frozenset({"liquid", "sealant", "coat", "listed"})


@dataclass(frozen=True, slots=True)
class Lap:
    """One meeting of a plan.

    Parameters
    ----------
    runs : tuple of str
        Run ids.
    at : tuple of float
        Place [m].
    verdict : str
        fits, unknown or fails.
    text : str
        Lap order in words, with what the table of pairs says.
    mark : str
        Evidence of the verdict.
    """

    runs: tuple[str, str]
    at: tuple[float, float, float]
    verdict: str
    text: str
    mark: str

    def to_json(self) -> dict[str, Any]:
        """Meeting as JSON."""
        return {
            "runs": list(self.runs),
            "at": list(self.at),
            "verdict": self.verdict,
            "text": self.text,
            "mark": self.mark,
        }


def laps(
    choice: Choice, meetings: tuple[Meeting, ...], pick: NDArray[np.int64], catalog: Catalog
) -> tuple[Lap, ...]:
    """Say every meeting of a plan where both sides get a material.

    Parameters
    ----------
    choice : Choice
    meetings : tuple of Meeting
    pick : ndarray (R,)
        The plan.
    catalog : Catalog
    """
    found: list[Lap] = []
    for meeting in meetings:
        one, other = meeting.runs
        options = choice.options[int(pick[one])], choice.options[int(pick[other])]
        if all(option.product and option.method != "cut_tails" for option in options):
            found.append(_lap(choice, meeting, options, catalog))
    return tuple(found)


def _lap(choice: Choice, meeting: Meeting, options: tuple[Option, Option], catalog: Catalog) -> Lap:
    pair = catalog.together(catalog.products[options[0].product], catalog.products[options[1].product])
    runs = choice.runs[meeting.runs[0]], choice.runs[meeting.runs[1]]
    x, y, z = (float(value) for value in meeting.at)
    text = _order(choice, meeting, options, catalog)
    if pair.verdict != "fits":
        text = f"{text} {pair.text[0].upper()}{pair.text[1:]}."
    return Lap((runs[0].id, runs[1].id), (x, y, z), pair.verdict, text, pair.evidence.mark.value)


def _order(choice: Choice, meeting: Meeting, options: tuple[Option, Option], catalog: Catalog) -> str:
    runs = [choice.runs[number] for number in meeting.runs]
    names = [f"{catalog.methods[o.method].name} on {run.name}" for o, run in zip(options, runs, strict=True)]
    if options[0].product == options[1].product and meeting.lower < 0:
        return f"{names[0]} and {names[1]}: one material, lap 2 in (50 mm) or more."
    first = _first(meeting, options)
    last = 1 - first
    text = f"First {names[first]}, then {names[last]} laps over it by 2 in (50 mm) or more."
    if STAGES.index(runs[first].stage) > STAGES.index(runs[last].stage):
        return (
            f"{names[first]} lies below but comes later: leave the edge of {names[last]} loose until then, "
            "or seal the reverse lap by a written detail."
        )
    if options[first].method in _WET and options[last].method not in _WET:
        return text + " Let the first cure by its sheet before the tape goes on."
    return text


def _first(meeting: Meeting, options: tuple[Option, Option]) -> int:
    """Side that goes on first: the lower in shingle order, else the dry one before the wet one."""
    if meeting.lower >= 0:
        return meeting.runs.index(meeting.lower)
    return 1 if options[0].method in _WET and options[1].method not in _WET else 0
