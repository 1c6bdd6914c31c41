"""What was logged about one joint so far, and what became of each entry: for people who ask why it is in its state."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

from hullwright.proof.entries import Entry
from hullwright.proof.ledger import Account, Fate, accounts, standing
from hullwright.proof.locate import locate
from hullwright.proof.site import House, SiteJoint

_OF_A_PLACE: Final = frozenset({"hole", "hole sealed"})  # on a face they are of that place and of no joint
_REPAIRS: Final = {"hole sealed": "hole", "mended": "flaw"}


class Over(StrEnum):
    """How an entry is about a joint: it names it, it is of a whole face that the joint is on, or of its lot."""

    JOINT = "joint"
    FACE = "face"
    LOT = "lot"


@dataclass(frozen=True, slots=True)
class Told:
    """An entry about a joint.

    Parameters
    ----------
    account : Account
        The entry and what became of it.
    over : Over
    """

    account: Account
    over: Over

    def to_json(self) -> dict[str, Any]:
        """Give entry, fate and who took it back."""
        by = self.account.by
        back = (
            None
            if by is None
            else {
                "id": by.id,
                "author": by.stamp.author,
                "device_time": by.stamp.time.isoformat(),
                "reason": by.what.get("reason", ""),
            }
        )
        return {
            "entry": self.account.entry.full_json(),
            "fate": self.account.fate.value,
            "by": back,
            "over": self.over.value,
        }


def so_far(joint: SiteJoint, entries: Sequence[Entry], house: House | None = None) -> tuple[Told, ...]:
    """Give the entries about a joint, the latest first, those that stand no more too.

    About a joint are the entries that name it, its run or its mark, those whose place on the wall it lies next to, repairs of what they found wrong, entries of a whole face that it is on (but
    for holes, which have their own place), the first-strip tug tests of its lots, and what any of these corrected.

    Parameters
    ----------
    joint : SiteJoint
    entries : sequence of Entry
        All entries of the house.
    house : House, optional
        As drawn now; without it the joint is all of it.

    Returns
    -------
    tuple of Told
        By falling number of the store: device clocks order nothing.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from hullwright.proof.entries import Receipt, Spot, Stamp
    >>> stamp = Stamp("lead", "p1", datetime(2024, 5, 3, tzinfo=UTC), 1)
    >>> hole = Entry("a", "hole", stamp, Spot(joint="J1"), {"text": "pipe", "made_by": "plumber"}, receipt=Receipt(1))
    >>> seal = Entry("b", "hole sealed", stamp, what={"hole": "a", "product": "p", "detail": "boot"}, receipt=Receipt(2))
    >>> [(one.account.entry.kind, one.over.value) for one in so_far(SiteJoint("J1", "pipe", ("F1",), 0.0, "boot"), [seal, hole])]
    [('hole sealed', 'joint'), ('hole', 'joint')]
    """
    known = {one.entry.id: one for one in accounts(entries)}
    found: dict[str, Over] = {}
    for name, one in known.items():
        spot = one.entry.spot
        if spot.joint == joint.id:
            found[name] = Over.JOINT
        elif not spot.joint and spot.face in joint.faces and one.entry.kind not in _OF_A_PLACE:
            found[name] = Over.FACE
    for name in _found_there(joint, entries, house or House((joint,))) & known.keys():
        found.setdefault(name, Over.JOINT)
    for name, one in known.items():
        what = _REPAIRS.get(one.entry.kind)
        if what and found.get(str(one.entry.what.get(what))) is Over.JOINT:
            found[name] = Over.JOINT
    for name in _tugs(known.values(), found):
        found.setdefault(name, Over.LOT)
    for name, over in list(found.items()):
        for old in _before(known[name].entry, known):
            found.setdefault(old, over)
    told = (Told(known[name], over) for name, over in found.items())
    return tuple(sorted(told, key=lambda one: one.account.entry.receipt.number, reverse=True))


def _found_there(joint: SiteJoint, entries: Sequence[Entry], house: House) -> set[str]:
    """Entries that are about the joint by its run, its mark or their place on the wall."""
    located = locate(standing(entries).entries, house)
    return {one.entry.id for one in located if joint.id in one.joints}


def _tugs(known: Iterable[Account], found: dict[str, Over]) -> list[str]:
    """Tug tests of the first strip of the lots to which the joint's done marks belong, wherever they were made."""
    live = [one.entry for one in known if one.fate is Fate.STANDS]
    lots = {_lot(entry) for entry in live if entry.kind == "done" and entry.id in found}
    return [entry.id for entry in live if entry.kind == "tug" and _lot(entry) in lots]


def _lot(entry: Entry) -> tuple[str, str, str]:
    """Method, crew and day; '' where a held entry does not say them."""
    what = entry.what
    return str(what.get("method", "")), str(what.get("crew", "")), entry.stamp.time.date().isoformat()


def _before(entry: Entry, known: dict[str, Account]) -> list[str]:
    """Entries that this one corrected, one after the other; a ring (never written by us) ends where it began."""
    out: list[str] = []
    while entry.supersedes in known and entry.supersedes not in out:
        out.append(entry.supersedes)
        entry = known[entry.supersedes].entry
    return out
