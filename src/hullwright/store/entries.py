"""How are facts kept: stored once, never changed, refused where another body comes under the same id."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from typing import Any, Final

from hullwright.errors import InputError, Problem, Where
from hullwright.proof.entries import Entry, Receipt, entry_from_json
from hullwright.proof.old_names import kind_now, kinds_before
from hullwright.store import sql
from hullwright.store.database import Connection, Store
from hullwright.store.trouble import explained

MOST_READ: Final = 20_000
"""Bodies whose entries are kept in memory: some 3 kB each (estimate)."""
LONG_BODY: Final = 4_000
"""Characters of a body that is read anew each time: those of honest entries are shorter, and a log full of long ones fits no memory (estimate)."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of the entries that were sent.

    Parameters
    ----------
    stored : tuple of Entry
        New, with their receipts.
    already : tuple of Entry
        Here before with the same body.
    differing : tuple of str
        Ids under which another body is kept; what was sent under them was not stored.
    """

    stored: tuple[Entry, ...]
    already: tuple[Entry, ...]
    differing: tuple[str, ...]

    def to_json(self) -> dict[str, Any]:
        """Give counts, numbers and the ids that differ."""
        return {
            "stored": len(self.stored),
            "already": len(self.already),
            "differing": list(self.differing),
            "numbers": {entry.id: entry.receipt.number for entry in (*self.stored, *self.already)},
        }


@dataclass(frozen=True, slots=True)
class Sending:
    """When something was sent.

    Parameters
    ----------
    now : datetime
        Time of the store's clock, with zone.
    device_now : datetime or None
        What the device's clock said when it sent; its offset flags lots, it never refuses or orders.
    """

    now: datetime
    device_now: datetime | None = None

    @property
    def offset(self) -> float | None:
        """Device clock minus store clock [s]."""
        return None if self.device_now is None else (self.device_now - self.now).total_seconds()


def body_of(entry: Entry) -> str:
    """Give the body that must not change under the same id, always written the same way."""
    return json.dumps(
        entry.as_sent(), sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def digest_of(house: str, body: str) -> str:
    """Give the hash of a body in its house."""
    return hashlib.sha256(f"{house}\n{body}".encode()).hexdigest()


def append_all(
    store: Store, house: str, entries: Sequence[Entry], sending: Sending, *, from_table: bool = False
) -> Outcome:
    """Store entries in one transaction; on disk when this returns.

    Parameters
    ----------
    store : Store
    house : str
        Name of the house.
    entries : sequence of Entry
    sending : Sending
    from_table : bool
        They came from a table, not from whoever wrote them: kept with them.

    Returns
    -------
    Outcome
        Entries that differ from what is kept under their id are left out and listed; the others are stored.

    Raises
    ------
    InputError
        Where an entry can't be kept as text, or the house has no name. Nothing is stored then. What figures an entry has is
        not looked at: a fact with an odd one is kept too, and held for review when it is read.
    OutputError
        Where the disk is full, read-only or busy. Nothing is stored then.
    """
    _check_house(house)
    for entry in entries:
        check_text(entry)
    stored: list[Entry] = []
    already: list[Entry] = []
    differing: list[str] = []
    with store.writing() as connection:
        connection.execute(sql.ADD_HOUSE, (house,))
        for entry in entries:
            body = body_of(entry)
            digest = digest_of(house, body)
            row = connection.execute(sql.FIND_ENTRY, (entry.id,)).fetchone()
            if row is None:
                stored.append(_insert(connection, house, entry, (body, digest), sending))
                if from_table:
                    connection.execute(sql.ADD_IMPORTED, (entry.id,))
            elif row[1] == digest:
                already.append(replace(entry, receipt=_receipt(row[0], row[2], row[3])))
            else:
                differing.append(entry.id)
    return Outcome(tuple(stored), tuple(already), tuple(differing))


def append(store: Store, house: str, entry: Entry, sending: Sending) -> Entry:
    """Store one entry; a repeated send gives the first receipt again.

    Returns
    -------
    Entry
        With its receipt.

    Raises
    ------
    InputError
        Where another body is kept under this id.
    """
    outcome = append_all(store, house, [entry], sending)
    if outcome.differing:
        problem = Problem(
            "another body is kept under this id",
            Where(key="id"),
            entry.id,
            "the same body, or a new id",
            "send a correction that supersedes it",
        )
        raise InputError("this entry differs from the one that is kept", [problem])
    return (*outcome.stored, *outcome.already)[0]


def list_entries(
    store: Store, house: str, *, after: int = 0, kinds: Sequence[str] | None = None
) -> tuple[Entry, ...]:
    """Give all entries of a house in the order of the store.

    Parameters
    ----------
    store : Store
    house : str
    after : int
        Only those with a higher number: what a device has not seen yet.
    kinds : sequence of str, optional
        Only those of these kinds, by today's names, at most eleven with the names that they had before; none where it is
        empty.
    """
    if kinds is not None and not kinds:
        return ()
    names = [name for kind in kinds or () for name in kinds_before(kind)]
    query = sql.LIST_ENTRIES if kinds is None else sql.ENTRIES_OF_KINDS[len(names)]
    with explained(store.path):
        rows = store.connection.execute(query, (house, after, *names)).fetchall()
    return tuple(
        replace(
            _read(body) if len(body) <= LONG_BODY else _read_anew(body),
            receipt=_receipt(number, time, offset),
        )
        for number, body, time, offset in rows
    )


@lru_cache(maxsize=MOST_READ)
def _read(body: str) -> Entry:
    """Read a body; an entry never changes, so the same text is read once, whichever store it comes from."""
    return _read_anew(body)


def _read_anew(body: str) -> Entry:
    return entry_from_json(json.loads(body))


def kind_of(store: Store, house: str, entry: str) -> str | None:
    """Give the kind of an entry of a house by today's name, None where it is not here."""
    with explained(store.path):
        row = store.connection.execute(sql.KIND_OF, (entry, house)).fetchone()
    return None if row is None else kind_now(str(row[0]))


