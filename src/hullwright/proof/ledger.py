"""Which entries stand: corrections taken in, rivals kept until a person chooses, knowledge by numbers and not by clocks."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from hullwright.proof.entries import Entry, Spot
from hullwright.proof.held import usable


@dataclass(frozen=True, slots=True)
class Rivals:
    """Corrections of one entry that know nothing of each other; all stand until a person chooses.

    Parameters
    ----------
    of : str
        Id of the entry they correct.
    entries : tuple of str
        Ids of the rivals, in the order of the store.
    """

    of: str
    entries: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands.

    Parameters
    ----------
    entries : tuple of Entry
        Those that may be counted, in the order of the store: every figure is there and can be.
    rivals : tuple of Rivals
    held : tuple of Entry
        Those that stand and are held for review by their figures (:func:`hullwright.proof.held.held` says why), as they were
        sent. A hole or flaw stands under `entries` too, without the figures that can't be used.
    """

    entries: tuple[Entry, ...]
    rivals: tuple[Rivals, ...]
    held: tuple[Entry, ...] = ()

    @property
    def all(self) -> tuple[Entry, ...]:
        """Every entry that stands, as it was sent, in the order of the store."""
        aside = {entry.id: entry for entry in self.held}
        own = {entry.id: entry for entry in self.entries}
        return tuple(sorted((own | aside).values(), key=lambda entry: entry.receipt.number))

    def of_kind(self, *kinds: str) -> tuple[Entry, ...]:
        """Give the standing entries of these kinds."""
        return tuple(entry for entry in self.entries if entry.kind in kinds)


class Fate(StrEnum):
    """What became of an entry."""

    STANDS = "stands"
    CORRECTED = "corrected"
    WITHDRAWN = "withdrawn"
    PASSED_OVER = "passed over"


@dataclass(frozen=True, slots=True)
class Account:
    """An entry and what became of it.

    Parameters
    ----------
    entry : Entry
        At the joint where it belongs now.
    fate : Fate
    by : Entry or None
        The entry that corrected, withdrew or outvoted it.
    """

    entry: Entry
    fate: Fate = Fate.STANDS
    by: Entry | None = None


def knows(later: Entry, earlier: Entry) -> bool:
    """Say whether the author of one entry could know of another.

    On the same device by the device's own running number; else only where the device had seen the other's number in the
    store. Clocks do not count.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from hullwright.proof.entries import Receipt, Stamp
    >>> noon = datetime(2024, 5, 3, 12, tzinfo=UTC)
    >>> hole = Entry("a", "hole", Stamp("plumber", "p2", noon, 1), receipt=Receipt(7))
    >>> knows(Entry("b", "seen", Stamp("lead", "p1", noon, 9, known=6), receipt=Receipt(8)), hole)
    False
    >>> knows(Entry("c", "seen", Stamp("lead", "p1", noon, 9, known=7), receipt=Receipt(8)), hole)
    True
    """
    if later.stamp.device == earlier.stamp.device:
        return later.stamp.sequence > earlier.stamp.sequence
    return 0 < earlier.receipt.number <= later.stamp.known


def standing(entries: Sequence[Entry]) -> Standing:
    """Take in corrections, withdrawals, choices and new places.

    Parameters
    ----------
    entries : sequence of Entry
        All entries, in the order of the store.

    Returns
    -------
    Standing
        Without superseded and withdrawn entries; with both rivals where two corrections of one entry stand.
    """
    ordered = sorted(entries, key=lambda entry: entry.receipt.number)
    by_id = {entry.id: entry for entry in ordered}
    superseded = {entry.supersedes for entry in ordered if entry.supersedes in by_id}
    dropped = _dropped(ordered, by_id, superseded)
    live = [entry for entry in ordered if entry.id not in superseded and entry.id not in dropped]
    rivals = _rivals(live, by_id)
    moved = {entry.what["entry"]: entry.spot for entry in live if entry.kind == "placed" and usable(entry)}
    kept = [_moved(entry, moved) for entry in live if entry.kind not in {"withdrawn", "placed"}]
    counted = [usable(entry) for entry in kept]
    return Standing(
        tuple(without_empty(entry) for entry in counted if entry is not None),
        rivals,
        tuple(entry for entry, sound in zip(kept, counted, strict=True) if sound is not entry),
    )


