"""How does a whole store move between a server and a file: one state in, all or nothing out."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

from hullwright.store import postgres_sql as psql
from hullwright.store import sql
from hullwright.store.place import Address
from hullwright.store.postgres import connect, snapshot
from hullwright.store.sqlite_file import connect as connect_file


def save(address: Address, part: Path) -> int:
    """Write the state of a server as a file of the same version.

    Parameters
    ----------
    address : Address
    part : Path
        An empty file.

    Returns
    -------
    int
        Version; 0 where no store is there, and then nothing was written.
    """
    with snapshot(address) as (source, version), closing(sqlite3.connect(part)) as copy:
        if version == 0:
            return 0
        for statements in sql.SCHEMA[:version]:
            for statement in statements:
                copy.execute(statement)
        for table in psql.TABLES[version]:
            rows = source.stream(psql.read_rows(table), at_once=_at_once(table))
            copy.executemany(psql.write_row(table, "?"), rows)
        copy.commit()
        copy.execute(sql.SET_APPLICATION_ID)
        copy.execute(sql.SET_VERSION[version])
    return version


def load(saved: Path, address: Address, *, skip: int) -> None:
    """Put a file's state into a server's database in one transaction; what was there goes.

    Parameters
    ----------
    saved : Path
    address : Address
    skip : int
        New numbers start this far on.
    """
    with closing(connect_file(saved, read_only=True)) as source, connect(address) as raw:
        source.execute(sql.BEGIN_READ)
        version = int(source.execute(sql.GET_VERSION).fetchone()[0])
        for statement in (psql.BEGIN, psql.STAND_IN_LINE, *psql.DROP_ALL, *psql.MARK):
            raw.execute(statement.encode())
        for statements in psql.SCHEMA[:version]:
            for statement in statements:
                raw.execute(statement.encode())
        for table in psql.TABLES[version]:
            write = psql.write_row(table, "%s").encode()
            for row in source.execute(psql.read_rows(table)):
                raw.execute(write, row)
        raw.execute(psql.SET_VERSION.encode(), (version,))
        raw.execute(psql.SKIP_NUMBERS.encode(), (skip,))
        raw.execute(sql.COMMIT.encode())


def version_of(address: Address) -> int:
    """Version of the store on a server; 0 where none is there."""
    with snapshot(address) as (_, version):
        return version


def rows_of(address: Address) -> Iterator[tuple[str, int, Iterator[Any]]]:
    """Give the entries and then the photos of one state of a server, each with the version of the store.

    Yields
    ------
    tuple of (str, int, iterator)
        ``entries`` and ``photos``; an iterator is to be used up before the next is asked for.
    """
    with snapshot(address) as (source, version):
        yield "entries", version, source.stream(sql.ALL_ENTRIES) if version else iter(())
        photos = version >= 2
        yield "photos", version, source.stream(sql.ALL_PHOTOS, at_once=1) if photos else iter(())


def _at_once(table: str) -> int:
    return 1 if table.startswith("photo") else 500
