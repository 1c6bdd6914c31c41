"""What a device sends: each entry stored once or refused by itself, whatever came before or comes again."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import Any, Final

from hullwright.app.access import may_log
from hullwright.app.gauge_says import said_of
from hullwright.app.house import House
from hullwright.app.log import CHECKED, Log, check_against, said_at_once
from hullwright.app.taken import Taken, taken
from hullwright.catalog import Catalog
from hullwright.errors import HullwrightError, InputError, Problem, Where
from hullwright.proof.entries import Entry, entry_from_json, loads
from hullwright.proof.gauge_verdict import Said
from hullwright.proof.held import held, usable
from hullwright.store.database import Store
from hullwright.store.entries import Sending, append_all, check_text, highest, kind_of, list_entries

MOST_BODY: Final = 60_000


@dataclass(frozen=True, slots=True)
class Sender:
    """Who sends.

    Parameters
    ----------
    role : str
    name, device : str or None
        Author and device that every entry must carry; None where a lead hands in another's queue.
    """

    role: str
    name: str | None
    device: str | None


@dataclass(slots=True)
class Receipt:
    """What became of one entry.

    Parameters
    ----------
    id, body_hash, status, reason : str
    number : int or None
    problems : tuple of Problem
        Why it was refused.
    held : tuple of str
        Why it is held for review, where it was stored.
    gauge : Said or None
        What a gauge reading shows of the least film; None for everything else.
    taken : Taken
        What it leaves out and why, or what it lacks, where it was stored.
    """

    id: str
    body_hash: str
    status: str = "refused"
    reason: str = ""
    number: int | None = None
    problems: tuple[Problem, ...] = ()
    held: tuple[str, ...] = ()
    gauge: Said | None = None
    taken: Taken = field(default_factory=Taken)

    def to_json(self) -> dict[str, Any]:
        """Give the receipt."""
        return {
            "id": self.id,
            "body_hash": self.body_hash,
            "status": self.status,
            "number": self.number,
            "reason": self.reason,
            "problems": [problem.to_json() for problem in self.problems],
            "held": list(self.held),
            "gauge": None if self.gauge is None else self.gauge.to_json(),
            **self.taken.to_json(),
        }

    def refuse(self, error: HullwrightError) -> None:
        """Say why it was not stored."""
        self.status, self.reason, self.problems, self.held = "refused", error.message, error.problems, ()
        self.gauge = None
        self.taken = Taken()


@dataclass(slots=True)
class _Batch:
    """Entries on their way into the store."""

    store: Store
    log: Log
    sending: Sending
    waiting: list[tuple[Entry, Receipt]] = field(default_factory=list)

    def flush(self) -> None:
        """Store what waits, in one transaction."""
        entries = {entry.id: receipt for entry, receipt in self.waiting}
        outcome = append_all(self.store, self.log.house, [entry for entry, _ in self.waiting], self.sending)
        for status, found in (("stored", outcome.stored), ("duplicate", outcome.already)):
            for entry in found:
                entries[entry.id].status, entries[entry.id].number = status, entry.receipt.number
        for name in outcome.differing:
            problem = Problem(
                "another body is kept under this id",
                Where(key="id"),
                name,
                hint="send a correction that supersedes it",
            )
            entries[name].refuse(InputError("this entry differs from the one that is kept", [problem]))
        self.waiting.clear()


def send(
    log: Log,
    sent: Sequence[tuple[str, str]],
    sender: Sender,
    *,
    device_now: str | None = None,
    sheets: Callable[[], Catalog | None] | None = None,
) -> tuple[list[Receipt], int]:
    """Take in a device's queue.

    What an entry can be made of is kept, whatever its figures are: an odd one is held for review, and its receipt says why.

    Parameters
    ----------
    log : Log
    sent : sequence of (id, body text)
        In any order; they are taken by the device's own numbers.
    sender : Sender
    device_now : str or None
        The device's clock, with zone.
    sheets : function or None
        Gives the products that the house has sheets of, where an entry names one.

    Returns
    -------
    tuple
        A receipt for each, in the order sent; highest number of the store. What is *stored* or *duplicate* is on disk.

    Raises
    ------
    OutputError
        Where the disk is full, read-only or busy: nothing that has no receipt is lost to the device.
    """
    receipts = [
        Receipt(name.lower(), hashlib.sha256(body.encode("utf-8", errors="surrogatepass")).hexdigest())
        for name, body in sent
    ]
    read = [
        (_read(name, body, sender, receipt), receipt)
        for (name, body), receipt in zip(sent, receipts, strict=True)
    ]
    ready = [(entry, receipt) for entry, receipt in read if entry is not None]
    _review(ready, sheets)
    ready.sort(key=lambda one: (one[0].stamp.device, one[0].stamp.sequence))
    with Store(log.path) as store:
        batch = _Batch(store, log, Sending(datetime.now(UTC), _clock(device_now)))
        _take(batch, ready)
        top = highest(store)
    for entry, receipt in ready:
        if receipt.status != "refused":
            receipt.reason = receipt.reason or said_at_once(log, entry)
    return receipts, top


def say_taken(
    log: Log,
    house: House,
    sent: Sequence[tuple[str, str]],
    receipts: Sequence[Receipt],
    plan: str | None = None,
) -> None:
    """Note on the receipts what the entries leave out and why, and which prove nothing as they are.

    Parameters
    ----------
    log : Log
    house : House
    sent : sequence of (id, body text)
    receipts : sequence of Receipt
        One for each that was sent, in the same order.
    plan : str or None
        ``plan.json`` of the house.
    """
    entries = []
    for (_, body), receipt in zip(sent, receipts, strict=True):
        if receipt.status != "refused" and receipt.number is not None:
            entry = entry_from_json(_object(body))
            entries.append(replace(entry, receipt=replace(entry.receipt, number=receipt.number)))
    found = taken(log, house, entries, plan)
    for receipt in receipts:
        receipt.taken = found.get(receipt.id, receipt.taken)


def _review(ready: Sequence[tuple[Entry, Receipt]], sheets: Callable[[], Catalog | None] | None) -> None:
    """Note on the receipts which entries are held for review, and what each gauge reading shows."""
    named = any(entry.what.get("product") or entry.what.get("method") for entry, _ in ready)
    known = sheets() if named and sheets is not None else None
    for entry, receipt in ready:
        receipt.held = held(entry, known)
        receipt.gauge = said_of(entry, known)


def _take(batch: _Batch, ready: Sequence[tuple[Entry, Receipt]]) -> None:
    seen: set[str] = set()
    for entry, receipt in ready:
        if entry.id in seen:  # twice in one batch: the first must be in before the second is compared
            batch.flush()
        seen.add(entry.id)
        if entry.kind in CHECKED or entry.supersedes:
            if entry.supersedes or CHECKED[entry.kind]:
                batch.flush()  # what it corrects or seals may have come just before it
            store, house = batch.store, batch.log.house
            try:
                if kind_of(store, house, entry.id) is None:
                    _check_supersedes(entry, store, house)
                    if entry.kind in CHECKED and usable(entry) is not None:
                        check_against(entry, list_entries(store, house, kinds=CHECKED[entry.kind]))
            except InputError as error:
                receipt.refuse(error)
                continue
        batch.waiting.append((entry, receipt))
    batch.flush()


def _check_supersedes(entry: Entry, store: Store, house: str) -> None:
    """A correction is of an entry that is here, and of its kind; a lead may withdraw any."""
    if not entry.supersedes:
        return
    old = kind_of(store, house, entry.supersedes)
    if old is None or entry.kind not in {"withdrawn", old}:
        problem = Problem(
            "what it corrects is not here yet, or is of another kind",
            Where(key="supersedes"),
            entry.supersedes,
        )
        raise InputError("this correction fits no entry", [problem])


def _read(name: str, body: str, sender: Sender, receipt: Receipt) -> Entry | None:
    try:
        entry = entry_from_json(_object(body))
        _check_sender(entry, name, sender)
        check_text(entry)  # here, for the store refuses all that comes with it
    except InputError as error:
        receipt.refuse(error)
        return None
    return entry


def _object(body: str) -> Mapping[str, Any]:
    if len(body) > MOST_BODY:
        raise InputError(
            "this entry is too large",
            [Problem("too many characters", Where(key="body"), str(len(body)), f"up to {MOST_BODY}")],
        )
    try:
        found = loads(body)
    except (ValueError, RecursionError) as error:
        problem = Problem("the body is no JSON", Where(key="body"), str(error)[:120])
        raise InputError("this entry can't be read", [problem]) from error
    if not isinstance(found, dict):
        raise InputError(
            "this entry can't be read", [Problem("the body is no object", Where(key="body"), body[:80])]
        )
    return found


def _check_sender(entry: Entry, name: str, sender: Sender) -> None:
    problems = []
    if entry.id != name.lower():
        problems.append(Problem("the id beside the body is another", Where(key="id"), entry.id, name))
    if sender.device is not None and entry.stamp.device != sender.device:
        problems.append(
            Problem("the entry is of another device", Where(key="device"), entry.stamp.device, sender.device)
        )
    if sender.name is not None and entry.stamp.author != sender.name:
        problems.append(
            Problem("the entry is of another author", Where(key="author"), entry.stamp.author, sender.name)
        )
    if not may_log(sender.role, entry.kind) or (sender.role == "trade" and entry.supersedes):
        problems.append(Problem(f"a {sender.role} may not log this", Where(key="kind"), entry.kind))
    if problems:
        raise InputError("this entry can't be taken from here", problems)


def _clock(text: str | None) -> datetime | None:
    try:
        time = None if text is None else datetime.fromisoformat(text)
    except ValueError:
        return None  # a device that can't say its time is not refused: its entries carry no offset
    return None if time is None or time.utcoffset() is None else time
