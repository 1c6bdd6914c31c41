"""The log of a house: add, list, correct, choose, place, in from a table, out to a table.

Each function opens the store, does one thing and closes it: what it returns is on disk.
"""

from __future__ import annotations

import platform
import uuid
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

from hullwright.app.files import write_new
from hullwright.errors import InputError, OutputError, Problem, Where
from hullwright.evidence import Caution
from hullwright.proof.entries import Entry, Spot, Stamp, entry_from_json
from hullwright.proof.figures_in import said
from hullwright.proof.gauge_verdict import Said
from hullwright.proof.held import held, questions
from hullwright.proof.holes import check_seal
from hullwright.proof.kinds import check
from hullwright.proof.ledger import Rivals, standing
from hullwright.proof.made import drawing_of
from hullwright.proof.old_names import kind_now
from hullwright.report.sheets import workbook
from hullwright.store.database import Store
from hullwright.store.drawings import drawings, imported, last_number
from hullwright.store.entries import Outcome, Sending, append, append_all, highest, list_entries
from hullwright.store.location import place_cautions, store_path
from hullwright.store.place import Place
from hullwright.store.table import COLUMNS, MOST_BYTES, export_csv, import_csv, table_rows

_OWN_WAYS = {"ok to cover": "ok_to_cover", "chosen": "choose", "placed": "settle", "withdrawn": "withdraw"}

_RULINGS = ("withdrawn", "chosen", "placed")  # what other entries say of whether one stands, and where
_FLAWS = ("flaw", "probe", "seen", "smoke", "staples")
CHECKED: Final[Mapping[str, tuple[str, ...]]] = {
    "hole sealed": ("hole", "hole sealed", *_RULINGS),
    "mended": (*_FLAWS, *_RULINGS),
}
"""Kinds that are checked before they are stored, and the kinds in the store that the check looks at: a correction is of the
kind of what it corrects, so these are all that decide. Whoever sends a reading never waits for a long log to be read."""

_NAMED: Final = {"mended": ("flaw", _FLAWS, "flaw")}
"""Kinds that name another entry: the figure, the kinds it may be of, what it is called."""

_MOST_IN_CELL = 32_767  # characters; the limit of the workbook format
WORKBOOK_NOTE = "The whole log, corrected entries too; figures in SI. An apostrophe guards text that a spreadsheet would take for a formula."


@dataclass(frozen=True, slots=True)
class Log:
    """Which log is meant.

    Parameters
    ----------
    house : str
        Name of the house in the store.
    path : Path or Address
        The store; printed with every answer.
    """

    house: str
    path: Place

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """Warnings about the place of the store."""
        return place_cautions(self.path)

    def entries(self) -> tuple[Entry, ...]:
        """Give all entries of the house, corrected ones too, in the order of the store."""
        with Store(self.path) as store:
            return list_entries(store, self.house)

    def standing(self) -> tuple[Entry, ...]:
        """Give the entries that stand."""
        return standing(self.entries()).entries


@dataclass(frozen=True, slots=True)
class Added:
    """One entry that is on disk.

    Parameters
    ----------
    log : Log
    entry : Entry
        With its receipt.
    held : tuple of str
        Why it is held for review; () where it counts.
    gauge : Said or None
        What a gauge reading shows of the least film; None for everything else.
    left_out : tuple of (str, str)
        Joints that it does not take, with the reason.
    lacking : str
        '' or why it proves nothing, with what to do.
    """

    log: Log
    entry: Entry
    held: tuple[str, ...] = ()
    gauge: Said | None = None
    left_out: tuple[tuple[str, str], ...] = ()
    lacking: str = ""

    def to_json(self) -> dict[str, Any]:
        """Give the entry and where it is kept."""
        return {
            "schema": {"name": "log add", "version": 1},
            "store": str(self.log.path),
            "house": self.log.house,
            "entry": self.entry.full_json(),
            "held": list(self.held),
            "gauge": None if self.gauge is None else self.gauge.to_json(),
            "said": said_at_once(self.log, self.entry),
            "left_out": [{"joint": joint, "why": why} for joint, why in self.left_out],
            "lacking": self.lacking,
            "cautions": [caution.to_json() for caution in self.log.cautions],
        }


