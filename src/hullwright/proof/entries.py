"""What is one fact of the log.

An entry is written once and never changed. A correction is another entry that supersedes it. Device clocks are kept but
never order anything: order and knowledge come from the numbers that the store gives.
"""

from __future__ import annotations

import json
import math
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final

from hullwright.errors import InputError, Problem, Where
from hullwright.proof.old_names import VERSION, named_before, named_now, version_of

CLOCK_LIMIT: Final = 300.0  # s; above this the lot is flagged
MAX_TEXT: Final = 2000


@dataclass(frozen=True, slots=True)
class Stamp:
    """Who wrote it, on what, when by that device.

    Parameters
    ----------
    author, device : str
    time : datetime
        Device time with its zone.
    sequence : int
        Running number on that device.
    known : int
        Highest number of the store that the device had seen when it wrote: what the author could know of.
    """

    author: str
    device: str
    time: datetime
    sequence: int
    known: int = 0


@dataclass(frozen=True, slots=True)
class Spot:
    """Where on the house.

    Parameters
    ----------
    joint, kind, face : str
        Joint id, kind of joint, face id; '' where it does not belong to one.
    place : tuple of float or None
        Place in 3D [m], so that the entry finds its joint again after the house was edited.
    plan : str
        Plan version on which it was written.
    run, mark : str
        Run id, or mark of an opening or penetration (W1, P3), that it is about as a whole; ''.
    revision : int
        Number of the issued drawing that it was made on; 0 where nobody said.
    """

    joint: str = ""
    kind: str = ""
    face: str = ""
    place: tuple[float, float, float] | None = None
    plan: str = ""
    run: str = ""
    mark: str = ""
    revision: int = 0


@dataclass(frozen=True, slots=True)
class Receipt:
    """What the store added: its number, its time, how far the device clock was off.

    Parameters
    ----------
    number : int
        Running number in the store; 0 where it is not stored yet.
    time : datetime or None
    clock_offset : float or None
        Device clock minus store clock when it was sent [s]; None where the sender did not say its time.
    """

    number: int = 0
    time: datetime | None = None
    clock_offset: float | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """One fact.

    Parameters
    ----------
    id : str
        UUID made by the client.
    kind : str
        One of :data:`hullwright.proof.kinds.KINDS`.
    stamp : Stamp
    spot : Spot
    what : mapping
        Its figures, SI, keys by kind.
    supersedes : str
        Id of the entry it corrects; ''.
    receipt : Receipt
    version : int
        Version of the record whose names its body is written in; `kind` and `what` stand under those of today.
    """

    id: str
    kind: str
    stamp: Stamp
    spot: Spot = Spot()
    what: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))
    supersedes: str = ""
    receipt: Receipt = Receipt()
    version: int = VERSION

    @property
    def clock_off(self) -> bool:
        """Whether the device clock was more than five minutes off."""
        offset = self.receipt.clock_offset
        return offset is not None and abs(offset) > CLOCK_LIMIT

    def to_json(self) -> dict[str, Any]:
        """Give the entry under the names of today."""
        return self._body(self.kind, self.what)

    def as_sent(self) -> dict[str, Any]:
        """Give the body under the names that its client used: what must not change under the same id."""
        if self.version == VERSION:
            return self.to_json()
        body = self._body(*named_before(self.kind, self.what))
        del body["version"]
        return body

    def _body(self, kind: str, what: Mapping[str, Any]) -> dict[str, Any]:
        spot = self.spot
        more = {"run": spot.run, "mark": spot.mark, "revision": spot.revision}
        return {
            "version": self.version,
            "id": self.id,
            "kind": kind,
            "author": self.stamp.author,
            "device": self.stamp.device,
            "device_time": self.stamp.time.isoformat(),
            "device_sequence": self.stamp.sequence,
            "known": self.stamp.known,
            "joint": spot.joint,
            "joint_kind": spot.kind,
            "face": spot.face,
            "place_m": None if spot.place is None else list(spot.place),
            "plan": spot.plan,
            **{key: value for key, value in more.items() if value},
            "what": dict(what),
            "supersedes": self.supersedes,
        }

    def full_json(self) -> dict[str, Any]:
        """Give the body with what the store added."""
        time = self.receipt.time
        return {
            **self.to_json(),
            "number": self.receipt.number,
            "server_time": None if time is None else time.isoformat(),
            "clock_offset_s": self.receipt.clock_offset,
        }


_KEYS: Final = frozenset(
    {
        "id", "kind", "author", "device", "device_time", "device_sequence", "known", "joint", "joint_kind", "face",
        "place_m", "plan", "what", "supersedes", "version", "run", "mark", "revision",
    }
)  # fmt: skip
_MOST_DIGITS: Final = 1000
_ADDED: Final = frozenset({"number", "server_time", "clock_offset_s"})


