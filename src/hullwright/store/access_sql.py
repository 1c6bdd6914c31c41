"""Every SQL statement about people and devices: a file of its own, so that no backup of the log carries a key."""

from __future__ import annotations

from typing import Final

# One tuple of statements per schema version; a version once released is never edited.
SCHEMA: Final[tuple[tuple[str, ...], ...]] = (
    (
        """CREATE TABLE person (
            id TEXT PRIMARY KEY,
            name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 200),
            role TEXT NOT NULL CHECK (role IN ('lead', 'crew', 'guest', 'trade')),
            made_at TEXT NOT NULL
        ) STRICT""",
        """CREATE TABLE member (
            person TEXT NOT NULL REFERENCES person (id),
            house TEXT NOT NULL,
            PRIMARY KEY (person, house)
        ) STRICT""",
        """CREATE TABLE device (
            id TEXT PRIMARY KEY,
            person TEXT NOT NULL REFERENCES person (id),
            name TEXT NOT NULL,
            token_digest TEXT NOT NULL UNIQUE CHECK (length(token_digest) = 64),
            state TEXT NOT NULL CHECK (state IN ('waiting', 'active', 'revoked')),
            check_code TEXT NOT NULL,
            made_at TEXT NOT NULL,
            seen_at TEXT NOT NULL
        ) STRICT""",
        """CREATE TABLE invitation (
            id TEXT PRIMARY KEY,
            key_digest TEXT NOT NULL UNIQUE CHECK (length(key_digest) = 64),
            person TEXT NOT NULL REFERENCES person (id),
            expires_at TEXT NOT NULL,
            used_at TEXT
        ) STRICT""",
        """CREATE TABLE audit (
            number INTEGER PRIMARY KEY AUTOINCREMENT,
            time TEXT NOT NULL,
            person TEXT NOT NULL,
            device TEXT NOT NULL,
            action TEXT NOT NULL,
            house TEXT NOT NULL,
            what TEXT NOT NULL
        ) STRICT""",
        """CREATE TRIGGER audit_never_changes BEFORE UPDATE ON audit
            BEGIN SELECT RAISE (ABORT, 'the audit trail is never changed'); END""",
        """CREATE TRIGGER audit_never_goes BEFORE DELETE ON audit
            BEGIN SELECT RAISE (ABORT, 'the audit trail is never deleted'); END""",
        """CREATE TABLE quarantine (
            number INTEGER PRIMARY KEY AUTOINCREMENT,
            id TEXT NOT NULL,
            house TEXT NOT NULL,
            device TEXT NOT NULL REFERENCES device (id),
            body TEXT NOT NULL,
            sent_at TEXT NOT NULL,
            UNIQUE (id, house, device, body)
        ) STRICT""",
    ),
    (
        """CREATE TABLE ready (
            device TEXT PRIMARY KEY REFERENCES device (id),
            at TEXT NOT NULL
        ) STRICT""",
    ),
    (
        """CREATE TABLE shared_link (
            id TEXT PRIMARY KEY,
            key_digest TEXT NOT NULL UNIQUE CHECK (length(key_digest) = 64),
            person TEXT NOT NULL UNIQUE REFERENCES person (id),
            house TEXT NOT NULL,
            name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 100),
            made_by TEXT NOT NULL,
            made_at TEXT NOT NULL,
            ends_at TEXT NOT NULL,
            taken_back_at TEXT
        ) STRICT""",
        """CREATE TABLE opened (
            device TEXT PRIMARY KEY REFERENCES device (id),
            link TEXT NOT NULL REFERENCES shared_link (id)
        ) STRICT""",
        "CREATE INDEX opened_by_link ON opened (link)",
    ),
)

ADD_PERSON: Final = (
    "INSERT INTO person (id, name, role, made_at) VALUES (?, ?, ?, ?) ON CONFLICT (id) DO NOTHING"
)
ADD_MEMBER: Final = "INSERT INTO member (person, house) VALUES (?, ?) ON CONFLICT DO NOTHING"
MEMBERS: Final = "SELECT person, house FROM member ORDER BY person, house"
PEOPLE: Final = """SELECT id, name, role FROM person WHERE id NOT IN (SELECT person FROM shared_link)
    ORDER BY made_at, id"""
