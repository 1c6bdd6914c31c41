"""How are issued drawings kept: each once, never changed, numbered by the store."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from hullwright.errors import InputError, Problem, Where
from hullwright.proof.drawing import Drawing, Issued, drawing_from_text
from hullwright.store import sql
from hullwright.store.database import Connection, Store
from hullwright.store.trouble import explained

MOST_REASON: Final = 2000


@dataclass(frozen=True, slots=True)
class Signed:
    """Who issues a drawing, why and when.

    Parameters
    ----------
    author, reason : str
    now : datetime
        By the clock of the store, with zone.
    """

    author: str
    reason: str
    now: datetime


def issue(store: Store, house: str, drawing: Drawing, signed: Signed, *, after: int | None = None) -> Issued:
    """Keep a drawing as the next revision; on disk when this returns.

    Parameters
    ----------
    store : Store
    house : str
        Name of the house.
    drawing : Drawing
    signed : Signed
    after : int or None
        Number of the revision that it is to follow, 0 for the first; None for whatever is the last.

    Returns
    -------
    Issued

    Raises
    ------
    InputError
        Another drawing was issued meanwhile, or author or reason can't be kept.
    OutputError
        It can't be written; nothing was changed then.
    """
    _check(signed)
    with store.writing() as connection:
        connection.execute(sql.ADD_HOUSE, (house,))
        last = _last(connection, house)
        if after is not None and last != after:
            problem = Problem(
                "another drawing was issued meanwhile",
                Where(key="drawing"),
                f"revision {last}",
                f"revision {after} as the last",
                "look at what it changed, then issue again",
            )
            raise InputError("this drawing was not issued", [problem])
        return _add(connection, house, drawing, signed, last + 1)


def issue_first(store: Store, house: str, drawing: Drawing, signed: Signed) -> Issued:
    """Keep a drawing as the first one, or give the first one where others were quicker.

    Parameters
    ----------
    store : Store
    house : str
    drawing : Drawing
    signed : Signed

    Returns
    -------
    Issued
        Revision 1, whoever issued it.
    """
    _check(signed)
    with store.writing() as connection:
        connection.execute(sql.ADD_HOUSE, (house,))
        if _last(connection, house) == 0:
            return _add(connection, house, drawing, signed, 1)
    return drawings(store, house)[0]


def last_number(store: Store, house: str) -> int:
    """Give the number of the last issued drawing of a house; 0 where none was issued."""
    with explained(store.path):
        return _last(store.connection, house)


def drawings(store: Store, house: str) -> tuple[Issued, ...]:
    """Give all issued drawings of a house, the first first.

    Parameters
    ----------
    store : Store
    house : str

    Returns
    -------
    tuple of Issued
    """
    out = []
    with explained(store.path):
        rows = store.connection.execute(sql.DRAWINGS, (house,)).fetchall()
        for number, sha, author, reason, time, after in rows:
            kept = _read.get(sha)
            if kept is None:
                kept = drawing_from_text(store.connection.execute(sql.DRAWING_BODY, (sha,)).fetchone()[0])
                if len(_read) >= _MOST_READ:
                    _read.clear()
                _read[sha] = kept
            out.append(Issued(number, datetime.fromisoformat(time), author, reason, after, kept))
    return tuple(out)


_MOST_READ: Final = 32
_read: dict[str, Drawing] = {}


def imported(store: Store, house: str) -> frozenset[str]:
    """Give the ids of entries that came from a table, not from the person who wrote them."""
    with explained(store.path):
        return frozenset(key for (key,) in store.connection.execute(sql.IMPORTED, (house,)))


def row_digest(*row: object) -> str:
    """Give the hash of a row of the table of drawings: house, number, hash, author, reason, time, entry before."""
    return hashlib.sha256(json.dumps(list(row), ensure_ascii=False).encode()).hexdigest()


def _add(connection: Connection, house: str, drawing: Drawing, signed: Signed, number: int) -> Issued:
    after = int(connection.execute(sql.HIGHEST).fetchone()[0])
    connection.execute(sql.ADD_DRAWING_BODY, (drawing.sha256, drawing.body))
    row = (house, number, drawing.sha256, signed.author, signed.reason, signed.now.isoformat(), after)
    connection.execute(sql.ADD_DRAWING, (*row, row_digest(*row)))
    return Issued(number, signed.now, signed.author, signed.reason, after, drawing)


def _last(connection: Connection, house: str) -> int:
    return int(connection.execute(sql.LAST_DRAWING, (house,)).fetchone()[0])


def _check(signed: Signed) -> None:
    problems = []
    if not (0 < len(signed.author) <= 200 and signed.author.isprintable()):
        problems.append(
            Problem(
                "who issues it?", Where(key="by"), repr(signed.author)[:80], "a name of 1 to 200 characters"
            )
        )
    if len(signed.reason) > MOST_REASON or "\0" in signed.reason:
        got = f"{len(signed.reason)} characters"
        problems.append(
            Problem("the reason can't be kept", Where(key="reason"), got, f"a text of up to {MOST_REASON}")
        )
    if problems:
        raise InputError("this drawing was not issued", problems)