def entry_from_json(body: Mapping[str, Any], where: Where | None = None) -> Entry:
    """Read an entry as a client sends it.

    Parameters
    ----------
    body : mapping
        Keys of :meth:`Entry.as_sent`, of this version or an older one; what the store added is ignored.
    where : Where, optional
        Place in the file it came from.

    Returns
    -------
    Entry

    Raises
    ------
    InputError
        With every problem found.

    Examples
    --------
    >>> body = {"id": "6f1c1b9e-9a3c-4c59-8f0f-0b6f4c1f4a11", "kind": "remark", "author": "lead", "device": "p1",
    ...         "device_time": "2024-05-03T10:00:00-05:00", "device_sequence": 1, "what": {"text": "dry"}}
    >>> entry_from_json(body).stamp.time.utcoffset().total_seconds()
    -18000.0
    """
    spot = where or Where()
    problems = _problems(body, spot)
    if problems:
        raise InputError("this entry can't be used", problems)
    place, version = body.get("place_m"), body.get("version", version_of(body))
    kind, what = body["kind"], dict(body.get("what", {}))
    if version == 1:
        kind, what = named_now(kind, what)
    return Entry(
        id=str(uuid.UUID(body["id"])),
        kind=kind,
        stamp=Stamp(
            body["author"],
            body["device"],
            datetime.fromisoformat(body["device_time"]),
            body["device_sequence"],
            body.get("known", 0),
        ),
        spot=Spot(
            body.get("joint", ""),
            body.get("joint_kind", ""),
            body.get("face", ""),
            None if place is None else (float(place[0]), float(place[1]), float(place[2])),
            body.get("plan", ""),
            body.get("run", ""),
            body.get("mark", ""),
            body.get("revision", 0),
        ),
        what=MappingProxyType(what),
        supersedes=str(uuid.UUID(body["supersedes"])) if body.get("supersedes") else "",
        version=version,
    )


def loads(text: str) -> Any:
    """Read JSON so that it can be written again: a number too large for one is kept as its text.

    Parameters
    ----------
    text : str

    Returns
    -------
    object
        As `json.loads` gives it.

    Raises
    ------
    ValueError
        Where it is no JSON.

    Examples
    --------
    >>> loads('{"width_m": 1e999, "packs": 3}')
    {'width_m': '1e999', 'packs': 3}
    """
    return json.loads(text, parse_float=_float, parse_int=_int, parse_constant=_no_constant)


def _float(word: str) -> float | str:
    number = float(word)
    return number if math.isfinite(number) else word


def _int(word: str) -> int | str:
    return int(word) if len(word) <= _MOST_DIGITS else word


def _no_constant(word: str) -> float:
    raise ValueError(f"{word} is no number")


def _problems(body: Mapping[str, Any], where: Where) -> list[Problem]:
    def bad(key: str, allowed: str) -> Problem:
        got = "" if key not in body else shown(body[key])
        spot = Where(where.file, where.line, where.column, f"{where.key}.{key}" if where.key else key)
        return Problem(f"{key} is missing or wrong", spot, got=got, allowed=allowed)

    out = [bad(key, "one of the known keys") for key in body if key not in _KEYS | _ADDED]
    if not _is_uuid(body.get("id")):
        out.append(bad("id", "a UUID made by the client"))
    if body.get("supersedes", "") != "" and not _is_uuid(body.get("supersedes")):
        out.append(bad("supersedes", "the UUID of the entry it corrects, or nothing"))
    out += [
        bad(key, "a text of 1 to 200 characters")
        for key in ("kind", "author", "device")
        if not _text(body.get(key), 1)
    ]
    out += [
        bad(key, "a text of up to 200 characters")
        for key in ("joint", "joint_kind", "face", "plan", "run", "mark")
        if not _text(body.get(key, ""), 0)
    ]
    if not _is_time(body.get("device_time")):
        out.append(bad("device_time", "a time with its zone, such as 2024-05-03T10:00:00-05:00"))
    out += [
        bad(key, "a whole number, 0 or more")
        for key in ("device_sequence", "known", "revision")
        if not _is_count(body.get(key, None if key == "device_sequence" else 0))
    ]
    said = body.get("version", version_of(body))
    if not _is_count(said) or not 1 <= said <= VERSION:
        out.append(bad("version", f"1 to {VERSION}, or nothing: this program knows no later record"))
    elif said < version_of(body):
        out.append(bad("version", f"{version_of(body)}, whose names this entry uses, or nothing"))
    if not _is_place(body.get("place_m")):
        out.append(bad("place_m", "three finite numbers in metres, or nothing"))
    if not isinstance(body.get("what", {}), Mapping):
        out.append(bad("what", "an object with the figures of this kind"))
    return out


def _is_uuid(value: object) -> bool:
    if not isinstance(value, str) or len(value) != 36:
        return False
    try:
        uuid.UUID(value)
    except ValueError:
        return False
    return True


def _text(value: object, least: int) -> bool:
    return isinstance(value, str) and least <= len(value) <= 200 and value.isprintable()


def _is_time(value: object) -> bool:
    if not isinstance(value, str):
        return False
    try:
        return datetime.fromisoformat(value).utcoffset() is not None
    except ValueError:
        return False


def _is_count(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 2**53


def _is_place(value: object) -> bool:
    if value is None:
        return True
    if not isinstance(value, (list, tuple)) or len(value) != 3:
        return False
    return all(map(is_number, value))


def shown(value: object) -> str:
    """What stands somewhere, short, for an error: whole numbers of any length too.

    Examples
    --------
    >>> shown("a lap"), shown(10**5000)
    ("'a lap'", 'a number of more than 300 digits')
    """
    if isinstance(value, int) and not is_number(value) and not isinstance(value, bool):
        return "a number of more than 300 digits"
    try:
        text = repr(value)
    except ValueError:  # a list that holds such a number
        return "a list with a number of more than 300 digits"
    return text if len(text) <= 120 else text[:117] + "..."


def is_number(value: object) -> bool:
    """Whether a value is a finite number that can be reckoned with; a whole number may have too many digits for that."""
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        return False
    try:
        return math.isfinite(value)
    except OverflowError:
        return False
