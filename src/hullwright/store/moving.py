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
from hullwright.store.trouble import refuse_unseen


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


def load(saved: Path, address: Address, *, skip: int, seen: tuple[int, int]) -> None:
    """Put a file's state into a server's database in one transaction; what was there goes.

    Parameters
    ----------
    saved : Path
    address : Address
    skip : int
        New numbers start this far on.
    seen : tuple of int
        Highest number and photos of what was there when it was saved; (0, 0) where nothing was.

    Raises
    ------
    OutputError
        More has come in since; nothing was changed.
    """
    with closing(connect_file(saved, read_only=True)) as source, connect(address) as raw:
        source.execute(sql.BEGIN_READ)
        version = int(source.execute(sql.GET_VERSION).fetchone()[0])
        for statement in (psql.BEGIN, psql.STAND_IN_LINE):
            raw.execute(statement.encode())
        refuse_unseen(_now(raw), seen, address)  # nobody else writes from here on
        for statement in (*psql.DROP_ALL, *psql.MARK):
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


def _now(raw: Any) -> tuple[int, int]:
    """Highest number and photos; a store of version 1 holds no photos."""
    if not raw.execute(psql.HAS_MARK.encode()).fetchone()[0]:
        return (0, 0)
    version = raw.execute(psql.GET_MARK.encode()).fetchone()[1]
    question = sql.HIGHEST if version < 2 else psql.HIGHEST_AND_PHOTOS
    number, *photos = raw.execute(question.encode()).fetchone()
    return int(number), int(photos[0]) if photos else 0


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