@dataclass(frozen=True, slots=True)
class Listing:
    """Entries of a house.

    Parameters
    ----------
    log : Log
    entries : tuple of Entry
    rivals : tuple of Rivals
        Corrections that wait for a choice.
    held : mapping of str to tuple of str
        Why entries are held for review, by id.
    """

    log: Log
    entries: tuple[Entry, ...]
    rivals: tuple[Rivals, ...]
    held: Mapping[str, tuple[str, ...]] = field(default_factory=dict[str, tuple[str, ...]])

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``log list --json``."""
        return {
            "schema": {"name": "log list", "version": 1},
            "store": str(self.log.path),
            "house": self.log.house,
            "entries": [entry.full_json() for entry in self.entries],
            "rivals": [{"of": rival.of, "entries": list(rival.entries)} for rival in self.rivals],
            "held": {name: list(why) for name, why in self.held.items()},
            "cautions": [caution.to_json() for caution in self.log.cautions],
        }


@dataclass(frozen=True, slots=True)
class Imported:
    """What came in from a table."""

    log: Log
    file: str
    outcome: Outcome

    @property
    def held(self) -> dict[str, tuple[str, ...]]:
        """Why entries that were stored now are held for review by their figures, by id."""
        found = ((entry.id, held(entry)) for entry in self.outcome.stored)
        return {name: why for name, why in found if why}

    @property
    def exit_code(self) -> int:
        """1 where bodies differ from what is kept under their id."""
        return 1 if self.outcome.differing else 0

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``log import --json``."""
        return {
            "schema": {"name": "log import", "version": 1},
            "store": str(self.log.path),
            "house": self.log.house,
            "file": self.file,
            **self.outcome.to_json(),
            "held": {name: list(why) for name, why in self.held.items()},
            "cautions": [caution.to_json() for caution in self.log.cautions],
        }


