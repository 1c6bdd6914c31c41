"""The order of work: what is done in which stage, on which face, by which method, how long it takes, what comes before."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any, Final

from hullwright.app.cautions import HOUSE_CAUTIONS
from hullwright.app.heads import head
from hullwright.app.house import House
from hullwright.app.site import unnailed
from hullwright.catalog import load as load_catalog
from hullwright.choice.table import SWEEPS
from hullwright.evidence import Caution
from hullwright.proof.entries import Entry
from hullwright.proof.start import not_to_start

STAGES: Final = tuple(itertools.chain.from_iterable(SWEEPS))
"""Stages in the order of work."""
HIGH: Final = 1.8
"""Height of work from which falls are the matter [m]: 6 ft (29 CFR 1926.501(b)(13))."""
PREPARED: Final = {
    "cleaning": "clean",
    "primer": "prime",
    "filler": "fill the gap",
    "blocking": "block behind",
}
_NAILING, _OVERDRIVEN, _FALLS = HOUSE_CAUTIONS
_BEFORE: Final = {
    "sheathing": ("The panels of the face are up, and gaps of its seams are as the panel maker asks.",),
    "openings": ("The rough openings are cut and true; units are not in yet.",),
    "services": ("What passes the layer is in its place and held: nothing moves it afterwards.",),
    "later": ("What is fixed over the layer is marked out; its strip or sleeve lies before it is fixed.",),
}


def days(plan: Mapping[str, Any], house: House, entries: Sequence[Entry] = ()) -> dict[str, Any]:
    """Put a plan in the order of work.

    Parameters
    ----------
    plan : mapping
        As ``plan`` gives it.
    house : House
        For which it was made.
    entries : sequence of Entry
        Standing entries of its log: what was signed off.

    Returns
    -------
    dict
        Stages in their order, each with its faces, each with its methods: person-hours [h], set-ups within, and crew days. All
        hours of the stages are the hours of the plan.
    """
    crew = house.building.crew
    day = crew.people * crew.day
    work = _work(plan, house)
    waiting = not_to_start([face.id for face in house.hull.faces], entries, unnailed(house))
    heights = _heights(house)
    stages: list[dict[str, Any]] = []
    for stage in STAGES:
        faces = [_face(face, methods, day, waiting) for face, methods in work.get(stage, {}).items()]
        if not faces:
            continue
        spent = sum(face["hours"] for face in faces)
        kinds = {run["kind"] for face in faces for one in face["methods"] for run in one["runs"]}
        high = any(
            heights.get(run["id"], 0.0) >= HIGH
            for face in faces
            for one in face["methods"]
            for run in one["runs"]
        )
        after = [f"{earlier['stage']} is done" for earlier in stages]
        stages.append(
            {
                "stage": stage,
                "hours": spent,
                "crew_days": spent / day,
                "before": [*_BEFORE[stage], *after],
                "cautions": [caution.to_json() for caution in _cautions(stage, kinds, high=high)],
                "faces": sorted(faces, key=lambda face: (-face["hours"], face["face"])),
            }
        )
    total = sum(stage["hours"] for stage in stages)
    return head("days") | {
        "name": house.building.name,
        "hours": total,
        "crew_days": total / day,
        "crew": {"people": crew.people, "day_hours": crew.day},
        "stages": stages,
    }


Work = dict[str, dict[str, dict[tuple[str, str], dict[str, Any]]]]


def _work(plan: Mapping[str, Any], house: House) -> Work:
    """By stage, face and (method, product): runs with their hours, and set-ups in the stage that meets them first."""
    catalog = load_catalog(house.building)
    work: Work = defaultdict(lambda: defaultdict(dict))
    stages = {run.id: run.stage for run in house.joints.runs}
    set_up: set[tuple[str, str, int]] = set()
    ordered = sorted(plan["runs"], key=lambda run: (STAGES.index(run["stage"]), run["face"], run["id"]))
    assert all(stages.get(run["id"], run["stage"]) == run["stage"] for run in ordered)
    coats = {coat["face"]: coat for coat in plan.get("coats", ())}
    for run in ordered:
        if run["method"] == "unsealed":
            continue
        name = catalog.methods[run["method"]].name
        one = work[run["stage"]][run["face"]].setdefault(
            (run["method"], run["product"]),
            {"method": run["method"], "name": name, "product": run["product"], "hours": 0.0, "setup_hours": 0.0, "coat_hours": 0.0,
             "prepare": [], "mind": [], "runs": []},
        )  # fmt: skip
        sweep = next(number for number, stages_of in enumerate(SWEEPS) if run["stage"] in stages_of)
        if (run["face"], run["method"], sweep) not in set_up:
            set_up.add((run["face"], run["method"], sweep))
            one["setup_hours"] = catalog.value(f"setup_hours.{run['method']}")
            one["hours"] += one["setup_hours"]
        if run["method"] == "coat" and run["face"] in coats:
            one["coat_hours"] = coats.pop(run["face"])["hours"]
            one["hours"] += one["coat_hours"]
        one["hours"] += run["hours"]
        one["prepare"] += [PREPARED[step] for step in run["prepared"] if PREPARED[step] not in one["prepare"]]
        one["mind"] += [text for text in run["advice"] if text not in one["mind"]]
        size = {key: run[key] for key in ("length_m", "count") if key in run}
        one["runs"].append(
            {"id": run["id"], "kind": run["kind"], "label": run["label"], "hours": run["hours"], **size}
        )
    return work


def _face(
    face: str,
    methods: Mapping[tuple[str, str], dict[str, Any]],
    day: float,
    waiting: Mapping[str, Sequence[str]],
) -> dict[str, Any]:
    spent = sum(one["hours"] for one in methods.values())
    listed = sorted(methods.values(), key=lambda one: (-one["hours"], one["method"], one["product"]))
    return {
        "face": face,
        "hours": spent,
        "crew_days": spent / day,
        "not_yet": list(waiting.get(face, ())),
        "methods": listed,
    }


def _heights(house: House) -> dict[str, float]:
    """Highest place of each run above ground [m]."""
    joints = house.joints.joints
    return {run.id: max((joints[k].height for k in run.joints), default=0.0) for run in house.joints.runs}


def _cautions(stage: str, kinds: set[str], *, high: bool) -> list[Caution]:
    found = [_NAILING] if stage in SWEEPS[0] else []
    found += [_OVERDRIVEN] if any(kind.startswith("overdriven") for kind in kinds) else []
    return found + ([_FALLS] if high else [])
