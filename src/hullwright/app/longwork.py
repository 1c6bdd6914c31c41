"""Work that takes long, as one function: a question as JSON in, an answer as JSON out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from hullwright import building as building_room
from hullwright.app.book import Of, book
from hullwright.app.disk import write_whole
from hullwright.app.heads import head
from hullwright.app.house import House
from hullwright.app.leaks import Hunt, hunt, leaks
from hullwright.app.plan import Planned, Wish, order, plan
from hullwright.app.weigh import archive, notes_of, pick_of, prices, question_of
from hullwright.app.worker import Watch
from hullwright.building.model import Building, Fixed
from hullwright.choice.making import next_step
from hullwright.choice.writing import general_cautions
from hullwright.errors import InputError, Problem, Where
from hullwright.leaks.findings import Finding
from hullwright.store.place import place_of

Answered = tuple[dict[str, Any], dict[str, Any]]
"""The answer, and what is kept beside it."""


def run(
    kind: str,
    text: str,
    file: str,
    ask: Mapping[str, Any],
    progress: Watch,
    *,
    beside: Mapping[str, Any] | None = None,
) -> Answered:
    """Do one long work.

    Parameters
    ----------
    kind : str
        ``plan``, ``curve``, ``prices``, ``leaks``, ``hunt`` or ``book``.
    text, file : str
        Building file and its name.
    ask : mapping
        What was asked for.
    progress : Watch
        Told how far it is; answers whether to go on.
    beside : mapping or None
        What a book needs beside the file: ``house`` and ``store`` of the log, and ``out``, the file to write.

    Returns
    -------
    tuple
        Answer as the command of that name gives it; and what later questions need.
    """
    building = building_room.parse(text, file=file)
    if kind == "book":
        return _book(building, ask, progress, beside or {})
    workers: dict[str, Callable[[Building, Mapping[str, Any], Watch], Answered]] = {
        "plan": _plan,
        "curve": _curve,
        "prices": _prices,
        "leaks": _leaks,
        "hunt": _leaks,
    }
    return workers[kind](building, {**ask, "kind": kind}, progress)


def _plan(building: Building, ask: Mapping[str, Any], progress: Watch) -> Answered:
    house = House(_decided(building, ask.get("fixed", {})))
    wish = Wish(ask.get("budget"), ask.get("target"), ask.get("confidence"), bool(ask.get("quick")), progress)
    planned = plan(house.building, wish)
    return planned.to_json(), {"order": order(planned).to_json(), "labels": labels_of(planned)}


def _decided(building: Building, fixed: Mapping[str, Mapping[str, str]]) -> Building:
    """Add decisions that are tried; they come before those of the file."""
    more = tuple(
        Fixed(
            one["method"],
            one.get("product", ""),
            run=run,
            primer=one.get("primer", ""),
            filler=one.get("filler", ""),
        )
        for run, one in fixed.items()
    )
    return replace(building, aim=replace(building.aim, fixed=(*more, *building.aim.fixed)))


def labels_of(planned: Planned) -> dict[str, list[str]]:
    """Method and label of each run."""
    return {run.id: [run.method, run.label] for run in planned.plan.runs}


def _curve(building: Building, ask: Mapping[str, Any], progress: Watch) -> Answered:
    question = question_of(House(building))
    question = replace(question, settings=replace(question.settings, progress=progress))
    at_hand = (
        [pick_of(question, {run: (one[0], one[1]) for run, one in ask["labels"].items()})]
        if ask.get("labels")
        else []
    )
    points, kept = archive(
        question, int(ask.get("points", 21)), at_hand, lambda done, of: progress.step(done, of, "the curve")
    )
    pick = at_hand[0] if at_hand else question.best().pick
    step = next_step(question, pick)
    answer = head("curve") | {
        "currency": building.currency,
        "points": points,
        "next": None if step is None else step.to_json(),
        "cautions": [caution.to_json() for caution in general_cautions(question.catalog)],
        "notes": notes_of(question),
    }
    return answer, kept


def _prices(building: Building, ask: Mapping[str, Any], progress: Watch) -> Answered:
    question = question_of(House(building))
    question = replace(question, settings=replace(question.settings, progress=progress))
    pick = pick_of(question, {run: (one[0], one[1]) for run, one in ask["labels"].items()})
    found = prices(question, pick, lambda done, of: progress.step(done, of, "your decisions"))
    told = {"currency": building.currency, "decisions": found, "cautions": [], "notes": notes_of(question)}
    return head("prices") | told, {}


def _book(building: Building, ask: Mapping[str, Any], progress: Watch, beside: Mapping[str, Any]) -> Answered:
    wish = Wish(ask.get("budget"), ask.get("target"), ask.get("confidence"), bool(ask.get("quick")), progress)
    made = book(House(building), wish, Of(beside["house"], place_of(beside["store"])), progress.step)
    progress.step(made.steps, made.steps, "the file")  # the last place to stop: what follows is one step
    write_whole(Path(beside["out"]), made.content)
    return made.to_json(), {}


def _leaks(building: Building, ask: Mapping[str, Any], progress: Watch) -> Answered:
    planned = plan(building, Wish(quick=True, progress=progress))
    found = tuple(
        Finding(
            one["seen"],
            one["on"],
            one.get("kind", ""),
            one.get("moved_m3_h"),
            one.get("spread_m3_h"),
            one.get("minutes"),
            one.get("note", ""),
        )
        for one in ask.get("findings", ())
    )

    def step(done: int, of: int) -> None:
        progress.step(done, of, "the leakage")

    test = ask.get("test")
    if test is None:
        if ask["kind"] == "hunt":
            raise InputError(
                "a hunt needs a test",
                [Problem("no readings", Where(key="test"), hint="type the fan test in")],
            )
        return leaks(planned, found=found or None).to_json(), {}
    # The reader tells a file's kind by its name, and names it in its complaints.
    with TemporaryDirectory(prefix="hullwright-") as folder:
        path = Path(folder) / f"readings.{ask.get('format', 'yaml')}"
        path.write_text(str(test), encoding="utf-8")
        if ask["kind"] == "leaks":
            return leaks(planned, test=path, found=found, step=step).to_json(), {}
        made: Hunt = hunt(planned, test=path, found=found, target=ask.get("target"), step=step)
        return made.to_json(), {}
