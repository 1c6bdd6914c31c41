"""Which packs are open, or were too old when they were opened: from the lot numbers that were logged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from hullwright.proof.entries import Entry


@dataclass(frozen=True, slots=True)
class OpenPack:
    """Packs of one lot of a product that need a look.

    Parameters
    ----------
    product, lot : str
    open : int
        Opened and not emptied.
    since : date
        Day of the oldest that is open, or of the last that was opened.
    expired : bool
        Opened after the day that the pack says.
    """

    product: str
    lot: str
    open: int
    since: date
    expired: bool

    def to_json(self) -> dict[str, Any]:
        """Give the line."""
        return {
            "product": self.product,
            "lot": self.lot,
            "open": self.open,
            "since": self.since.isoformat(),
            "expired": self.expired,
        }


def open_packs(entries: Sequence[Entry]) -> tuple[OpenPack, ...]:
    """Give the packs that are open or were opened too old.

    Parameters
    ----------
    entries : sequence of Entry
        Standing entries; ``opened`` and ``emptied`` count. An expiry that is no day (2025-05-12) tells nothing.

    Returns
    -------
    tuple of OpenPack
        Sorted by product and lot; lots in order are left out.

    Examples
    --------
    >>> open_packs([])
    ()
    """
    opened: dict[tuple[str, str], list[Entry]] = defaultdict(list)
    emptied: dict[tuple[str, str], int] = defaultdict(int)
    for entry in entries:
        if entry.kind == "opened":
            opened[entry.what["product"], entry.what["lot"]].append(entry)
        elif entry.kind == "emptied":
            emptied[entry.what["product"], entry.what["lot"]] += 1
    found = [_pack(key, packs, emptied[key]) for key, packs in sorted(opened.items())]
    return tuple(pack for pack in found if pack.open or pack.expired)


def _pack(key: tuple[str, str], packs: Sequence[Entry], emptied: int) -> OpenPack:
    days = sorted(entry.stamp.time.date() for entry in packs)
    left = max(0, len(packs) - emptied)
    expired = any(_expired(entry) for entry in packs)
    return OpenPack(*key, left, days[min(emptied, len(days) - 1)], expired)


def _expired(entry: Entry) -> bool:
    try:
        return date.fromisoformat(str(entry.what.get("expires", ""))) < entry.stamp.time.date()
    except ValueError:
        return False