def highest(store: Store) -> int:
    """Give the highest number: what a device knows after it has fetched everything."""
    with explained(store.path):
        return int(store.connection.execute(sql.HIGHEST).fetchone()[0])


def _insert(
    connection: Connection, house: str, entry: Entry, written: tuple[str, str], sending: Sending
) -> Entry:
    spot, time = entry.spot, sending.now.isoformat()
    kind = entry.as_sent()["kind"]  # as the body has it
    row = (entry.id, house, kind, spot.joint, spot.face, *written, time, sending.offset)
    number = int(connection.execute(sql.ADD_ENTRY, row).fetchone()[0])
    return replace(entry, receipt=_receipt(number, time, sending.offset))


def _receipt(number: int, time: str, offset: float | None) -> Receipt:
    return Receipt(number, datetime.fromisoformat(time), offset)


def check_text(entry: Entry) -> None:
    """Refuse what a server can't keep as text, on a file too, so that a log can move from one to the other.

    Raises
    ------
    InputError
    """
    try:
        body_of(entry).encode()
    except UnicodeEncodeError as error:
        problem = Problem(
            "half of a letter stands in it (a lone surrogate)",
            Where(key="entry"),
            ascii(error.object[error.start : error.end]),
            "whole letters",
        )
        raise InputError("this entry can't be stored", [problem]) from error
    except ValueError as error:  # not a number, or without end: JSON has no word for it
        problem = Problem("a figure is no number that can be written", Where(key="what"), str(error)[:80])
        raise InputError("this entry can't be stored", [problem]) from error
    for key, text in (("kind", entry.kind), ("joint", entry.spot.joint), ("face", entry.spot.face)):
        if "\0" in text:
            problem = Problem("a NUL character stands in it", Where(key=key), repr(text)[:80], "plain text")
            raise InputError("this entry can't be stored", [problem])


def _check_house(house: str) -> None:
    if not (0 < len(house) <= 200 and house.isprintable()):
        raise InputError(
            "the house needs a name", [Problem("a name of 1 to 200 characters", got=repr(house)[:80])]
        )
