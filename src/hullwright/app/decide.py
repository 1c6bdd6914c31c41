"""A person's own decision on a run: kept in the building file, where the command line reads it too."""

from __future__ import annotations

from typing import Any, Final

from hullwright.app.edit import change, remove
from hullwright.app.house import House
from hullwright.building.model import Fixed
from hullwright.errors import InputError, Problem, Where
from hullwright.joints.lookup import called

_PRODUCTS: Final = ("product", "primer", "filler")


def decisions(house: House) -> list[dict[str, str]]:
    """Give the decisions of a file in its order."""
    return [to_json(one) for one in house.building.aim.fixed]


def to_json(decision: Fixed) -> dict[str, str]:
    """Give a decision as JSON."""
    return {key: getattr(decision, key) for key in ("method", *_PRODUCTS, "face", "kind", "run")}


def keep(house: House, text: str, run: str, method: str, **products: str) -> str:
    """Decide a run; a decision on that run that is there already is replaced.

    Parameters
    ----------
    house : House
        As the text states it.
    text : str
        Building file.
    run, method : str
    **products : str
        The rest of the whole option: `product`, `primer`, `filler` (``none`` for without); what is '' is left to the plan.

    Returns
    -------
    str
        The new text.

    Raises
    ------
    InputError
        Where there is no such run.
    """
    found = house.lookup.run(run)
    if found is None:
        raise InputError("there is no such run", [Problem("unknown run", Where(key="run"), run[:200])])
    there = decisions(house)
    named = {key: products[key] for key in _PRODUCTS if products.get(key)}
    wanted: dict[str, Any] = {"run": found.id, "method": method, **named}
    number = next((k for k, one in enumerate(there) if one["run"] in called(found)), len(there))
    if number == len(there) == 0:
        return change(text, "aim.fixed", [wanted])
    return change(text, f"aim.fixed[{number}]", wanted)


def undo(house: House, text: str, run: str) -> str:
    """Take the decision on a run out again.

    Raises
    ------
    InputError
        Where there is none on that run alone.
    """
    found = house.lookup.run(run)
    names = called(found) if found is not None else {run}
    number = next((k for k, one in enumerate(decisions(house)) if one["run"] in names), None)
    if number is None:
        problem = Problem("no decision on that run alone is in the file", Where(key="run"), run[:200])
        raise InputError("there is nothing to undo", [problem])
    return remove(text, f"aim.fixed[{number}]")
