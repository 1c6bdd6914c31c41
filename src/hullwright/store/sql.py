"""Every SQL statement of the store. Nothing else in hullwright holds SQL."""

from __future__ import annotations

from typing import Final

APPLICATION_ID: Final = 0x48554C4C  # "HULL": tells our files from other SQLite files

# One tuple of statements per schema version; a version once released is never edited.
SCHEMA: Final[tuple[tuple[str, ...], ...]] = (
    (
        """CREATE TABLE house (
            name TEXT PRIMARY KEY CHECK (length(name) BETWEEN 1 AND 200)
        ) STRICT""",
        """CREATE TABLE entry (
            number INTEGER PRIMARY KEY AUTOINCREMENT,
            id TEXT NOT NULL UNIQUE CHECK (length(id) = 36),
            house TEXT NOT NULL REFERENCES house (name),
            kind TEXT NOT NULL,
            joint TEXT NOT NULL,
            face TEXT NOT NULL,
            body TEXT NOT NULL,
            digest TEXT NOT NULL CHECK (length(digest) = 64),
            server_time TEXT NOT NULL,
            clock_offset_s REAL
        ) STRICT""",
        "CREATE INDEX entry_by_house ON entry (house, number)",
        """CREATE TRIGGER entry_never_changes BEFORE UPDATE ON entry
            BEGIN SELECT RAISE (ABORT, 'an entry is never changed'); END""",
        """CREATE TRIGGER entry_never_goes BEFORE DELETE ON entry
            BEGIN SELECT RAISE (ABORT, 'an entry is never deleted'); END""",
    ),
    (
        """CREATE TABLE photo (
            sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
            kept_sha256 TEXT NOT NULL CHECK (length(kept_sha256) = 64),
            width INTEGER NOT NULL,
            height INTEGER NOT NULL,
            bytes BLOB NOT NULL,
            server_time TEXT NOT NULL
        ) STRICT""",
        """CREATE TABLE photo_part (
            sha256 TEXT NOT NULL CHECK (length(sha256) = 64),
            start INTEGER NOT NULL,
            total INTEGER NOT NULL,
            bytes BLOB NOT NULL,
            PRIMARY KEY (sha256, start)
        ) STRICT""",
    ),
    (
        """CREATE TABLE drawing_body (
            sha256 TEXT PRIMARY KEY CHECK (length(sha256) = 64),
            body TEXT NOT NULL
        ) STRICT""",
        """CREATE TABLE drawing (
            house TEXT NOT NULL REFERENCES house (name),
            number INTEGER NOT NULL CHECK (number > 0),
            sha256 TEXT NOT NULL REFERENCES drawing_body (sha256),
            author TEXT NOT NULL,
            reason TEXT NOT NULL,
            server_time TEXT NOT NULL,
            after_entry INTEGER NOT NULL,
            digest TEXT NOT NULL CHECK (length(digest) = 64),
            PRIMARY KEY (house, number)
        ) STRICT""",
        """CREATE TABLE imported (
            id TEXT PRIMARY KEY REFERENCES entry (id)
        ) STRICT""",
        *(
            f"""CREATE TRIGGER {table}_never_{word} BEFORE {act} ON {table}
            BEGIN SELECT RAISE (ABORT, 'an issued drawing is never changed or deleted'); END"""
            for table in ("drawing", "drawing_body", "imported")
            for word, act in (("changes", "UPDATE"), ("goes", "DELETE"))
        ),
    ),
)
VERSION: Final = len(SCHEMA)

GET_APPLICATION_ID: Final = "PRAGMA application_id"
SET_APPLICATION_ID: Final = f"PRAGMA application_id = {APPLICATION_ID}"
GET_VERSION: Final = "PRAGMA user_version"
SET_VERSION: Final = tuple(f"PRAGMA user_version = {version}" for version in range(1000))
PRAGMAS: Final = ("PRAGMA synchronous = FULL", "PRAGMA foreign_keys = ON", "PRAGMA trusted_schema = OFF")
WAL: Final = "PRAGMA journal_mode = WAL"
SINGLE_FILE: Final = "PRAGMA journal_mode = DELETE"
COUNT_TABLES: Final = "SELECT count(*) FROM sqlite_master"

BEGIN: Final = "BEGIN IMMEDIATE"
BEGIN_READ: Final = "BEGIN"
COMMIT: Final = "COMMIT"
ROLLBACK: Final = "ROLLBACK"

