"""What a plan file plans for each run."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from hullwright.app.drawn import Planned
from hullwright.app.house import House
from hullwright.errors import InputError, Problem, Where
from hullwright.joints.renamed import method


def planned_of(file: str, house: House) -> Planned:
    """Read method, product and primer of each run from a ``plan.json``.

    Parameters
    ----------
    file : str
    house : House
        The house that it must be of.

    Returns
    -------
    mapping of str to tuple
        Method, product and whether primer comes first, by run.

    Raises
    ------
    InputError
        Where it can't be read, or is of another house.
    """
    try:
        data: Any = json.loads(Path(file).read_text("utf-8"))
        runs: list[Mapping[str, Any]] = data["runs"]
        found = {
            known.id: (
                method(str(run["method"])),
                str(run.get("product") or ""),
                "primer" in run.get("prepared", ()),
            )
            for run in runs
            if (known := house.lookup.run(str(run["id"]))) is not None
        }
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        problem = Problem(
            "not a plan that hullwright wrote", Where(file), str(error)[:120], "plan.json of a plan folder"
        )
        raise InputError("the plan can't be read", [problem]) from error
    if runs and not found:
        problem = Problem("none of its runs is in the building file", Where(file))
        raise InputError("the plan is of another house", [problem])
    return found