def without_empty(entry: Entry) -> Entry:
    """Give an entry without the figures that were left empty: null is the same as not said."""
    if all(value is not None for value in entry.what.values()):
        return entry
    return replace(entry, what={name: value for name, value in entry.what.items() if value is not None})


def accounts(entries: Sequence[Entry]) -> tuple[Account, ...]:
    """Say of every entry whether it stands, and which other took its place.

    Parameters
    ----------
    entries : sequence of Entry
        All entries, in the order of the store.

    Returns
    -------
    tuple of Account
        Without withdrawals and new places, which speak of other entries only; those whose fate is *stands* are the entries
        of :func:`standing`.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from hullwright.proof.entries import Receipt, Stamp
    >>> stamp = Stamp("lead", "p1", datetime(2024, 5, 3, tzinfo=UTC), 1)
    >>> done = Entry("a", "done", stamp, receipt=Receipt(1))
    >>> gone = Entry("b", "withdrawn", stamp, what={"reason": "wrong joint"}, supersedes="a", receipt=Receipt(2))
    >>> [(one.entry.id, one.fate.value, one.by.id) for one in accounts([done, gone])]
    [('a', 'withdrawn', 'b')]
    """
    ordered = sorted(entries, key=lambda entry: entry.receipt.number)
    now = {entry.id: entry for entry in standing(ordered).all}
    later: dict[str, list[Entry]] = defaultdict(list)
    for entry in ordered:
        against = entry.what["against"] if entry.kind == "chosen" and usable(entry) else ()
        for other in (entry.supersedes, *against):
            later[other].append(entry)
    return tuple(
        Account(now[entry.id]) if entry.id in now else _put_aside(entry, later[entry.id])
        for entry in ordered
        if entry.kind not in {"withdrawn", "placed"}
    )


def _put_aside(entry: Entry, later: Sequence[Entry]) -> Account:
    """Say why an entry does not stand; a correction outweighs a withdrawal that knew nothing of it, both a choice."""

    def rank(other: Entry) -> tuple[bool, bool, int]:
        return other.supersedes == entry.id, other.kind != "withdrawn", other.receipt.number

    by = max(later, key=rank)
    if by.supersedes != entry.id:
        return Account(entry, Fate.PASSED_OVER, by)
    return Account(entry, Fate.WITHDRAWN if by.kind == "withdrawn" else Fate.CORRECTED, by)


def _moved(entry: Entry, moved: Mapping[str, Spot]) -> Entry:
    """Give the entry the joint that a person gave it after the house was edited."""
    if entry.id not in moved:
        return entry
    to = moved[entry.id]
    spot = replace(
        entry.spot, joint=to.joint, kind=to.kind or entry.spot.kind, face=to.face or entry.spot.face
    )
    return replace(entry, spot=spot)


def _dropped(ordered: Sequence[Entry], by_id: dict[str, Entry], superseded: set[str]) -> set[str]:
    """Entries that lost a choice; a choice counts while it is itself not corrected, and only among real rivals."""
    out: set[str] = set()
    for entry in ordered:
        if entry.kind != "chosen" or entry.id in superseded or usable(entry) is None:
            continue
        root = _root(entry.what["entry"], by_id)
        losers = [lost for lost in entry.what["against"] if lost != entry.what["entry"]]
        out.update(lost for lost in losers if lost in by_id and _root(lost, by_id) == root)
    return out


def _rivals(live: Iterable[Entry], by_id: dict[str, Entry]) -> tuple[Rivals, ...]:
    groups: dict[str, list[str]] = defaultdict(list)
    for entry in live:
        if entry.supersedes in by_id:
            groups[_root(entry.id, by_id)].append(entry.id)
    once = {
        root: tuple(dict.fromkeys(ids)) for root, ids in groups.items()
    }  # an entry may lie on several joints
    return tuple(Rivals(root, ids) for root, ids in once.items() if len(ids) > 1)


def _root(start: str, by_id: dict[str, Entry]) -> str:
    """First entry of a chain of corrections; a ring (never written by us) ends where it began."""
    seen: set[str] = set()
    while start in by_id and by_id[start].supersedes in by_id and start not in seen:
        seen.add(start)
        start = by_id[start].supersedes
    return start