@dataclass(frozen=True, slots=True)
class Exported:
    """What went out to a table."""

    log: Log
    file: str
    entries: int

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``log export --json``."""
        return {
            "schema": {"name": "log export", "version": 1},
            "store": str(self.log.path),
            "house": self.log.house,
            "file": self.file,
            "entries": self.entries,
            "cautions": [],
        }


def open_log(house: str, store: str | None = None) -> Log:
    """Say which log is meant.

    Parameters
    ----------
    house : str
        Name of the house in the store.
    store : str or None
        File, folder or server of the store; None for the usual place, or `HULLWRIGHT_DATA`.

    Returns
    -------
    Log

    Raises
    ------
    InputError
        Where the store would lie inside the program's own folder.
    """
    return Log(house, store_path(store))


def add(log: Log, kind: str, what: Mapping[str, Any], *, author: str, spot: Spot | None = None) -> Added:
    """Add a fact.

    Parameters
    ----------
    log : Log
    kind : str
        One of :data:`hullwright.proof.kinds.KINDS`.
    what : mapping
        Its figures.
    author : str
    spot : Spot, optional
        Joint, kind of joint, face, place and plan version.

    Returns
    -------
    Added

    Raises
    ------
    InputError
        With every problem; a hole that is not in the register can't be sealed; an OK to cover has its own way.
    OutputError
        Where it can't be written.
    """
    if kind in _OWN_WAYS:
        problem = Problem(
            f"{kind} is not added by hand", Where(key="kind"), kind, f"the function {_OWN_WAYS[kind]}"
        )
        raise InputError("this entry can't be used", [problem])
    return write(log, kind, what, author=author, spot=spot)


def correct(log: Log, entry: str, what: Mapping[str, Any], *, author: str) -> Added:
    """Correct an entry: a new one of the same kind and place supersedes it; the old one is kept.

    Parameters
    ----------
    log : Log
    entry : str
        Id of the entry to correct.
    what : mapping
        All figures of the right entry.
    author : str

    Returns
    -------
    Added

    Raises
    ------
    InputError
        No such entry, or it is corrected already (correct the correction, or choose between rivals).
    """
    old = _live(log, entry)
    with Store(log.path) as store:
        row = drawings(store, log.house)
    spot = replace(old.spot, revision=row[drawing_of(old, row)].number) if row else old.spot
    return write(log, old.kind, what, author=author, spot=spot, supersedes=old.id)


def withdraw(log: Log, entry: str, reason: str, *, author: str) -> Added:
    """Withdraw an entry that should not be there; it is kept, and stands no more.

    Parameters
    ----------
    log : Log
    entry, reason, author : str

    Returns
    -------
    Added
    """
    old = _live(log, entry)
    return write(log, "withdrawn", {"reason": reason}, author=author, spot=old.spot, supersedes=old.id)


def choose(log: Log, entry: str, reason: str = "", *, author: str) -> Added:
    """Choose one of the rival corrections; the others stand no more.

    Parameters
    ----------
    log : Log
    entry : str
        Id of the one that shall stand.
    reason, author : str

    Returns
    -------
    Added

    Raises
    ------
    InputError
        Where it has no rivals.
    """
    rivals = standing(log.entries()).rivals
    group = next((rival for rival in rivals if entry in rival.entries), None)
    if group is None:
        waiting = ", ".join(key for rival in rivals for key in rival.entries)
        raise InputError(
            "this entry has no rivals", [Problem("nothing to choose", Where(key="entry"), entry, waiting)]
        )
    against = [key for key in group.entries if key != entry]
    what = {"entry": entry, "against": against, **({"reason": reason} if reason else {})}
    return write(log, "chosen", what, author=author)


def settle(log: Log, entry: str, spot: Spot, *, author: str) -> Added:
    """Give an entry whose joint is gone another joint.

    Parameters
    ----------
    log : Log
    entry : str
    spot : Spot
        The joint it belongs to now.
    author : str

    Returns
    -------
    Added
    """
    _live(log, entry)
    return write(log, "placed", {"entry": entry}, author=author, spot=spot)


def list_log(
    log: Log,
    *,
    kind: str = "",
    joint: Collection[str] = (),
    face: Collection[str] = (),
    history: bool = False,
) -> Listing:
    """List entries.

    Parameters
    ----------
    log : Log
    kind : str
        Only these; '' for all.
    joint, face : collection of str
        Only on these, by every name that they have in the log; empty for all.
    history : bool
        Corrected and withdrawn entries too.

    Returns
    -------
    Listing
    """
    entries = log.entries()
    now = standing(entries)
    wanted = entries if history else now.all
    found = tuple(
        entry
        for entry in wanted
        if (not kind or entry.kind == kind_now(kind))
        and (not joint or entry.spot.joint in joint)
        and (not face or entry.spot.face in face)
    )
    why = ((entry.id, held(entry)) for entry in found)
    return Listing(log, found, now.rivals, {name: reasons for name, reasons in why if reasons})


def import_log(log: Log, file: str) -> Imported:
    """Take a csv table or a workbook (xlsx) in: rows here already are passed over, rows that differ are listed and left out.

    Parameters
    ----------
    log : Log
    file : str

    Returns
    -------
    Imported

    Raises
    ------
    InputError
        With line and column of every problem; nothing is stored then.
    """
    path = Path(file)
    try:
        if path.stat().st_size > MOST_BYTES:
            raise InputError(
                "the file is too large",
                [Problem("too many bytes", Where(file), f"{path.stat().st_size}", f"up to {MOST_BYTES}")],
            )
        data = path.read_bytes()
    except OSError as error:
        raise InputError(
            "the table can't be read", [Problem("can't open it", Where(file), str(error.strerror))]
        ) from error
    if path.suffix.lower() == ".xlsx":
        from hullwright.store.table_xlsx import import_xlsx  # noqa: PLC0415  loads workbooks only where one comes

        entries = import_xlsx(data, file)
    else:
        entries = import_csv(data, file)
    with Store(log.path) as store:
        outcome = append_all(store, log.house, entries, Sending(datetime.now(UTC)), from_table=True)
    return Imported(log, file, outcome)


def export_log(log: Log, file: str) -> Exported:
    """Write all entries, corrected ones too, to a new csv table or workbook (xlsx).

    Parameters
    ----------
    log : Log
    file : str
        Must not be there yet.

    Returns
    -------
    Exported

    Raises
    ------
    OutputError
        Where it is there or can't be written.
    """
    entries = log.entries()
    if Path(file).suffix.lower() == ".xlsx":
        write_new(Path(file), _workbook(entries))
    else:
        write_new(Path(file), export_csv(entries))
    return Exported(log, file, len(entries))


def _workbook(entries: Sequence[Entry]) -> bytes:
    """One sheet with the columns of the csv; only whole numbers stand as numbers, so that nothing is rounded."""
    rows = [[cell if isinstance(cell, int) else str(cell) for cell in row] for row in table_rows(entries)]
    long = [
        Problem(
            "more characters than a cell holds",
            Where(key=str(row[1])),
            f"{len(cell)}",
            f"{_MOST_IN_CELL}",
            "export csv",
        )
        for row in rows
        for cell in row
        if isinstance(cell, str) and len(cell) > _MOST_IN_CELL
    ]
    if long:
        raise OutputError("this log does not fit a workbook", long[:20])
    return workbook([("log", COLUMNS, rows)], [WORKBOOK_NOTE])


def write(
    log: Log,
    kind: str,
    what: Mapping[str, Any],
    *,
    author: str,
    spot: Spot | None = None,
    supersedes: str = "",
) -> Added:
    """Write an entry made on this machine, checked against what is in the store."""
    now = datetime.now().astimezone()
    with Store(log.path) as store:
        seen = highest(store)
        stamp = Stamp(author, f"desk {platform.node()}"[:200], now, seen + 1, seen)
        where = spot or Spot()
        if not where.revision and not supersedes:
            where = replace(where, revision=last_number(store, log.house))
        draft = Entry(str(uuid.uuid4()), kind, stamp, where, dict(what), supersedes)
        entry = check(entry_from_json(draft.to_json()))
        _ask(entry)
        if entry.kind == "gauge reading":
            from hullwright.proof.lotbook import reading_of  # noqa: PLC0415  loads numbers only where a reading comes

            reading_of(entry)
        if kind in CHECKED:
            check_against(entry, list_entries(store, log.house, kinds=CHECKED[kind]))
        return Added(log, append(store, log.house, entry, Sending(now, now)))


def _ask(entry: Entry) -> None:
    """Ask about odd figures while whoever writes is there to answer.

    Raises
    ------
    InputError
        With a question for each figure that `sure` does not answer.
    """
    found = questions(entry)
    if found:
        asked = [
            problem.hinted(f"where it is right, name it in `sure` (--sure {said(name)})")
            for name, problem in found.items()
        ]
        raise InputError("is this right?", asked)


def said_at_once(log: Log, entry: Entry) -> str:
    """Say at once what a person must know of an entry that was kept: that a face was covered without an OK to cover.

    Parameters
    ----------
    log : Log
    entry : Entry

    Returns
    -------
    str
        '' where there is nothing to say.
    """
    if entry.kind != "covered":
        return ""
    with Store(log.path) as store:
        signed = standing(list_entries(store, log.house, kinds=("ok to cover", *_RULINGS))).of_kind(
            "ok to cover"
        )
        tables = imported(store, log.house)
    named = next((ok for ok in signed if ok.id == entry.what.get("ok")), None)
    if named is None:
        return "Covered without an OK to cover: it is kept, and counts for nothing until a lead signs one."
    if named.id in tables:
        return "Its OK to cover was taken in from a table: it is kept, and counts for nothing until a lead signs one here."
    return ""


def check_against(entry: Entry, entries: tuple[Entry, ...]) -> None:
    """Check an entry against what is in the store already: what it seals, mends or covers must be there.

    Parameters
    ----------
    entry : Entry
        Of a kind of :data:`CHECKED`.
    entries : tuple of Entry
        Those of the kinds that it names, or more.

    Raises
    ------
    InputError
    """
    if entry.kind == "hole sealed":
        check_seal(entry, entries)
    elif entry.kind in _NAMED:
        name, wanted, words = _NAMED[entry.kind]
        known = [other.id for other in standing(entries).of_kind(*wanted)]
        if entry.what[name] not in known:
            problem = Problem(
                f"no such {words} is in the log",
                Where(key=f"what.{name}"),
                entry.what[name],
                ", ".join(known[:20]),
            )
            raise InputError(f"{entry.kind} needs the id of its {words}", [problem])


def _live(log: Log, entry: str) -> Entry:
    """Give an entry that stands."""
    entries = log.entries()
    now = standing(entries)
    found = next((one for one in now.all if one.id == entry), None)
    if found is None:
        there = any(one.id == entry for one in entries)
        message = "this entry is corrected or withdrawn already" if there else "no such entry is in the log"
        raise InputError(
            message, [Problem(message, Where(key="entry"), entry, "the id of an entry that stands")]
        )
    original = next(one for one in entries if one.id == entry)
    return replace(found, spot=original.spot)
