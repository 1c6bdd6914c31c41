"""How is a store opened, upgraded and written in one piece, be it a file or a database of a server."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from contextlib import contextmanager
from types import TracebackType
from typing import Any, Protocol, Self

from hullwright.store import sql
from hullwright.store.place import Address, Place
from hullwright.store.trouble import explained


class Connection(Protocol):
    """What the store asks of a database: one statement with ``?`` for each value."""

    def execute(self, statement: str, values: Sequence[Any] = ..., /) -> Any:
        """Run a statement and give its cursor."""
        ...


class Engine(Protocol):
    """One kind of database under the store."""

    @property
    def connection(self) -> Connection:
        """Where statements go."""
        ...

    def version(self) -> int:
        """Schema version."""
        ...

    def begin(self) -> None:
        """Begin to write; waits until no other writer is at it."""
        ...

    def commit(self) -> None:
        """Force what was written to the disk and end."""
        ...

    def rollback(self) -> None:
        """Undo what was written, where something is open."""
        ...

    def close(self) -> None:
        """Let go."""
        ...


class Store:
    """An open store.

    Parameters
    ----------
    path : Path or Address
        The file, made with its folder where it is not there; or the database of a server, filled where it is empty.
    schema : sequence of tuple of str
        For tests of upgrades, and for files of another content.

    Raises
    ------
    OutputError
        Where it can't be written or reached.
    InputError
        Where it is something else, damaged, or written by a newer program.

    Examples
    --------
    >>> import tempfile
    >>> from pathlib import Path
    >>> with tempfile.TemporaryDirectory() as folder, Store(Path(folder) / "store.sqlite3") as store:
    ...     store.version, store.houses()
    (3, ())
    """

    def __init__(self, path: Place, schema: Sequence[tuple[str, ...]] | None = None) -> None:
        self.path = path
        self._engine = _engine(path, schema)
        self.connection = self._engine.connection

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
            self._engine.close()

    @property
    def version(self) -> int:
        """Schema version of the store."""
        with explained(self.path):
            return self._engine.version()

    def houses(self) -> tuple[str, ...]:
        """Give the names of the houses in the store."""
        with explained(self.path):
            return tuple(name for (name,) in self.connection.execute(sql.HOUSES))

    @contextmanager
    def writing(self) -> Generator[Connection]:
        """Write in one piece: all or nothing, on disk when the block ends."""
        with explained(self.path):
            self._engine.begin()
            try:
                yield self.connection
                self._engine.commit()
            except BaseException:
                self._engine.rollback()
                raise


def _engine(path: Place, schema: Sequence[tuple[str, ...]] | None) -> Engine:
    if isinstance(path, Address):
        from hullwright.store.postgres import Server  # noqa: PLC0415 - its driver is an extra

        return Server(path, schema)
    from hullwright.store.sqlite_file import File  # noqa: PLC0415 - it makes backups, which open stores

    return File(path, schema or sql.SCHEMA)
