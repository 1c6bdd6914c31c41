"""Keep the log safe: backup, verify, restore."""

from __future__ import annotations

from pathlib import Path

from hullwright.store import backup as saving
from hullwright.store.backup import Checked
from hullwright.store.location import store_path
from hullwright.store.place import is_address

__all__ = ["Checked", "backup", "restore", "verify"]


def backup(target: str, store: str | None = None) -> Checked:
    """Copy the store into one new file, photos included, while others write.

    Parameters
    ----------
    target : str
        File to make; must not be there yet.
    store : str or None
        The store; None for the usual place.

    Returns
    -------
    Checked
        Every byte of the copy was checked.
    """
    return saving.backup(store_path(store), Path(target))


def verify(store: str | None = None) -> Checked:
    """Check every byte of a store or a backup.

    Parameters
    ----------
    store : str or None
        The file; None for the store at its usual place.

    Returns
    -------
    Checked
        ``ok`` says whether nothing was found.
    """
    named = store and not is_address(store) and Path(store).is_file()
    return saving.verify(Path(str(store)) if named else store_path(store))


def restore(saved: str, store: str | None = None, *, replace: bool = False) -> Checked:
    """Bring a backup back.

    Parameters
    ----------
    saved : str
        The backup.
    store : str or None
        Where the store shall be; None for the usual place.
    replace : bool
        Needed where a store is there; that one is backed up beside first.

    Returns
    -------
    Checked
    """
    return saving.restore(Path(saved), store_path(store), replace=replace)
