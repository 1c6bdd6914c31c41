"""Photos as a device sends them, piece by piece, and as they are shown: only those that an entry of the house names."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from hullwright.app.log import Log
from hullwright.app.refusals import UnknownError
from hullwright.store.database import Store
from hullwright.store.entries import list_entries
from hullwright.store.photo_clean import clean
from hullwright.store.photos import arrived, finish, photo, put_part


def _named(log: Log, store: Store, sha256: str) -> None:
    named = (e.what.get("sha256") for e in list_entries(store, log.house) if e.kind in {"photo", "paper"})
    if sha256 not in named:
        raise UnknownError("no entry of this house names such a photo: send the entry first")


def take_part(log: Log, sha256: str, part: bytes, *, start: int, total: int) -> dict[str, Any]:
    """Take a part; with the last one the photo is turned upright, cleaned and kept.

    Raises
    ------
    UnknownError
        Where no entry of the house names it.
    InputError
        Wrong sizes, wrong hash, or no photo.
    """
    with Store(log.path) as store:
        _named(log, store, sha256)
        state = put_part(store, sha256, part, start=start, total=total)
        if not state.complete and state.next_byte == total:
            state = finish(store, sha256, clean, now=datetime.now(UTC))
    return state.to_json()


def how_far(log: Log, sha256: str) -> dict[str, Any]:
    """Say how much of a photo is here.

    Raises
    ------
    UnknownError
    """
    with Store(log.path) as store:
        _named(log, store, sha256)
        return arrived(store, sha256).to_json()


def show(log: Log, sha256: str) -> bytes:
    """Give a photo as it is kept.

    Raises
    ------
    UnknownError
    """
    with Store(log.path) as store:
        _named(log, store, sha256)
        if not arrived(store, sha256).complete:
            raise UnknownError("this photo has not arrived yet")
        return photo(store, sha256).data
