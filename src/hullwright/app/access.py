"""Who may do what: people, devices, invitations, the permission table, the audit trail."""

from __future__ import annotations

import secrets
import uuid
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Final

from hullwright.app.refusals import ForbiddenError, NotSignedInError, RevokedError, UnknownError
from hullwright.errors import InputError, OutputError, Problem, Where
from hullwright.store.access import AccessStore, DeviceRow, digest

ROLES: Final = ("lead", "crew", "guest", "trade")
ALL: Final = "*"
DESK: Final = "desk"
GOOD_FOR: Final = timedelta(minutes=10)
"""Life of an invitation."""
ABSENT: Final = timedelta(days=180)
"""A device that was not here for so long signs in anew."""
SEEN_EVERY: Final = timedelta(hours=1)
MOST_ASIDE: Final = (5000, 20_000_000)
"""Entries and characters that are kept aside of one revoked device; what is beyond stays on it (estimate)."""
LINK_DAYS: Final = 7
MOST_LINK_DAYS: Final = 90
ENDED: Final = "this link has ended: ask for a new one"

_ALL_ROLES: Final = frozenset(ROLES)
_LOOK: Final = frozenset({"lead", "crew", "guest"})
_SITE: Final = frozenset({"lead", "crew"})
_LEAD: Final = frozenset({"lead"})
PERMISSIONS: Final[dict[str, frozenset[str]]] = {
    "session": _ALL_ROLES,
    "houses.list": _LOOK,
    "houses.new": _LEAD,
    "house.read": _LOOK,
    "house.write": _LEAD,
    "plan.read": _LOOK,
    "plan.make": _LEAD,
    "decide": _LEAD,
    "test.read": _LOOK,
    "leaks.make": _LEAD,
    "log.read": _LOOK,
    "log.add": frozenset({"lead", "crew", "trade"}),
    "log.photo": _SITE,
    "log.ok": _LEAD,
    "log.import": _LEAD,
    "drawing.issue": _LEAD,
    "quarantine": _LEAD,
    "people": _LEAD,
    "audit": _LEAD,
}
"""Which role may do which action. Every route names its action; a test asks every route for every role."""

_TRADE_KINDS: Final = frozenset({"hole"})
_LEAD_KINDS: Final = frozenset({"nailing", "straps", "chosen", "placed", "covered", "withdrawn", "paper"})
_NO_ROLE_KINDS: Final = frozenset({"ok to cover"})


def may_log(role: str, kind: str) -> bool:
    """Whether a role may send entries of a kind; an OK to cover has a way of its own, a face is opened for work by a lead.

    Examples
    --------
    >>> may_log("trade", "hole"), may_log("trade", "done"), may_log("crew", "nailing"), may_log("lead", "ok to cover")
    (True, False, False, False)
    """
    if kind in _NO_ROLE_KINDS or role not in PERMISSIONS["log.add"]:
        return False
    if role == "trade":
        return kind in _TRADE_KINDS
    return role == "lead" or kind not in _LEAD_KINDS


@dataclass(frozen=True, slots=True)
class Visitor:
    """Who asks.

    Parameters
    ----------
    device, device_name : str
    person, name, role, state, check_code : str
    houses : frozenset of str
        ``*`` for all.
    token : str
        To be sent with every write.
    ends_at : str
        End of the shared link that opened this session; '' for a person's own.
    """

    device: str
    device_name: str
    person: str
    name: str
    role: str
    state: str
    check_code: str
    houses: frozenset[str]
    token: str
    ends_at: str = ""

    def within(self, house: str) -> bool:
        """Whether the visitor is in a house."""
        return ALL in self.houses or house in self.houses

    def check(self, action: str, house: str | None = None) -> None:
        """Refuse what the visitor may not do.

        Raises
        ------
        RevokedError, NotSignedInError, ForbiddenError
            The device is revoked, waits for the desk, or the role may not.
        UnknownError
            The visitor is not in that house: it looks as if there were none.
        """
        if self.state == "revoked":
            raise RevokedError("this device was revoked")
        if self.state != "active":
            raise NotSignedInError("the desk has not confirmed this device yet")
        if self.role not in PERMISSIONS[action]:
            raise ForbiddenError(f"a {self.role} may not do this", [Problem("not allowed", got=action)])
        if house is not None and not self.within(house):
            raise UnknownError("there is no such house")


@dataclass(frozen=True, slots=True)
class Invited:
    """An invitation, shown once."""

    id: str
    key: str
    expires: datetime


def _utc() -> datetime:
    return datetime.now(UTC)


