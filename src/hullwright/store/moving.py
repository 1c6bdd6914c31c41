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


def load(saved: Path, address: Address, *, skip: int, seen: tuple[int, int, int]) -> None:
    """Put a file's state into a server's database in one transaction; what was there goes.

    Parameters
    ----------
    saved : Path
    address : Address
    skip : int
        New numbers start this far on.
    seen : tuple of int
        Highest number, photos and drawings of what was there when it was saved; zeros where nothing was.

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


def _now(raw: Any) -> tuple[int, int, int]:
    """Highest number, photos and drawings; a store of version 1 holds no photos, one of version 2 no drawings."""
    if not raw.execute(psql.HAS_MARK.encode()).fetchone()[0]:
        return (0, 0, 0)
    version = raw.execute(psql.GET_MARK.encode()).fetchone()[1]
    question = (sql.HIGHEST, sql.HIGHEST, psql.HIGHEST_AND_PHOTOS, psql.STATE)[min(version, 3)]
    number, photos, drawings = (*raw.execute(question.encode()).fetchone(), 0, 0)[:3]
    return int(number), int(photos), int(drawings)


def version_of(address: Address) -> int:
    """Version of the store on a server; 0 where none is there."""
    with snapshot(address) as (_, version):
        return version


def rows_of(address: Address) -> Iterator[tuple[str, int, Iterator[Any]]]:
    """Give the entries, then the photos, then the drawings of one state of a server, each with the version of the store.

    Yields
    ------
    tuple of (str, int, iterator)
        ``entries``, ``photos`` and ``drawings``; an iterator is to be used up before the next is asked for.
    """
    kinds = (
        ("entries", sql.ALL_ENTRIES, 500),
        ("photos", sql.ALL_PHOTOS, 1),
        ("drawings", sql.ALL_DRAWINGS, 1),
    )
    with snapshot(address) as (source, version):
        for since, (name, question, at_once) in enumerate(kinds, start=1):
            there = version >= since
            yield name, version, source.stream(question, at_once=at_once) if there else iter(())


def _at_once(table: str) -> int:
    return 1 if table.startswith(("photo", "drawing")) else 500
