"""How are people, devices and invitations kept: keys only as hashes, in a file of their own."""

from __future__ import annotations

import hashlib
from collections.abc import Generator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from hullwright.store import access_sql as sql
from hullwright.store.database import Store
from hullwright.store.trouble import explained


@dataclass(frozen=True, slots=True)
class DeviceRow:
    """A device with its person.

    Parameters
    ----------
    id, name, state, check_code, made_at, seen_at : str
    person, person_name, role : str
    houses : tuple of str
        ``*`` for all.
    ready_at : str
        When it was last seen to come up without signal; '' where it was not.
    ends_at : str
        End of the shared link that it was opened with; '' for a device of a person.
    """

    id: str
    name: str
    state: str
    check_code: str
    made_at: str
    seen_at: str
    person: str
    person_name: str
    role: str
    houses: tuple[str, ...]
    ready_at: str
    ends_at: str


@dataclass(frozen=True, slots=True)
class LinkRow:
    """A link to one house that only looks.

    Parameters
    ----------
    id, person, house, name, made_by, made_at, ends_at : str
    taken_back_at : str
        '' where it was not.
    """

    id: str
    person: str
    house: str
    name: str
    made_by: str
    made_at: str
    ends_at: str
    taken_back_at: str

    def open_at(self, now: str) -> bool:
        """Whether it still opens the house."""
        return not self.taken_back_at and datetime.fromisoformat(now) < datetime.fromisoformat(self.ends_at)


def digest(key: str) -> str:
    """Hash of a key: keys are 256 random bits, so one round is enough; the key itself is never kept."""
    return hashlib.sha256(key.encode("utf-8", errors="replace")).hexdigest()


def _device(row: Sequence[Any], houses: Sequence[str]) -> DeviceRow:
    device, name, state, code, made, seen, person, person_name, role, ready, ends = map(str, row)
    return DeviceRow(
        device, name, state, code, made, seen, person, person_name, role, tuple(houses), ready, ends
    )


