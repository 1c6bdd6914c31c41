"""Plans that were kept before runs and faces lost their words, in names of today."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from hullwright.app.house import House
from hullwright.catalog import load
from hullwright.joints.renamed import kind, method


def plan_today(plan: Mapping[str, Any], house: House) -> dict[str, Any]:
    """Give a plan with its runs, faces, kinds and methods as they are called today.

    Parameters
    ----------
    plan : mapping
        As ``plan --json`` gave it, then or now.
    house : House
        As its file stood then.

    Returns
    -------
    dict
        The same plan; a run that the house has not keeps its name.
    """
    runs = plan.get("runs", ())
    if all("name" in run for run in runs):
        return dict(plan)
    return {
        **plan,
        "runs": [_run(run, house) for run in runs],
        "coats": [{**coat, "face": _face(coat["face"], house)} for coat in plan.get("coats", ())],
        "meetings": [
            {**one, "runs": [_id(run, house) for run in one["runs"]]} for one in plan.get("meetings", ())
        ],
        "next": _step(plan.get("next"), house),
    }


def labels_today(labels: Mapping[str, tuple[str, str]], house: House) -> dict[str, tuple[str, str]]:
    """Give method and label by run as runs and methods are called today."""
    names = load(house.building).methods
    return {
        _id(run, house): (method(key), names[method(key)].name if method(key) != key else label)
        for run, (key, label) in labels.items()
    }


def _run(run: Mapping[str, Any], house: House) -> dict[str, Any]:
    found, key = house.lookup.run(run["id"]), method(run["method"])
    label = load(house.building).methods[key].name if key != run["method"] else run["label"]
    return {
        **run,
        "id": _id(run["id"], house),
        "name": run["id"] if found is None else found.name,
        "kind": kind(run["kind"]),
        "face": _face(run["face"], house),
        "method": key,
        "label": label,
    }


def _id(run: str, house: House) -> str:
    found = house.lookup.run(run)
    return run if found is None else found.id


def _face(face: str, house: House) -> str:
    return house.lookup.face(face) or face


def _step(step: Mapping[str, Any] | None, house: House) -> dict[str, Any] | None:
    if step is None:
        return None
    found = house.lookup.run(step["run"])
    return {**step, "run": _id(step["run"], house), "name": step["run"] if found is None else found.name}
