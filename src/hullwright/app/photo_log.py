"""A photo from this machine: the entry first, then the picture, upright and without its location."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from hullwright.app.log import Added, Log, add
from hullwright.errors import InputError, Problem, Where
from hullwright.proof.entries import Spot
from hullwright.store.database import Store
from hullwright.store.photo_clean import clean
from hullwright.store.photos import MOST_BYTES, MOST_PART, finish, put_part


def add_photo(
    log: Log, file: str, *, author: str, spot: Spot, note: str = "", of: Sequence[str] = ()
) -> Added:
    """Log a photo and keep it.

    Parameters
    ----------
    log : Log
    file : str
        JPEG, PNG or WebP.
    author : str
    spot : Spot
        Joint or face that it shows.
    note : str
    of : sequence of str
        Joints, runs, marks or faces that it shows too.

    Returns
    -------
    Added

    Raises
    ------
    InputError
        Where the file can't be read or is no photo; the entry is not written then.
    """
    data = _read(file)
    clean(data)  # refused before anything is written
    sha256 = hashlib.sha256(data).hexdigest()
    what = {"sha256": sha256, **({"of": list(of)} if of else {}), **({"note": note} if note else {})}
    added = add(log, "photo", what, author=author, spot=spot)
    with Store(log.path) as store:
        for start in range(0, len(data), MOST_PART):
            put_part(store, sha256, data[start : start + MOST_PART], start=start, total=len(data))
        finish(store, sha256, clean, now=datetime.now(UTC))
    return added


def _read(file: str) -> bytes:
    path = Path(file)
    try:
        size = path.stat().st_size
        if not 0 < size <= MOST_BYTES:
            raise InputError(
                "the photo can't be used",
                [Problem("too few or too many bytes", Where(file), f"{size}", f"up to {MOST_BYTES}")],
            )
        return path.read_bytes()
    except OSError as error:
        raise InputError(
            "the photo can't be used", [Problem("can't open it", Where(file), str(error.strerror))]
        ) from error
