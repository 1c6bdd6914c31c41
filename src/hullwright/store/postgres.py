"""The store as a database of a PostgreSQL server."""

from __future__ import annotations

from collections.abc import Generator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

from hullwright.errors import InputError, Problem, Where
from hullwright.store import postgres_sql as psql
from hullwright.store import sql
from hullwright.store.place import Address
from hullwright.store.sqlite_file import refuse_newer, stamp
from hullwright.store.trouble import explained

if TYPE_CHECKING:
    import psycopg

WAIT_SECONDS: Final = 10


class Asked:
    """A connection that takes statements as SQLite writes them.

    Parameters
    ----------
    raw : psycopg.Connection
    """

    def __init__(self, raw: psycopg.Connection[Any]) -> None:
        self.raw = raw

    def execute(self, statement: str, values: Sequence[Any] = (), /) -> Any:
        """Run a statement with ``?`` for each value, and give its cursor."""
        if not values:
            return self.raw.execute(statement.encode())
        return self.raw.execute(statement.replace("?", "%s").encode(), tuple(values))

    def stream(self, statement: str, *, at_once: int = 500) -> Generator[Any]:
        """Give the rows of a large answer, `at_once` held at a time; inside a transaction only."""
        with self.raw.cursor(name="rows") as cursor:
            cursor.itersize = at_once
            yield from cursor.execute(statement.encode())


def connect(address: Address) -> psycopg.Connection[Any]:
    """Open a connection in autocommit; transactions are ours.

    Raises
    ------
    InputError
        Where the driver is not installed, or the database's encoding is not UTF8.
    """
    try:
        import psycopg  # noqa: PLC0415 - an extra
    except ImportError as error:
        problem = Problem(
            "the driver of PostgreSQL is not installed",
            Where(str(address)),
            allowed="the package psycopg",
            hint="pip install 'hullwright[postgres]'",
        )
        raise InputError("the store can't be opened with this Python", [problem]) from error
    raw = psycopg.connect(
        address.url,
        autocommit=True,
        connect_timeout=WAIT_SECONDS,
        prepare_threshold=None,
        client_encoding="utf8",
    )
    try:
        _refuse_few_letters(raw, address)
        for statement in (psql.DURABLE, psql.PATIENCE):
            raw.execute(statement.encode())
    except BaseException:
        raw.close()
        raise
    return raw


def _refuse_few_letters(raw: psycopg.Connection[Any], address: Address) -> None:
    got = str(_one(raw, psql.ENCODING))
    if got != "UTF8":
        problem = Problem(
            "this database can't hold the letters of all languages",
            Where(str(address)),
            f"encoding {got}",
            "encoding UTF8",
            "make a database for the log: CREATE DATABASE hullwright TEMPLATE template0 ENCODING 'UTF8'",
        )
        raise InputError("the store can't be kept there", [problem])


def refuse_others(address: Address) -> bool:
    """Say whether a store is there; makes none.

    Raises
    ------
    InputError
        Where the database belongs to another program.
    """
    with explained(address), connect(address) as raw:
        if _one(raw, psql.HAS_MARK):
            return True
        count = int(_one(raw, psql.COUNT_TABLES))
        if count:
            raise _foreign(address, f"{count} tables of another program")
        return False


@contextmanager
def snapshot(address: Address) -> Generator[tuple[Asked, int]]:
    """Give one state of a store, though others write, with its version (0 where there is none)."""
    with explained(address), connect(address) as raw:
        raw.execute(psql.SNAPSHOT.encode())
        version = 0
        if _one(raw, psql.HAS_MARK):
            application, version = _mark(raw)
            if application != sql.APPLICATION_ID:
                raise _foreign(address, f"application id {application}")
        yield Asked(raw), version


class Server:
    """An open database; see :class:`hullwright.store.database.Engine`.

    Parameters
    ----------
    address : Address
    schema : sequence of tuple of str or None
        For tests of upgrades.
    """

    def __init__(self, address: Address, schema: Sequence[tuple[str, ...]] | None = None) -> None:
        self.address = address
        self._schema = psql.SCHEMA if schema is None else schema
        with explained(address):
            self._raw = connect(address)
            self.connection = Asked(self._raw)
            try:
                self._prepare()
            except BaseException:
                self._raw.close()
                raise

    def version(self) -> int:
        """Schema version of the database."""
        return _mark(self._raw)[1]

    def begin(self) -> None:
        """Begin to write, in line behind other writers."""
        self._raw.execute(psql.BEGIN.encode())
        self._raw.execute(psql.STAND_IN_LINE.encode())

    def commit(self) -> None:
        """Force to the server's disk."""
        self._raw.execute(sql.COMMIT.encode())

    def rollback(self) -> None:
        """Undo; the server does it by itself where the connection is gone."""
        if not self._raw.closed:
            self._raw.rollback()

    def close(self) -> None:
        """Let go."""
        self._raw.close()

    def _prepare(self) -> None:
        if not _one(self._raw, psql.HAS_SCHEMA):
            problem = Problem(
                "no schema of the search path is there",
                Where(str(self.address)),
                allowed="a schema that this account may write to",
                hint="have the database's owner make one",
            )
            raise InputError("the store can't be kept there", [problem])
        if not _one(self._raw, psql.HAS_MARK):
            self._refuse_strangers()
        else:
            self._refuse_foreign()
            if self.version() == len(self._schema):
                return
            if self.version() > 0:
                self._save()
        self._upgrade()

    def _refuse_strangers(self) -> None:
        count = int(_one(self._raw, psql.COUNT_TABLES))
        if count and not _one(self._raw, psql.HAS_MARK):  # another of us may have made it between the two
            raise _foreign(self.address, f"{count} tables of another program")

    def _refuse_foreign(self) -> None:
        application, version = _mark(self._raw)
        if application != sql.APPLICATION_ID:
            raise _foreign(self.address, f"application id {application}")
        refuse_newer(version, len(self._schema), str(self.address))

    def _save(self) -> None:
        from hullwright.store.backup import backup  # noqa: PLC0415 - it opens stores itself
        from hullwright.store.location import home_of  # noqa: PLC0415 - only for an upgrade

        home = home_of(self.address)
        home.mkdir(parents=True, exist_ok=True)
        backup(self.address, home / f"server.before-upgrade-{stamp()}.sqlite3")

    def _upgrade(self) -> None:
        self.begin()
        try:
            if not _one(self._raw, psql.HAS_MARK):
                for statement in psql.MARK:
                    self._raw.execute(statement.encode())
            for version in range(self.version(), len(self._schema)):
                for statement in self._schema[version]:
                    self._raw.execute(statement.encode())
            self._raw.execute(psql.SET_VERSION.encode(), (max(self.version(), len(self._schema)),))
            self.commit()
        except BaseException:
            self.rollback()
            raise


def _one(raw: psycopg.Connection[Any], query: str) -> Any:
    row = raw.execute(query.encode()).fetchone()
    return None if row is None else row[0]


def _mark(raw: psycopg.Connection[Any]) -> tuple[int, int]:
    row = raw.execute(psql.GET_MARK.encode()).fetchone()
    return (0, 0) if row is None else (int(row[0]), int(row[1]))


def _foreign(address: Address, got: str) -> InputError:
    problem = Problem(
        "this database belongs to another program",
        Where(str(address)),
        got,
        "an empty database (or schema), or a store that hullwright wrote",
        "make a database of its own for the log",
    )
    return InputError("this is not a store of hullwright", [problem])