ADD_HOUSE: Final = "INSERT INTO house (name) VALUES (?) ON CONFLICT (name) DO NOTHING"
HOUSES: Final = "SELECT name FROM house ORDER BY name"
ADD_ENTRY: Final = """INSERT INTO entry (id, house, kind, joint, face, body, digest, server_time, clock_offset_s)
    VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) RETURNING number"""
FIND_ENTRY: Final = "SELECT number, digest, server_time, clock_offset_s FROM entry WHERE id = ?"
LIST_ENTRIES: Final = """SELECT number, body, server_time, clock_offset_s FROM entry
    WHERE house = ? AND number > ? ORDER BY number"""
ALL_ENTRIES: Final = "SELECT number, id, house, kind, joint, face, body, digest FROM entry ORDER BY number"
ENTRIES_OF_KINDS: Final = tuple(
    f"""SELECT number, body, server_time, clock_offset_s FROM entry
    WHERE house = ? AND number > ? AND kind IN ({", ".join("?" * count)}) ORDER BY number"""  # noqa: S608 - nothing but ? goes in
    for count in range(12)
)
KIND_OF: Final = "SELECT kind FROM entry WHERE id = ? AND house = ?"
HIGHEST: Final = "SELECT coalesce(max(number), 0) FROM entry"
COUNT_ENTRIES: Final = "SELECT count(*) FROM entry"
SKIP_NUMBERS: Final = "UPDATE sqlite_sequence SET seq = seq + ? WHERE name = 'entry'"

ADD_PHOTO: Final = """INSERT INTO photo (sha256, kept_sha256, width, height, bytes, server_time) VALUES (?, ?, ?, ?, ?, ?)
    ON CONFLICT (sha256) DO NOTHING"""
FIND_PHOTO: Final = "SELECT bytes, width, height FROM photo WHERE sha256 = ?"
PHOTO_HASHES: Final = "SELECT sha256 FROM photo ORDER BY sha256"
ALL_PHOTOS: Final = "SELECT sha256, kept_sha256, bytes FROM photo ORDER BY sha256"
ADD_PART: Final = (
    "INSERT INTO photo_part (sha256, start, total, bytes) VALUES (?, ?, ?, ?) ON CONFLICT DO NOTHING"
)
PARTS: Final = "SELECT start, total, bytes FROM photo_part WHERE sha256 = ? ORDER BY start"
PART_SPANS: Final = "SELECT start, total, length(bytes) FROM photo_part WHERE sha256 = ? ORDER BY start"
DROP_PARTS: Final = "DELETE FROM photo_part WHERE sha256 = ?"

ADD_DRAWING_BODY: Final = (
    "INSERT INTO drawing_body (sha256, body) VALUES (?, ?) ON CONFLICT (sha256) DO NOTHING"
)
ADD_DRAWING: Final = """INSERT INTO drawing (house, number, sha256, author, reason, server_time, after_entry, digest)
    VALUES (?, ?, ?, ?, ?, ?, ?, ?)"""
LAST_DRAWING: Final = "SELECT coalesce(max(number), 0) FROM drawing WHERE house = ?"
DRAWINGS: Final = """SELECT number, sha256, author, reason, server_time, after_entry FROM drawing
    WHERE house = ? ORDER BY number"""
DRAWING_BODY: Final = "SELECT body FROM drawing_body WHERE sha256 = ?"
ALL_DRAWINGS: Final = """SELECT house, number, d.sha256, author, reason, server_time, after_entry, digest, body
    FROM drawing AS d LEFT JOIN drawing_body AS b ON b.sha256 = d.sha256 ORDER BY house, number"""
COUNT_DRAWINGS: Final = "SELECT count(*) FROM drawing"
HAS_DRAWINGS: Final = "SELECT count(*) FROM sqlite_master WHERE name = 'drawing'"
ADD_IMPORTED: Final = "INSERT INTO imported (id) VALUES (?) ON CONFLICT (id) DO NOTHING"
IMPORTED: Final = "SELECT i.id FROM imported AS i JOIN entry AS e ON e.id = i.id WHERE e.house = ?"

INTEGRITY: Final = "PRAGMA integrity_check"
FOREIGN_KEYS: Final = "PRAGMA foreign_key_check"
HAS_PHOTOS: Final = "SELECT count(*) FROM sqlite_master WHERE name = 'photo'"
