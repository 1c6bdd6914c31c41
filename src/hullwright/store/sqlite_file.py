"""The store as one SQLite file."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from hullwright.errors import InputError, Problem, Where
from hullwright.store import sql
from hullwright.store.trouble import explained

BUSY_SECONDS: Final = 30.0
OLDEST_LIBRARY: Final = (3, 37, 0)  # strict tables


class File:
    """An open file; see :class:`hullwright.store.database.Engine`.

    Parameters
    ----------
    path : Path
    schema : sequence of tuple of str
    """

    def __init__(self, path: Path, schema: Sequence[tuple[str, ...]]) -> None:
        self.path = path
        self._schema = schema
        _refuse_old_library()
        with explained(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            self.connection = connect(path)
            try:
                self._prepare()
            except BaseException:
                self.connection.close()
                raise

    def version(self) -> int:
        """Schema version of the file."""
        return _number(self.connection, sql.GET_VERSION)

    def begin(self) -> None:
        """Begin to write."""
        self.connection.execute(sql.BEGIN)

    def commit(self) -> None:
        """Force to the disk."""
        self.connection.execute(sql.COMMIT)

    def rollback(self) -> None:
        """Undo."""
        if self.connection.in_transaction:
            self.connection.execute(sql.ROLLBACK)

    def close(self) -> None:
        """Let go."""
        self.connection.close()

    def _prepare(self) -> None:
        self._refuse_foreign()
        mode = self.connection.execute(sql.WAL).fetchone()[0]
        if mode != "wal":
            problem = Problem(
                "this folder can't hold a safe store",
                Where(str(self.path)),
                f"journal mode {mode}",
                "a local disk",
                "keep the store on this machine's own disk",
            )
            raise InputError("the store can't be opened safely here", [problem])
        if self.version() < len(self._schema):
            self._upgrade()

    def _refuse_foreign(self) -> None:
        version, app = self.version(), _number(self.connection, sql.GET_APPLICATION_ID)
        empty = _number(self.connection, sql.COUNT_TABLES) == 0
        if not empty and app != sql.APPLICATION_ID:
            problem = Problem(
                "this file belongs to another program",
                Where(str(self.path)),
                f"application id {app}",
                "a store that hullwright wrote",
                "name another file",
            )
            raise InputError("this is not a store of hullwright", [problem])
        refuse_newer(version, len(self._schema), str(self.path))

    def _upgrade(self) -> None:
        if self.version() > 0:
            from hullwright.store.backup import backup, set_aside  # noqa: PLC0415  backup opens stores itself

            aside = self.path.with_name(f"{self.path.stem}.before-upgrade-{stamp()}.sqlite3")
            if self._schema is sql.SCHEMA:
                backup(self.path, aside)
            else:
                set_aside(self.path, aside)
        self.begin()
        try:
            for version in range(self.version(), len(self._schema)):
                for statement in self._schema[version]:
                    self.connection.execute(statement)
            self.connection.execute(sql.SET_APPLICATION_ID)
            self.connection.execute(sql.SET_VERSION[len(self._schema)])
            self.commit()
        except BaseException:
            self.rollback()
            raise


def stamp() -> str:
    """Time of now for the name of a file."""
    return datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")


def refuse_newer(version: int, known: int, place: str) -> None:
    """Refuse a store of a newer program.

    Raises
    ------
    InputError
    """
    if version > known:
        problem = Problem(
            "the store was written by a newer hullwright",
            Where(place),
            f"version {version}",
            f"up to {known}",
            "update this program; nothing was changed",
        )
        raise InputError("this program is too old for this store", [problem])


def _refuse_old_library() -> None:
    if sqlite3.sqlite_version_info < OLDEST_LIBRARY:
        got, allowed = sqlite3.sqlite_version, ".".join(map(str, OLDEST_LIBRARY)) + " or newer"
        problem = Problem(
            "this Python carries an old SQLite", got=got, allowed=allowed, hint="use a newer Python"
        )
        raise InputError("the store can't be opened with this Python", [problem])


def connect(path: Path, *, read_only: bool = False) -> sqlite3.Connection:
    """Open the bare file in autocommit; transactions are ours."""
    target = f"{path.resolve().as_uri()}?mode={'ro' if read_only else 'rwc'}"
    connection = sqlite3.connect(target, uri=True, timeout=BUSY_SECONDS, isolation_level=None)
    for pragma in sql.PRAGMAS:
        connection.execute(pragma)
    return connection


def _number(connection: sqlite3.Connection, query: str) -> int:
    return int(connection.execute(query).fetchone()[0])
