"""What went wrong with the store, said so that a person can act."""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Generator
from contextlib import contextmanager
from typing import Any, NoReturn

from hullwright.errors import HullwrightError, InputError, OutputError, Problem, Where
from hullwright.store.place import Address, Place

_FULL = ("disk is full", "disk i/o error")
_WRITE = ("readonly", "read-only", "unable to open")
_BUSY = ("locked", "busy")


@contextmanager
def explained(path: Place) -> Generator[None]:
    """Turn errors of the database and of the file system into ours.

    Raises
    ------
    OutputError
        Full disk, read-only folder or account, another writer that does not let go, a server that can't be reached.
    InputError
        The store is damaged or is no store.
    """
    try:
        yield
    except Exception as error:
        if not isinstance(error, (sqlite3.Error, OSError, *_server_errors())):
            raise
        explain(error, path)


def refuse_unseen(now: tuple[int, int, int], seen: tuple[int, int, int], place: Place) -> None:
    """Refuse to replace entries, photos or drawings that came in after the store was saved.

    Raises
    ------
    OutputError
    """
    if now != seen:
        problem = Problem(
            "others write to it: what came in since it was saved would be lost",
            Where(str(place)),
            f"highest number {now[0]}, {now[1]} photos, {now[2]} drawings",
            f"as saved before: highest number {seen[0]}, {seen[1]} photos, {seen[2]} drawings",
            "let nobody send for the moment (stop serve) and restore again; nothing was changed",
        )
        raise OutputError("the store was written to meanwhile", [problem])


def explain(error: Exception, path: Place) -> NoReturn:
    """Raise the error of ours that fits."""
    if isinstance(path, Address) and isinstance(error, _server_errors()):
        raise _of_server(error, path) from None  # the driver's own error may hold the whole address
    raise _ours(error, path) from error


def _server_errors() -> tuple[type[Exception], ...]:
    """Errors of the server's driver; none where it was never loaded."""
    driver = sys.modules.get("psycopg")
    return () if driver is None else (driver.Error,)


def _of_server(error: Exception, address: Address) -> HullwrightError:
    code = str(getattr(error, "sqlstate", None) or "")
    said = address.without_secrets(str(error)).strip().splitlines()
    where, got = Where(str(address)), "; ".join(line.strip() for line in said if line.strip())[:400]
    kept = "nothing that was acknowledged is lost"
    for codes, words, title, hint in _SERVER:
        if code.startswith(codes):
            problem = Problem(words, where, got, hint=f"{hint}: {kept}")
            return OutputError(title, [problem])
    if code == "" or type(error).__name__ == "OperationalError":
        problem = Problem(
            "the database server does not answer, or does not let this account in",
            where,
            got,
            "a server that runs, and an account it knows",
            f"look at its name, its network and the password (PGPASSFILE or PGPASSWORD), then send again: {kept}",
        )
        return OutputError("the store can't be reached", [problem])
    problem = Problem(
        "the server refused the statement",
        where,
        f"{code}: {got}",
        hint="restore the last backup if it is damaged",
    )
    return InputError("the store can't be read", [problem])


# Source: PostgreSQL documentation, appendix "PostgreSQL Error Codes".
_SERVER: tuple[tuple[tuple[str, ...], str, str, str], ...] = (
    (("53100", "53200", "58"), "the server's disk is full or failing", "the store can't be written: the disk is full or failing", "make room on the server and send again"),
    (("42501", "25006"), "this account may not write there", "the store can't be written here", "have the database's owner give the right to write"),
    (("55P03", "57014", "40P01", "40001"), "another program keeps the store busy", "the store is busy", "wait and send again"),
    (("57P", "08", "53300"), "the server has gone away or takes no more connections", "the store can't be reached", "wait until it is back and send again"),
    (("28", "3D"), "the server does not let this account into that database", "the store can't be reached", "look at account, password (PGPASSFILE or PGPASSWORD) and database"),
)  # fmt: skip


def _ours(error: Exception, path: Any) -> HullwrightError:
    text, where = str(error).lower(), Where(str(path))
    if any(sign in text for sign in (*_FULL, "no space left", "file too large")):
        problem = Problem(
            "the disk is full or failing",
            where,
            str(error),
            "room to write",
            "make room and send again: nothing that was acknowledged is lost",
        )
        return OutputError("the store can't be written: the disk is full or failing", [problem])
    if any(sign in text for sign in _WRITE) or isinstance(error, OSError):
        problem = Problem(
            "the folder or file can't be opened for writing",
            where,
            str(error),
            "a folder this account may write to",
            "choose another folder or its rights",
        )
        return OutputError("the store can't be written here", [problem])
    if any(sign in text for sign in _BUSY):
        problem = Problem(
            "another program keeps the store busy", where, str(error), "", "wait and send again"
        )
        return OutputError("the store is busy", [problem])
    problem = Problem(
        "the file is damaged or is not a store",
        where,
        str(error),
        "a store that hullwright wrote",
        "restore the last backup",
    )
    return InputError("the store can't be read", [problem])