class AccessStore:
    """The file of people and devices; opened for each question, so that threads need not share it.

    Parameters
    ----------
    path : Path
    """

    def __init__(self, path: Path) -> None:
        self.path = path

    def anchor(self) -> Store:
        """Open the file and keep it open: closing the last connection is slow, and this is never the last."""
        return Store(self.path, sql.SCHEMA)

    @contextmanager
    def _open(self) -> Generator[Store]:
        with Store(self.path, sql.SCHEMA) as store:
            yield store

    def _ask(self, query: str, values: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
        with self._open() as store, explained(self.path):
            rows: list[tuple[Any, ...]] = store.connection.execute(query, tuple(values)).fetchall()
            return rows

    def _do(self, *steps: tuple[str, Sequence[Any]]) -> None:
        with self._open() as store, store.writing() as connection:
            for query, values in steps:
                connection.execute(query, tuple(values))

    def add_person(self, person: tuple[str, str, str], houses: Sequence[str], now: str) -> None:
        """Add a person (id, name, role) to houses; one who is there already only gets the houses."""
        members = [(sql.ADD_MEMBER, (person[0], house)) for house in houses]
        self._do((sql.ADD_PERSON, (*person, now)), *members)

    def people(self) -> list[tuple[str, str, str, tuple[str, ...]]]:
        """Give id, name, role and houses of everybody."""
        houses: dict[str, list[str]] = {}
        for person, house in self._ask(sql.MEMBERS):
            houses.setdefault(person, []).append(house)
        return [(i, name, role, tuple(houses.get(i, ()))) for i, name, role in self._ask(sql.PEOPLE)]

    def add_device(self, device: tuple[str, str, str], token: str, state: str, code: str, now: str) -> None:
        """Add a device (id, person, name) with the hash of its token."""
        self._do((sql.ADD_DEVICE, (*device, digest(token), state, code, now, now)))

    def find(self, token: str) -> DeviceRow | None:
        """Give the device of a token."""
        with self._open() as store, explained(self.path):
            row = store.connection.execute(sql.FIND_DEVICE, (digest(token),)).fetchone()
            if row is None:
                return None
            houses = tuple(house for (house,) in store.connection.execute(sql.HOUSES_OF, (row[6],)))
        return _device(row, houses)

    def devices(self) -> list[DeviceRow]:
        """Give all devices, the first made first."""
        houses = {person: found for person, _, _, found in self.people()}
        return [_device(row, houses.get(row[6], ())) for row in self._ask(sql.DEVICES)]

    def set_state(self, device: str, state: str) -> None:
        """Confirm or revoke a device."""
        self._do((sql.SET_STATE, (state, device)))

    def set_seen(self, device: str, now: str) -> None:
        """Note that a device was here."""
        self._do((sql.SET_SEEN, (now, device)))

    def set_ready(self, device: str, now: str) -> None:
        """Note that a device came up without signal."""
        self._do((sql.SET_READY, (device, now)))

    def add_invitation(self, name: str, key: str, person: str, expires: str) -> None:
        """Keep the hash of an invitation's key."""
        self._do((sql.ADD_INVITATION, (name, digest(key), person, expires)))

    def use_invitation(self, key: str, now: str) -> str | None:
        """Use an invitation up and give its person; None where it is unknown, used or too old."""
        with self._open() as store, store.writing() as connection:
            row = connection.execute(sql.USE_INVITATION, (now, digest(key), now)).fetchone()
        return None if row is None else str(row[0])

    def add_link(self, link: LinkRow, key: str, role: str, person_name: str) -> None:
        """Keep the hash of a link's key, and who those are that come with it."""
        person = (link.person, person_name, role, link.made_at)
        row = (
            link.id,
            digest(key),
            link.person,
            link.house,
            link.name,
            link.made_by,
            link.made_at,
            link.ends_at,
        )
        self._do((sql.ADD_PERSON, person), (sql.ADD_MEMBER, (link.person, link.house)), (sql.ADD_LINK, row))

    def open_link(
        self, key: str, device: tuple[str, str], token: str, code: str, now: str, *, most: int
    ) -> tuple[LinkRow, bool] | None:
        """Give the link of a key and whether it let a device (id, name) in, None where there is none.

        It does while it is open and was opened fewer than `most` times.
        """
        with self._open() as store, store.writing() as connection:
            row = connection.execute(sql.FIND_LINK, (digest(key),)).fetchone()
            if row is None:
                return None
            link = LinkRow(*map(str, row))
            (uses,) = connection.execute(sql.COUNT_OPENED, (link.id,)).fetchone()
            lets_in = link.open_at(now) and uses < most
            if lets_in:
                made = (device[0], link.person, device[1], digest(token), "active", code, now, now)
                connection.execute(sql.ADD_DEVICE, made)
                connection.execute(sql.ADD_OPENED, (device[0], link.id))
        return link, lets_in

    def find_link(self, key: str) -> LinkRow | None:
        """Give the link of a key."""
        rows = self._ask(sql.FIND_LINK, (digest(key),))
        return LinkRow(*map(str, rows[0])) if rows else None

    def links(self, house: str) -> list[tuple[LinkRow, int]]:
        """Give the links of a house, the first made first, and how often each was opened."""
        return [(LinkRow(*map(str, row[:8])), int(row[8])) for row in self._ask(sql.LINKS, (house,))]

    def take_link_back(self, link: str, house: str, now: str) -> bool:
        """End a link of a house and every session that was opened with it, in one piece; whether it was there."""
        with self._open() as store, store.writing() as connection:
            if connection.execute(sql.TAKE_LINK_BACK, (now, link, house)).fetchone() is None:
                return False
            connection.execute(sql.SHUT_LINK, (link,))
        return True

    def add_audit(self, line: Sequence[str]) -> None:
        """Write a line (time, person, device, action, house, what) of the audit trail."""
        self._do((sql.ADD_AUDIT, line))

    def audit(self, before: int, most: int) -> list[tuple[Any, ...]]:
        """Give lines of the audit trail, the last first."""
        return self._ask(sql.AUDIT, (before, most))

    def put_aside(
        self, house: str, device: str, bodies: Sequence[tuple[str, str]], now: str, *, most: tuple[int, int]
    ) -> int:
        """Keep what a revoked device sent, up to `most` entries and characters a device; gives how many were kept."""
        kept = 0
        with self._open() as store, store.writing() as connection:
            count, size = connection.execute(sql.COUNT_QUARANTINE, (device,)).fetchone()
            for name, body in bodies:
                if count + kept >= most[0] or size + len(body) > most[1]:
                    break
                # What is kept already comes with every try: it takes no room twice.
                if connection.execute(sql.ADD_QUARANTINE, (name, house, device, body, now)).rowcount:
                    kept, size = kept + 1, size + len(body)
        return kept

    def aside(self, house: str) -> list[tuple[Any, ...]]:
        """Give id, device, person, body and time of what is kept aside."""
        return self._ask(sql.QUARANTINE, (house,))

    def drop_aside(self, house: str, rows: Sequence[tuple[str, str, str]]) -> None:
        """Forget entries that were kept aside, by id, device and body: another one under the same id stays."""
        self._do(*((sql.DROP_QUARANTINE, (house, *row)) for row in rows))
