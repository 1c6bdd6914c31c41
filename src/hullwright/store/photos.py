"""How are photos kept: by content hash, entry first and photo later, in parts that can be resumed.

The store takes a photo only after it was turned upright, freed of its location data and encoded anew; who does that is
handed in (:mod:`hullwright.store.photo_clean`).
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

from hullwright.errors import InputError, Problem, Where
from hullwright.store import sql
from hullwright.store.database import Store
from hullwright.store.trouble import explained

MOST_BYTES: Final = 25 * 2**20
MOST_PART: Final = 2**20
_HASH: Final = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Cleaned:
    """A photo as it is kept.

    Parameters
    ----------
    data : bytes
    width, height : int
        [px]
    """

    data: bytes
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Arrived:
    """How much of a photo has arrived.

    Parameters
    ----------
    sha256 : str
    next_byte : int
        Where the sender goes on; the whole size once it is complete.
    complete : bool
    """

    sha256: str
    next_byte: int
    complete: bool

    def to_json(self) -> dict[str, Any]:
        """Give hash, next byte and whether it is complete."""
        return {"sha256": self.sha256, "next_byte": self.next_byte, "complete": self.complete}


Clean = Callable[[bytes], Cleaned]


def put_part(store: Store, sha256: str, part: bytes, *, start: int, total: int) -> Arrived:
    """Take a part of a photo; parts already here are taken as said.

    Parameters
    ----------
    store : Store
    sha256 : str
        Hash of the whole photo as the device took it; its name in the entry.
    part : bytes
    start : int
        First byte of the part.
    total : int
        Bytes of the whole photo.

    Returns
    -------
    Arrived
        Where to go on: half-sent photos are resumed from there.

    Raises
    ------
    InputError
        Bad hash, sizes that can't be, more than 25 MiB.
    """
    _check_hash(sha256)
    if not (
        0 < total <= MOST_BYTES and start >= 0 and 0 < len(part) <= MOST_PART and start + len(part) <= total
    ):
        got = f"part of {len(part)} bytes at {start} of {total}"
        allowed = f"up to {MOST_BYTES} bytes in all, parts of 1 to {MOST_PART} bytes"
        raise InputError(
            "this part of a photo can't be taken",
            [Problem("sizes out of range", Where(key=sha256), got, allowed)],
        )
    if sha256 in photo_hashes(store):
        return Arrived(sha256, total, complete=True)
    with store.writing() as connection:
        known = {row[1] for row in connection.execute(sql.PART_SPANS, (sha256,))}
        if known - {total}:
            raise InputError(
                "this part of a photo can't be taken",
                [Problem("another size was said before", Where(key=sha256), str(total), str(known.pop()))],
            )
        connection.execute(sql.ADD_PART, (sha256, start, total, part))
    return arrived(store, sha256)


def arrived(store: Store, sha256: str) -> Arrived:
    """Say how much of a photo is here."""
    _check_hash(sha256)
    with explained(store.path):
        row = store.connection.execute(sql.FIND_PHOTO, (sha256,)).fetchone()
        spans = store.connection.execute(sql.PART_SPANS, (sha256,)).fetchall()
    if row is not None:
        return Arrived(sha256, len(row[0]), complete=True)
    reach = 0
    for start, _, length in spans:
        if start > reach:
            break
        reach = max(reach, start + length)
    return Arrived(sha256, reach, complete=False)


def finish(store: Store, sha256: str, clean: Clean, *, now: datetime) -> Arrived:
    """Join the parts, check the hash, clean the photo and keep it.

    Parameters
    ----------
    store : Store
    sha256 : str
    clean : callable
        Turns the photo upright, takes its location data out, encodes it anew.
    now : datetime

    Returns
    -------
    Arrived

    Raises
    ------
    InputError
        Bytes are missing, or the hash does not fit: the parts are then dropped and the device sends again.
    """
    _check_hash(sha256)
    if sha256 in photo_hashes(store):
        return arrived(store, sha256)
    with explained(store.path):
        parts = store.connection.execute(sql.PARTS, (sha256,)).fetchall()
    data = bytearray()
    for start, _, part in parts:
        if start <= len(data):
            data[start : start + len(part)] = part
    total = parts[0][1] if parts else 0
    if not parts or len(data) < total:
        raise InputError(
            "the photo is not complete",
            [
                Problem(
                    "bytes are missing", Where(key=sha256), f"{len(data)} of {total}", hint="send the rest"
                )
            ],
        )
    if hashlib.sha256(data).hexdigest() != sha256:
        with store.writing() as connection:
            connection.execute(sql.DROP_PARTS, (sha256,))
        raise InputError(
            "the photo arrived damaged",
            [Problem("its hash does not fit", Where(key=sha256), hint="send it again")],
        )
    kept = clean(bytes(data))
    digest = hashlib.sha256(kept.data).hexdigest()
    with store.writing() as connection:
        connection.execute(
            sql.ADD_PHOTO, (sha256, digest, kept.width, kept.height, kept.data, now.isoformat())
        )
        connection.execute(sql.DROP_PARTS, (sha256,))
    return Arrived(sha256, total, complete=True)


def photo_hashes(store: Store) -> frozenset[str]:
    """Give the hashes of all photos that have arrived."""
    with explained(store.path):
        return frozenset(sha for (sha,) in store.connection.execute(sql.PHOTO_HASHES))


def photo(store: Store, sha256: str) -> Cleaned:
    """Give a photo.

    Raises
    ------
    InputError
        Where it is not here (yet).
    """
    with explained(store.path):
        row = store.connection.execute(sql.FIND_PHOTO, (sha256,)).fetchone()
    if row is None:
        raise InputError(
            "this photo is not here", [Problem("not sent yet, or never taken", Where(key=sha256))]
        )
    return Cleaned(bytes(row[0]), int(row[1]), int(row[2]))


def _check_hash(sha256: str) -> None:
    if not _HASH.fullmatch(sha256):
        raise InputError(
            "a photo is named by its hash", [Problem("not a SHA-256 in lower-case hex", got=sha256[:80])]
        )
