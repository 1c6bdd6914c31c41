"""The jobs of the record as functions of a building file: the same names as on the command line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from hullwright.app import fasteners as _fasteners
from hullwright.app import learn, proof
from hullwright.app.film_lots import Asked, FilmLots, film_lots
from hullwright.app.gauge_says import READING, said_of
from hullwright.app.house import load
from hullwright.app.issue import IssueAnswer, first_issue_of, issue_file, paper
from hullwright.app.keep import backup, restore, verify
from hullwright.app.learn import Rest, Use
from hullwright.app.log import Added, Log, add
from hullwright.app.mockup import mockup
from hullwright.app.mockup import plan_readings as readings
from hullwright.app.on_drawing import patched
from hullwright.app.proof import States, TapeLots
from hullwright.app.revisions import Revisions
from hullwright.app.revisions import revisions as _revisions
from hullwright.app.said_where import SaidWhere, group_said, spot_said
from hullwright.app.site import catalog_of
from hullwright.app.spots import find_entry, log_of
from hullwright.app.taken import Taken, taken
from hullwright.errors import HullwrightError
from hullwright.proof.cover import Ready
from hullwright.proof.experience import Experience
from hullwright.proof.holes import Register, Ticket
from hullwright.proof.rates import Rates
from hullwright.proof.tape import SHARE_LIMIT

__all__ = [
    "Asked",
    "FilmLots",
    "backup",
    "experience",
    "fasteners",
    "film_lots",
    "holes",
    "issue",
    "log",
    "log_add",
    "mockup",
    "ok_to_cover",
    "rates",
    "readings",
    "ready",
    "restore",
    "revisions",
    "states",
    "tape",
    "ticket",
    "use",
    "verify",
]


def log(file: str | Path, store: str | None = None) -> Log:
    """Give the log of a house.

    Parameters
    ----------
    file : str or Path
        Building file; its name is the house's name in the log.
    store : str or None
        File or folder of the log; None for the usual place.

    Returns
    -------
    Log
        With ``path``, ``entries()`` and ``standing()``.
    """
    return log_of(str(file), store)


def log_add(
    file: str | Path,
    kind: str,
    what: Mapping[str, Any],
    *,
    author: str,
    place: Mapping[str, str] | None = None,
    store: str | None = None,
) -> Added:
    """Log a fact.

    Parameters
    ----------
    file : str or Path
    kind : str
        As ``hullwright log add --help`` lists them.
    what : mapping
        Its figures, SI, as stored (``last_wet_um``).
    author : str
    place : mapping, optional
        ``joint``, ``run``, ``mark``, ``face``, ``at`` (distance along the joint, such as ``12 ft``), ``place`` (on the face, from
        its left and lowest edge, such as ``12 ft, 4 ft``).
    store : str or None

    Returns
    -------
    Added
    """
    found = log(file, store)
    drawing = patched(found) if (place or {}).get("joint") or what.get("of") else None
    spot = spot_said(str(file), SaidWhere.of(place or {}), drawing)
    if isinstance(what.get("of"), Sequence):
        what = {**what, "of": group_said(str(file), what["of"], drawing)}
    added = add(found, kind, what, author=author, spot=spot)
    first_issue_of(found, str(file), author=author)
    return judged(added, str(file))


def judged(added: Added, file: str) -> Added:
    """Give a logged entry with what it takes, and a gauge reading with what it shows, where the house can be read."""
    try:
        house = load(file)
        found = taken(added.log, house, [added.entry]).get(added.entry.id, Taken())
    except HullwrightError:
        return added  # it is kept whatever became of the building file
    gauge = said_of(added.entry, catalog_of(house)) if added.entry.kind == READING else None
    return replace(added, gauge=gauge, left_out=found.left_out, lacking=found.lacking)


def issue(
    file: str | Path, *, author: str, reason: str = "", plan: str | None = None, store: str | None = None
) -> IssueAnswer:
    """Issue the building file as the drawing: the next revision, where something changed.

    Parameters
    ----------
    file : str or Path
    author, reason : str
    plan : str or None
        ``plan.json``, whose methods the drawing shall say.
    store : str or None

    Returns
    -------
    IssueAnswer
    """
    return issue_file(log(file, store), file, author=author, reason=reason, plan=plan)


def revisions(file: str | Path, *, store: str | None = None) -> Revisions:
    """List the issued drawings and what each changed."""
    return _revisions(log(file, store), paper(file))


def tape(
    file: str | Path,
    *,
    plan: str | None = None,
    limit: float = SHARE_LIMIT.value,
    store: str | None = None,
) -> TapeLots:
    """Say of every day of tape whether it is proved; `limit` is the largest share of failing places to accept."""
    return proof.tape(log(file, store), str(file), plan=plan, limit=limit)


def fasteners(file: str | Path, *, store: str | None = None) -> _fasteners.Fasteners:
    """Say what the overdriven fasteners of the log ask for, by face."""
    return _fasteners.logged(log(file, store))


def states(file: str | Path, *, plan: str | None = None, store: str | None = None) -> States:
    """Give the state of every joint; `plan` is a ``plan.json``."""
    return proof.states(log(file, store), str(file), plan=plan)


def ready(file: str | Path, face: str, *, plan: str | None = None, store: str | None = None) -> Ready:
    """Say whether a face may be covered, and what is in the way."""
    return proof.ready(log(file, store), str(file), face, plan=plan)


def ok_to_cover(
    file: str | Path,
    face: str,
    *,
    signed_by: str,
    exceptions: Sequence[str] = (),
    supplements: str = "",
    plan: str | None = None,
    store: str | None = None,
) -> Added:
    """Sign the OK to cover of a face, or the supplement of an earlier one: nothing in the way, or each exception named.

    Raises
    ------
    NoAnswerError
        With each blocker that is not named.
    """
    found = log(file, store)
    added = proof.ok_to_cover(
        found, str(file), face, signed_by=signed_by, exceptions=exceptions, supplements=supplements, plan=plan
    )
    first_issue_of(found, str(file), author=signed_by, plan=plan)
    return added


def holes(file: str | Path, *, store: str | None = None) -> Register:
    """Give the register of holes."""
    return proof.holes(log(file, store))


def ticket(
    file: str | Path, hole: str | int, *, product: str, detail: str, store: str | None = None
) -> Ticket:
    """Write a ticket for an open hole, named by its number or id."""
    found = log(file, store)
    return proof.ticket(found, find_entry(found, str(hole)).id, product, detail)


def use(
    file: str | Path,
    *,
    rest: Sequence[Rest] = (),
    planned: Mapping[str, float] | None = None,
    store: str | None = None,
) -> Use:
    """Hold use against plan; `rest` is what is left to do, `planned` metres per pack by product."""
    return learn.use(log(file, store), str(file), rest=rest, planned=planned)


def rates(file: str | Path, *, store: str | None = None) -> Rates:
    """Learn hours and flaws by method, kind and crew, prior and data apart."""
    return learn.rates(log(file, store), str(file))


def experience(
    file: str | Path, *, earlier: Sequence[str] = (), out: str | None = None, store: str | None = None
) -> Experience:
    """Sum up what this house taught, and earlier houses with it; without names."""
    return learn.experience(log(file, store), str(file), earlier=earlier, out=out)