class Access:
    """People and devices of one service.

    Parameters
    ----------
    store : AccessStore
    now : callable
        Clock, with zone.
    """

    def __init__(self, store: AccessStore, now: Callable[[], datetime] = _utc) -> None:
        self.store = store
        self.now = now

    def sign_in_desk(self, device_name: str, author: str = "desk") -> str:
        """Sign a browser of this machine in as lead of all houses; gives its token."""
        stamp = self.now().isoformat()
        self.store.add_person((DESK, author, "lead"), [ALL], stamp)
        return self._add_device(DESK, device_name, "active")

    def invite(self, by: Visitor, name: str, role: str, houses: Iterable[str]) -> Invited:
        """Invite a person to houses.

        Raises
        ------
        InputError
            Where the role is unknown, or the inviting person is not in a house.
        """
        wanted = tuple(dict.fromkeys(houses))
        foreign = [house for house in wanted if not by.within(house)]
        problems = [Problem("there is no such house", Where(key="houses"), house) for house in foreign]
        if role not in ROLES:
            problems.append(Problem("there is no such role", Where(key="role"), role, ", ".join(ROLES)))
        if not name.isprintable():
            problems.append(Problem("a name has no control characters", Where(key="name"), repr(name)[:80]))
        if problems:
            raise InputError("this invitation can't be made", problems)
        now, person, key = self.now(), str(uuid.uuid4()), secrets.token_urlsafe(32)
        made = Invited(str(uuid.uuid4()), key, now + GOOD_FOR)
        self.store.add_person((person, name, role), wanted, now.isoformat())
        self.store.add_invitation(made.id, key, person, made.expires.isoformat())
        return made

    def accept(self, key: str, device_name: str) -> str | None:
        """Use an invitation: gives a token of a device that waits for the desk; None where the key opens nothing."""
        person = self.store.use_invitation(key, self.now().isoformat())
        return None if person is None else self._add_device(person, device_name, "waiting")

    def visitor(self, token: str | None) -> Visitor:
        """Say who a token belongs to.

        Raises
        ------
        NotSignedInError
            Where it belongs to nobody, was not used for long, or came by a shared link that has ended.
        RevokedError
            Where it came by a shared link that was taken back.
        """
        row = self.store.find(token) if token else None
        if row is None or token is None:
            raise NotSignedInError(
                "open this page with the address that `hullwright serve` printed, or an invitation"
            )
        now, seen = self.now(), datetime.fromisoformat(row.seen_at)
        if row.ends_at and row.state == "revoked":
            raise RevokedError("this link was taken back, or this session was ended")
        if row.ends_at and now >= datetime.fromisoformat(row.ends_at):
            raise NotSignedInError(ENDED)
        if now - seen > ABSENT:
            raise NotSignedInError("this device was not here for long: it signs in anew")
        if now - seen > SEEN_EVERY:
            with suppress(OutputError):  # a full disk keeps nobody from looking
                self.store.set_seen(row.id, now.isoformat())
        return _visitor(row, token)

    def leave(self, visitor: Visitor) -> None:
        """End a session."""
        self.store.set_state(visitor.device, "revoked")

    def devices(self, by: Visitor) -> list[DeviceRow]:
        """Give the devices that a lead looks after: those of people who share a house."""
        return [row for row in self.store.devices() if _shared(by, row.houses)]

    def people(self, by: Visitor) -> list[tuple[str, str, str, tuple[str, ...]]]:
        """Give the people who share a house with a lead."""
        return [person for person in self.store.people() if _shared(by, person[3])]

    def set_state(self, by: Visitor, device: str, state: str) -> None:
        """Confirm or revoke a device.

        Raises
        ------
        UnknownError
            Where a lead does not look after it, or a revoked one shall come back.
        """
        row = next((one for one in self.devices(by) if one.id == device), None)
        if row is None or (state == "active" and row.state != "waiting"):
            raise UnknownError("there is no such device that waits")
        self.store.set_state(device, state)

    def set_ready(self, visitor: Visitor) -> None:
        """Note that the visitor's device came up without signal."""
        self.store.set_ready(visitor.device, self.now().isoformat())

    def note(self, visitor: Visitor, action: str, house: str = "", what: str = "") -> None:
        """Write a line of the audit trail."""
        line = (self.now().isoformat(), visitor.name, visitor.device, action, house, what[:500])
        self.store.add_audit(line)

    def audit(self, by: Visitor, before: int, most: int) -> list[tuple[object, ...]]:
        """Give lines of the audit trail that concern a lead: all for the desk, else those of their houses and their own."""
        found: list[tuple[object, ...]] = []
        while len(found) < most and (lines := self.store.audit(before, most)):
            found += [line for line in lines if _concerns(by, line)]
            before = int(str(lines[-1][0]))
        return found[:most]

    def _add_device(self, person: str, name: str, state: str) -> str:
        token, device, code = new_device()
        self.store.add_device((device, person, shown_name(name)), token, state, code, self.now().isoformat())
        return token


def new_device() -> tuple[str, str, str]:
    """Make token, id and check code of a device."""
    return secrets.token_urlsafe(32), str(uuid.uuid4()), f"{secrets.randbelow(10_000):04d}"


def shown_name(name: str) -> str:
    """Give what a device calls itself without what can't be shown."""
    return "".join(c for c in name if c.isprintable())[:100] or "browser"


def _visitor(row: DeviceRow, token: str) -> Visitor:
    # The token in the cookie can't be read by a page; what a page must send is made from it and says nothing about it.
    written = digest(f"write {token}")
    return Visitor(
        row.id,
        row.name,
        row.person,
        row.person_name,
        row.role,
        row.state,
        row.check_code,
        frozenset(row.houses),
        written,
        row.ends_at,
    )


def _concerns(by: Visitor, line: tuple[object, ...]) -> bool:
    return ALL in by.houses or line[5] in by.houses or line[3] == by.device


def _shared(by: Visitor, houses: tuple[str, ...]) -> bool:
    if ALL in by.houses:
        return True
    return ALL not in houses and all(house in by.houses for house in houses)
