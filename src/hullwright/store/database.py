"""How is a store opened, upgraded and written in one piece."""

from __future__ import annotations

import sqlite3
from collections.abc import Generator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from hullwright.errors import InputError, Problem, Where
from hullwright.store import sql
from hullwright.store.trouble import explained

BUSY_SECONDS = 30.0
OLDEST_LIBRARY = (3, 37, 0)  # strict tables


class Store:
    """An open store.

    Parameters
    ----------
    path : Path
        The file; made with its folder where it is not there.
    schema : sequence of tuple of str
        For tests of upgrades only.

    Raises
    ------
    OutputError
        Where it can't be written.
    InputError
        Where the file is something else, damaged, or written by a newer program.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder, Store(Path(folder) / "store.sqlite3") as store:
    ...     store.version, store.houses()
    (2, ())
    """

    def __init__(self, path: Path, schema: Sequence[tuple[str, ...]] = sql.SCHEMA) -> None:
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

    def __enter__(self) -> Self:
        """Give the open store."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close it."""
        self.close()

    def close(self) -> None:
        """Close the store."""
        with explained(self.path):
            self.connection.close()

    @property
    def version(self) -> int:
        """Schema version of the file."""
        return _number(self.connection, sql.GET_VERSION)

    def houses(self) -> tuple[str, ...]:
        """Give the names of the houses in the store."""
        with explained(self.path):
            return tuple(name for (name,) in self.connection.execute(sql.HOUSES))

    @contextmanager
    def writing(self) -> Generator[sqlite3.Connection]:
        """Write in one piece: all or nothing, on disk when the block ends."""
        with explained(self.path):
            self.connection.execute(sql.BEGIN)
            try:
                yield self.connection
                self.connection.execute(sql.COMMIT)
            except BaseException:
                if self.connection.in_transaction:
                    self.connection.execute(sql.ROLLBACK)
                raise

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
        if self.version < len(self._schema):
            self._upgrade()

    def _refuse_foreign(self) -> None:
        version, app = self.version, _number(self.connection, sql.GET_APPLICATION_ID)
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
        if version > len(self._schema):
            problem = Problem(
                "the store was written by a newer hullwright",
                Where(str(self.path)),
                f"version {version}",
                f"up to {len(self._schema)}",
                "update this program; nothing was changed",
            )
            raise InputError("this program is too old for this store", [problem])

    def _upgrade(self) -> None:
        if self.version > 0:
            from hullwright.store.backup import backup  # noqa: PLC0415  backup opens stores itself

            stamp = datetime.now(UTC).strftime("%Y%m%dT%H%M%S%f")
            backup(self.path, self.path.with_name(f"{self.path.stem}.before-upgrade-{stamp}.sqlite3"))
        with self.writing() as connection:
            for version in range(self.version, len(self._schema)):
                for statement in self._schema[version]:
                    connection.execute(statement)
            connection.execute(sql.SET_APPLICATION_ID)
            connection.execute(sql.SET_VERSION[len(self._schema)])


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
