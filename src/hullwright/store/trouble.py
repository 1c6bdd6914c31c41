"""What went wrong with the file of the store, said so that a person can act."""

from __future__ import annotations

import sqlite3
from collections.abc import Generator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

from hullwright.errors import HullwrightError, InputError, OutputError, Problem, Where

_FULL = ("disk is full", "disk i/o error")
_WRITE = ("readonly", "read-only", "unable to open")
_BUSY = ("locked", "busy")


@contextmanager
def explained(path: Path) -> Generator[None]:
    """Turn errors of SQLite and of the file system into ours.

    Raises
    ------
    OutputError
        Full disk, read-only folder, another writer that does not let go.
    InputError
        The file is damaged or is no store.
    """
    try:
        yield
    except (sqlite3.Error, OSError) as error:
        explain(error, path)


def explain(error: Exception, path: Path) -> NoReturn:
    """Raise the error of ours that fits."""
    raise _ours(error, path) from error


def _ours(error: Exception, path: Path) -> HullwrightError:
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
