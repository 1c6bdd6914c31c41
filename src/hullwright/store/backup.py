"""Can everything be brought back: backup while others write, verify to the last byte, restore."""

from __future__ import annotations

import hashlib
import json
import os
import sqlite3
from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from dataclasses import replace as replace_fields
from pathlib import Path
from tempfile import NamedTemporaryFile
from typing import Any, Final

from hullwright.errors import HullwrightError, InputError, OutputError, Problem, Where
from hullwright.proof.drawing import drawing_from_text
from hullwright.proof.entries import entry_from_json
from hullwright.store import sql
from hullwright.store.database import Store
from hullwright.store.drawings import row_digest
from hullwright.store.entries import body_of, digest_of
from hullwright.store.location import home_of
from hullwright.store.place import Address, Place
from hullwright.store.sqlite_file import connect, stamp
from hullwright.store.trouble import explained, refuse_unseen

# After a restore new numbers start this far on, so that a device can't take a new entry for one that it had seen before.
SKIP: Final = 1_000_000


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check of every byte found.

    Parameters
    ----------
    path : str
    version : int
    entries, photos : int
    problems : tuple of Problem
    drawings : int
        Issued drawings of all houses.
    """

    path: str
    version: int
    entries: int
    photos: int
    problems: tuple[Problem, ...]
    drawings: int = 0

    @property
    def ok(self) -> bool:
        """Whether nothing was found."""
        return not self.problems

    def to_json(self) -> dict[str, Any]:
        """Give the object of ``verify --json``."""
        return {
            "schema": {"name": "verify", "version": 1},
            "path": self.path,
            "ok": self.ok,
            "version": self.version,
            "entries": self.entries,
            "photos": self.photos,
            "drawings": self.drawings,
            "problems": [problem.to_json() for problem in self.problems],
            "cautions": [],
        }


def backup(path: Place, target: Path) -> Checked:
    """Copy a store into one file, photos included, while others write; verified before it gets its name.

    Parameters
    ----------
    path : Path or Address
        The store.
    target : Path
        File to make; must not be there yet. It is the same kind of file whether the store is a file or on a server, so that a
        log can move from one to the other.

    Returns
    -------
    Checked

    Raises
    ------
    InputError
        No store there, or it does not verify.
    OutputError
        The target is there already, or can't be written.
    """
    _must_be_there(path)
    if target.exists():
        problem = Problem(
            "a file of this name is there", Where(str(target)), allowed="a new name", hint="name another file"
        )
        raise OutputError("the backup would overwrite a file", [problem])
    with explained(target), _beside(target) as part:
        _copy(path, part)
        checked = verify(part)
        _refuse_bad(checked, path)
        _sync(part)
        _take_name(part, target)
    return replace_fields(checked, path=str(target))


def set_aside(path: Path, target: Path) -> None:
    """Copy a file of another kind than the log (people, jobs) before it is changed; its pages and references are checked.

    Raises
    ------
    InputError
        Where it does not verify.
    """
    with explained(target), _beside(target) as part:
        _copy(path, part)
        with closing(connect(part, read_only=True)) as connection:
            problems = tuple(_pages(connection, path))
        if problems:
            raise InputError(f"{path} does not verify", problems)
        _sync(part)
        _take_name(part, target)


def verify(path: Place) -> Checked:
    """Check pages, references, and the hash of every entry, photo and drawing.

    Parameters
    ----------
    path : Path or Address
        A store or a backup; it is not changed.

    Returns
    -------
    Checked

    Raises
    ------
    InputError
        Where no such file is there or it can't be read at all.
    """
    if isinstance(path, Address):
        return _verify_server(path)
    _must_be_there(path)
    with explained(path), closing(connect(path, read_only=True)) as connection:
        connection.execute(sql.BEGIN_READ)  # one state, though others write
        version = int(connection.execute(sql.GET_VERSION).fetchone()[0])
        problems = [*_foreign(connection, path, version)]
        if problems:
            return Checked(str(path), version, 0, 0, tuple(problems))
        problems += _pages(connection, path)
        counts = dict.fromkeys(_CHECKS, 0)
        for name, rows in (
            ("entries", connection.execute(sql.ALL_ENTRIES)),
            ("photos", _kept(connection, sql.HAS_PHOTOS, sql.ALL_PHOTOS)),
            ("drawings", _kept(connection, sql.HAS_DRAWINGS, sql.ALL_DRAWINGS)),
        ):
            for found in _CHECKS[name](rows, path):
                counts[name] += 1
                problems += found
    return _counted(path, version, counts, problems)


def _counted(path: Place, version: int, counts: dict[str, int], problems: list[Problem]) -> Checked:
    return Checked(
        str(path), version, counts["entries"], counts["photos"], tuple(problems), counts["drawings"]
    )


def _verify_server(address: Address) -> Checked:
    from hullwright.store import moving  # noqa: PLC0415 - its driver is an extra

    counts, problems, version = dict.fromkeys(_CHECKS, 0), list[Problem](), 0
    with explained(address):
        newer = list(_newer(moving.version_of(address), address))
        if newer:
            return Checked(str(address), moving.version_of(address), 0, 0, tuple(newer))
        for name, version, rows in moving.rows_of(address):  # noqa: B007 - the last one counts
            for found in _CHECKS[name](rows, address):
                counts[name] += 1
                problems += found
    if version == 0:
        _refuse_nothing(address)
    return _counted(address, version, counts, problems)


def _copy(path: Place, part: Path) -> None:
    if isinstance(path, Address):
        from hullwright.store import moving  # noqa: PLC0415 - its driver is an extra

        with explained(path):
            newer = tuple(_newer(moving.version_of(path), path))
            _refuse_bad(Checked(str(path), 0, 0, 0, newer), path)
            moving.save(path, part)
        return
    with closing(connect(path, read_only=True)) as source, closing(sqlite3.connect(part)) as copy:
        source.backup(copy)
        copy.execute(sql.SINGLE_FILE)


def restore(saved: Path, path: Place, *, replace: bool = False) -> Checked:
    """Bring a backup back.

    Parameters
    ----------
    saved : Path
        The backup; verified first, not changed.
    path : Path or Address
        Where the store shall be.
    replace : bool
        Needed where a store is there; that one is backed up beside first.

    Returns
    -------
    Checked
        Of the restored store.

    Raises
    ------
    InputError
        The backup does not verify, or a store is there and `replace` was not said.
    OutputError
        It can't be written, or others wrote to it meanwhile; nothing was changed then.
    """
    checked = verify(saved)
    _refuse_bad(checked, saved)
    seen = (0, 0, 0)
    if is_there(path):
        if not replace:
            problem = Problem(
                "a store is there",
                Where(str(path)),
                allowed="replace said on purpose",
                hint="say replace; the store there is backed up first",
            )
            raise InputError("the restore would replace a store", [problem])
        home, name = home_of(path), "server" if isinstance(path, Address) else path.stem
        home.mkdir(parents=True, exist_ok=True)
        before = home / f"{name}.before-restore-{stamp()}.sqlite3"
        backup(path, before)
        seen = _state(before)
    if isinstance(path, Address):
        from hullwright.store import moving  # noqa: PLC0415 - its driver is an extra

        with explained(path):
            moving.load(saved, path, skip=SKIP, seen=seen)
    else:
        _into_file(saved, path, seen)
    with Store(path):
        pass  # upgraded where the backup was older
    return verify(path)


def _state(path: Path) -> tuple[int, int, int]:
    """Highest number, photos and drawings of a file; zeros where nothing was begun in it."""
    with closing(connect(path, read_only=True)) as connection:
        if int(connection.execute(sql.GET_VERSION).fetchone()[0]) == 0:
            return (0, 0, 0)
        number = int(connection.execute(sql.HIGHEST).fetchone()[0])
        photos = sum(1 for _ in _kept(connection, sql.HAS_PHOTOS, sql.PHOTO_HASHES))
        drawings = sum(count for (count,) in _kept(connection, sql.HAS_DRAWINGS, sql.COUNT_DRAWINGS))
        return number, photos, drawings


def _into_file(saved: Path, path: Path, seen: tuple[int, int, int]) -> None:
    looked = False

    def look(_status: int, _left: int, _all: int) -> None:
        """After the first page nobody else can write to the live file, and a reader still sees what was there."""
        nonlocal looked
        if not looked:
            looked = True
            refuse_unseen(_state(path), seen, path)

    with explained(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        with _beside(path) as part:
            with closing(connect(saved, read_only=True)) as source, closing(sqlite3.connect(part)) as copy:
                source.backup(copy)
                copy.execute(sql.SKIP_NUMBERS, (SKIP,))
                copy.commit()
            with closing(sqlite3.connect(part)) as copy, closing(connect(path)) as live:
                live.execute(sql.WAL)  # readers go on while it is replaced
                copy.backup(
                    live, pages=1, progress=look
                )  # one transaction in the live file: whoever has it open sees all or nothing


def is_there(path: Place) -> bool:
    """Say whether a store is there; makes none."""
    if isinstance(path, Address):
        from hullwright.store.postgres import refuse_others  # noqa: PLC0415 - its driver is an extra

        return refuse_others(path)
    return path.exists()


def _must_be_there(path: Place) -> None:
    if not (is_there(path) if isinstance(path, Address) else path.is_file()):
        _refuse_nothing(path)


def _refuse_nothing(path: Place) -> None:
    said = "no log was begun there" if isinstance(path, Address) else "this file is not there"
    raise InputError("no store is there", [Problem(said, Where(str(path)), allowed="the place of a store")])


def _refuse_bad(checked: Checked, path: Place) -> None:
    if not checked.ok:
        raise InputError(f"{path} does not verify", checked.problems)


def _foreign(connection: sqlite3.Connection, path: Path, version: int) -> Iterator[Problem]:
    app = int(connection.execute(sql.GET_APPLICATION_ID).fetchone()[0])
    if app != sql.APPLICATION_ID:
        yield Problem("this file belongs to another program", Where(str(path)), f"application id {app}")
    elif version == 0:
        yield Problem("not finished", Where(str(path)), "version 0", f"up to {sql.VERSION}")
    else:
        yield from _newer(version, path)


def _newer(version: int, path: Place) -> Iterator[Problem]:
    if version > sql.VERSION:
        yield Problem(
            "written by a newer hullwright", Where(str(path)), f"version {version}", f"up to {sql.VERSION}"
        )


def _pages(connection: sqlite3.Connection, path: Path) -> Iterator[Problem]:
    for (text,) in connection.execute(sql.INTEGRITY):
        if text != "ok":
            yield Problem("damaged pages", Where(str(path)), str(text))
    for row in connection.execute(sql.FOREIGN_KEYS):
        yield Problem("a row points nowhere", Where(str(path)), str(row))


def _entries(rows: Iterable[Any], path: Place) -> Iterator[list[Problem]]:
    for number, key, house, kind, joint, face, body, digest in rows:
        try:
            entry = entry_from_json(json.loads(body))
            same = (entry.id, entry.as_sent()["kind"], entry.spot.joint, entry.spot.face) == (
                key,
                kind,
                joint,
                face,
            )
            sound = same and digest == digest_of(house, body) and body == body_of(entry)
        except (HullwrightError, ValueError):
            sound = False
        where = Where(str(path), key=f"entry {number}")
        yield [] if sound else [Problem("this entry is not what was stored", where, key)]


def _kept(connection: sqlite3.Connection, asked: str, question: str) -> Iterable[Any]:
    """Rows of a table that stores of earlier versions do not have."""
    there = int(connection.execute(asked).fetchone()[0]) > 0
    return connection.execute(question) if there else ()


def _photos(rows: Iterable[Any], path: Place) -> Iterator[list[Problem]]:
    for sha, kept, data in rows:
        sound = hashlib.sha256(data).hexdigest() == kept
        yield (
            []
            if sound
            else [Problem("this photo is not what was stored", Where(str(path), key=f"photo {sha}"))]
        )


def _drawings(rows: Iterable[Any], path: Place) -> Iterator[list[Problem]]:
    for *row, digest, body in rows:
        try:
            sound = (
                body is not None and drawing_from_text(body).sha256 == row[2] and digest == row_digest(*row)
            )
        except HullwrightError:
            sound = False
        where = Where(str(path), key=f"drawing {row[1]} of {row[0]}")
        yield [] if sound else [Problem("this drawing is not what was issued", where, str(row[2]))]


_CHECKS: Final[dict[str, Callable[[Iterable[Any], Place], Iterator[list[Problem]]]]] = {
    "entries": _entries,
    "photos": _photos,
    "drawings": _drawings,
}


@contextmanager
def _beside(target: Path) -> Generator[Path]:
    """Give an empty file in the folder of `target`, gone afterwards."""
    with NamedTemporaryFile(
        dir=target.parent, prefix=f".{target.name}.", suffix=".part", delete=False
    ) as file:
        part = Path(file.name)
    try:
        yield part
    finally:
        part.unlink(missing_ok=True)


def _take_name(part: Path, target: Path) -> None:
    """Give a finished file its name; never over a file that came there meanwhile."""
    with target.open("xb"):  # the name is ours now; a memory stick knows no hard links
        pass
    try:
        part.replace(target)
    except OSError:
        target.unlink()
        raise
    _sync(target.parent)


def _sync(path: Path) -> None:
    """Force a file or folder to the disk; folders can't be on every system."""
    folder = path.is_dir()
    if folder and os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY if folder else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
