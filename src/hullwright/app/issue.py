"""Drawings are issued: the first with the first entry, each later one when the lead says so."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from hullwright import building as building_room
from hullwright.app.drawn import Planned, drawn, with_methods_of
from hullwright.app.earlier import learned
from hullwright.app.house import House
from hullwright.app.ink import Ink, ink
from hullwright.app.log import Log
from hullwright.app.plan_file import planned_of
from hullwright.building.nodes import MOST_BYTES, decode
from hullwright.errors import BuildingFileError, HullwrightError, InputError, Problem, Where
from hullwright.proof.drawing import Drawing, Issued
from hullwright.proof.revision import Revision, compare
from hullwright.store.database import Store
from hullwright.store.drawings import Signed, drawings, issue_first, last_number
from hullwright.store.drawings import issue as keep

FIRST: Final = "issued with the first entry"


@dataclass(frozen=True, slots=True)
class Paper:
    """A building file as it stands now: what can be issued.

    Parameters
    ----------
    house : House
    text : str
    """

    house: House
    text: str


@dataclass(frozen=True, slots=True)
class IssueAnswer:
    """What became of a drawing that was to be issued.

    Parameters
    ----------
    log : Log
    issued : Issued
        The revision that stands now.
    new : bool
        False where nothing had changed: the last one stands.
    revision : Revision or None
        What it changes; None for the first.
    unplanned : int
        Joints without a planned method.
    ink : Ink
        Marks that were written into the file.
    """

    log: Log
    issued: Issued
    new: bool
    revision: Revision | None
    unplanned: int
    ink: Ink = field(default_factory=Ink)

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``issue --json``."""
        return {
            "schema": {"name": "issue", "version": 1},
            "store": str(self.log.path),
            "house": self.log.house,
            "issued": self.issued.to_json(),
            "new": self.new,
            "revision": None if self.revision is None else self.revision.to_json(),
            "unplanned": self.unplanned,
            "marks_written": self.ink.written,
            "said": self.ink.said,
            "cautions": [],
        }


def paper(file: str | Path) -> Paper:
    """Read a building file, with its text.

    Parameters
    ----------
    file : str or Path

    Returns
    -------
    Paper

    Raises
    ------
    BuildingFileError
        With every problem of the file.
    """
    path = Path(file)
    try:
        raw = path.read_bytes()[: MOST_BYTES + 1]
    except OSError as error:
        problem = Problem("the file can't be opened", Where(str(file)), error.strerror or "")
        raise BuildingFileError(f"{file} can't be opened", [problem]) from error
    text = decode(raw, str(file))
    return Paper(House(learned(building_room.parse(text, str(file), folder=path.parent))), text)


def issued(log: Log) -> tuple[Issued, ...]:
    """Give all issued drawings of a house, the first first."""
    with Store(log.path) as store:
        return drawings(store, log.house)


def revision_number(log: Log) -> int:
    """Give the number of the drawing that stands; 0 where none was issued yet."""
    with Store(log.path) as store:
        return last_number(store, log.house)


def issue_file(
    log: Log, file: str | Path, *, author: str, reason: str = "", plan: str | None = None
) -> IssueAnswer:
    """Issue a building file as it stands, its marks written into it first.

    Parameters
    ----------
    log : Log
    file : str or Path
    author, reason : str
    plan : str or None
        As of :func:`issue`.

    Returns
    -------
    IssueAnswer

    Raises
    ------
    BuildingFileError
        With every problem of the file; nothing is written into it then.
    InputError
        As :func:`issue` does.
    """
    paper(file)
    marked = ink(file)
    return replace(issue(log, paper(file), author=author, reason=reason, plan=plan), ink=marked)


def issue(log: Log, what: Paper, *, author: str, reason: str = "", plan: str | None = None) -> IssueAnswer:
    """Issue a building file as it stands, if it differs from what was issued last.

    Parameters
    ----------
    log : Log
    what : Paper
    author, reason : str
    plan : str or None
        ``plan.json``, whose methods the drawing shall say; without it the methods of the drawing before stay, by place.

    Returns
    -------
    IssueAnswer

    Raises
    ------
    InputError
        Another drawing was issued meanwhile, or the plan is of another house.
    """
    before = issued(log)
    drawing = _drawing(what, before, None if plan is None else planned_of(plan, what.house))
    unplanned = _unplanned(drawing)
    last = before[-1] if before else None
    revision = None if last is None else compare(last.drawing, drawing)
    if last is not None and revision is not None and revision.nothing:
        return IssueAnswer(log, last, new=False, revision=revision, unplanned=unplanned)
    with Store(log.path) as store:
        signed = Signed(author, reason, datetime.now(UTC))
        made = keep(store, log.house, drawing, signed, after=len(before))
    return IssueAnswer(log, made, new=True, revision=revision, unplanned=unplanned)


def first_issue(log: Log, what: Paper, *, author: str, plan: str | None = None) -> Issued | None:
    """Issue the first drawing where none was issued yet; of several who do so at once one does.

    Parameters
    ----------
    log : Log
    what : Paper
    author : str
        Of the first entry.
    plan : str or None

    Returns
    -------
    Issued or None
        None where one was issued before.
    """
    with Store(log.path) as store:
        if last_number(store, log.house):
            return None
        planned = None if plan is None else _planned_or_none(plan, what.house)
        drawing = drawn(what.house, what.text, planned)
        return issue_first(store, log.house, drawing, Signed(author, FIRST, datetime.now(UTC)))


def first_issue_of(log: Log, file: str, *, author: str, plan: str | None = None) -> str:
    """Issue the first drawing from its file where none was issued yet; what was logged stays, whatever the file is like.

    Parameters
    ----------
    log : Log
    file : str
        Building file.
    author : str
        Of the first entry.
    plan : str or None

    Returns
    -------
    str
        What is to be said of it; '' where a drawing was issued before.
    """
    if revision_number(log):
        return ""
    try:
        paper(file)
        marked = ink(file)
        made = first_issue(log, paper(file), author=author, plan=plan)
    except InputError as error:
        return f"No drawing is issued yet, for the building file can't be used: {error.message}"
    words = "Revision 1 of the drawing is issued with it."
    return "" if made is None else f"{words} {marked.said}".rstrip()


def differs(before: Sequence[Issued], what: Paper) -> Revision | None:
    """Say in what a building file as it stands differs from what was issued last.

    Parameters
    ----------
    before : sequence of Issued
    what : Paper

    Returns
    -------
    Revision or None
        None where nothing was issued yet, or nothing differs.
    """
    if not before or before[-1].drawing.text == what.text:
        return None
    last = before[-1].drawing
    key = (last.sha256, hashlib.sha256(what.text.encode()).hexdigest())
    if key not in _compared:
        if len(_compared) >= _MOST_COMPARED:
            _compared.clear()
        _compared[key] = compare(last, _drawing(what, before, None))
    found = _compared[key]
    return None if found.nothing else found


_MOST_COMPARED: Final = 64
_compared: dict[tuple[str, str], Revision] = {}


def _drawing(what: Paper, before: Sequence[Issued], planned: Planned | None) -> Drawing:
    drawing = drawn(what.house, what.text, planned)
    return with_methods_of(drawing, before[-1].drawing) if before else drawing


def _planned_or_none(plan: str, house: House) -> Planned | None:
    """A plan that can't be used keeps nobody from logging: the drawing says no methods then."""
    try:
        return planned_of(plan, house)
    except HullwrightError:
        return None


def _unplanned(drawing: Drawing) -> int:
    return sum(1 for joint in drawing.joints if not joint.method)