ADD_DEVICE: Final = """INSERT INTO device (id, person, name, token_digest, state, check_code, made_at, seen_at)
    VALUES (?, ?, ?, ?, ?, ?, ?, ?)"""
FIND_DEVICE: Final = """SELECT device.id, device.name, device.state, device.check_code, device.made_at, device.seen_at,
    person.id, person.name, person.role,
    coalesce((SELECT ready.at FROM ready WHERE ready.device = device.id), ''),
    coalesce((SELECT shared_link.ends_at FROM opened JOIN shared_link ON shared_link.id = opened.link
        WHERE opened.device = device.id), '')
    FROM device JOIN person ON person.id = device.person
    WHERE device.token_digest = ?"""
DEVICES: Final = """SELECT device.id, device.name, device.state, device.check_code, device.made_at, device.seen_at,
    person.id, person.name, person.role,
    coalesce((SELECT ready.at FROM ready WHERE ready.device = device.id), ''),
    coalesce((SELECT shared_link.ends_at FROM opened JOIN shared_link ON shared_link.id = opened.link
        WHERE opened.device = device.id), '')
    FROM device JOIN person ON person.id = device.person
    WHERE device.id NOT IN (SELECT device FROM opened) ORDER BY device.made_at, device.id"""
HOUSES_OF: Final = "SELECT house FROM member WHERE person = ? ORDER BY house"
SET_STATE: Final = "UPDATE device SET state = ? WHERE id = ?"
SET_READY: Final = (
    "INSERT INTO ready (device, at) VALUES (?, ?) ON CONFLICT (device) DO UPDATE SET at = excluded.at"
)
SET_SEEN: Final = "UPDATE device SET seen_at = ? WHERE id = ?"
ADD_INVITATION: Final = "INSERT INTO invitation (id, key_digest, person, expires_at) VALUES (?, ?, ?, ?)"
USE_INVITATION: Final = """UPDATE invitation SET used_at = ? WHERE key_digest = ? AND used_at IS NULL AND expires_at > ?
    RETURNING person"""
ADD_AUDIT: Final = "INSERT INTO audit (time, person, device, action, house, what) VALUES (?, ?, ?, ?, ?, ?)"
AUDIT: Final = """SELECT number, time, person, device, action, house, what FROM audit
    WHERE number < ? ORDER BY number DESC LIMIT ?"""
ADD_QUARANTINE: Final = """INSERT INTO quarantine (id, house, device, body, sent_at) VALUES (?, ?, ?, ?, ?)
    ON CONFLICT DO NOTHING"""
COUNT_QUARANTINE: Final = "SELECT count(*), coalesce(sum(length(body)), 0) FROM quarantine WHERE device = ?"
QUARANTINE: Final = """SELECT quarantine.id, quarantine.device, person.name, quarantine.body, quarantine.sent_at
    FROM quarantine JOIN device ON device.id = quarantine.device JOIN person ON person.id = device.person
    WHERE quarantine.house = ? ORDER BY quarantine.number"""
DROP_QUARANTINE: Final = "DELETE FROM quarantine WHERE house = ? AND id = ? AND device = ? AND body = ?"
ADD_LINK: Final = """INSERT INTO shared_link (id, key_digest, person, house, name, made_by, made_at, ends_at)
    VALUES (?, ?, ?, ?, ?, ?, ?, ?)"""
FIND_LINK: Final = """SELECT id, person, house, name, made_by, made_at, ends_at, coalesce(taken_back_at, '') FROM shared_link
    WHERE key_digest = ?"""
LINKS: Final = """SELECT id, person, house, name, made_by, made_at, ends_at, coalesce(taken_back_at, ''),
    (SELECT count(*) FROM opened WHERE opened.link = shared_link.id)
    FROM shared_link WHERE house = ? ORDER BY made_at, id"""
COUNT_OPENED: Final = "SELECT count(*) FROM opened WHERE link = ?"
ADD_OPENED: Final = "INSERT INTO opened (device, link) VALUES (?, ?)"
TAKE_LINK_BACK: Final = """UPDATE shared_link SET taken_back_at = ? WHERE id = ? AND house = ? AND taken_back_at IS NULL
    RETURNING id"""
SHUT_LINK: Final = (
    "UPDATE device SET state = 'revoked' WHERE id IN (SELECT device FROM opened WHERE link = ?)"
)
