"""Entries: stored once, never changed; clocks; two houses; upgrade and refusal; places of the data."""

import hashlib
import sqlite3
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import psycopg
import pytest

from hullwright.errors import HullwrightError, InputError, OutputError
from hullwright.proof.entries import entry_from_json
from hullwright.store import entries, sql
from hullwright.store.backup import backup, verify
from hullwright.store.database import Store
from hullwright.store.entries import Sending, append, append_all, highest, list_entries
from hullwright.store.location import home_of, place_cautions, store_path
from hullwright.store.trouble import explain


def test_an_entry_comes_back_as_it_was_sent(store, remark, sending):
    sent = remark("nasse Fuge, 3 µm, 日本, 'quoted', \"twice\"")
    kept = append(store, "house 1", sent, sending)
    back = list_entries(store, "house 1")
    assert back == (kept,)
    assert back[0].to_json() == sent.to_json()
    assert back[0].receipt.number == 1
    assert back[0].receipt.time == sending.now


def test_repeated_send_is_stored_once(store, remark, sending):
    entry = remark()
    first = append(store, "h", entry, sending)
    again = append(store, "h", entry, Sending(sending.now + timedelta(hours=1)))
    assert again.receipt == first.receipt
    assert len(list_entries(store, "h")) == 1


def test_another_body_under_the_same_id_is_refused(store, remark, sending):
    entry = remark("dry")
    append(store, "h", entry, sending)
    with pytest.raises(InputError, match="differs"):
        append(store, "h", remark("wet", key=entry.id), sending)
    with pytest.raises(InputError, match="differs"):
        append(store, "other house", entry, sending)
    outcome = append_all(store, "h", [remark("wet", key=entry.id), remark("new"), entry], sending)
    assert (len(outcome.stored), len(outcome.already), outcome.differing) == (1, 1, (entry.id,))
    assert [kept.what["text"] for kept in list_entries(store, "h")] == ["dry", "new"]


def test_a_bad_entry_stores_nothing_of_its_batch(store, remark, sending):
    with pytest.raises(InputError):
        append_all(
            store, "h", [remark(), replace(remark(), what={"text": "half of a letter: \ud800"})], sending
        )
    with pytest.raises(InputError):
        append_all(store, "h", [remark(), replace(remark(), what={"width_m": float("nan")})], sending)
    with pytest.raises(InputError):
        append_all(store, "", [remark()], sending)
    assert list_entries(store, "h") == ()
    assert store.houses() == ()


def test_the_store_itself_refuses_to_change_or_lose_an_entry(store, remark, sending):
    append(store, "h", remark(), sending)
    broken = (sqlite3.IntegrityError, psycopg.IntegrityError)
    for statement in ("UPDATE entry SET body = 'x'", "DELETE FROM entry"):
        with pytest.raises(broken, match="never"):
            store.connection.execute(statement)
    with pytest.raises(broken):  # foreign keys are on
        store.connection.execute(
            sql.ADD_ENTRY, ("x" * 36, "nowhere", "remark", "", "", "{}", "0" * 64, "", None)
        )


def test_a_clock_going_back_does_not_disturb_the_order(store, remark, sending):
    texts = ["first", "second", "third"]
    for i, text in enumerate(texts):
        append(store, "h", remark(text, sequence=i + 1), Sending(sending.now - timedelta(days=i)))
    kept = list_entries(store, "h")
    assert [entry.what["text"] for entry in kept] == texts
    assert [entry.receipt.number for entry in kept] == [1, 2, 3]
    assert kept[2].receipt.time < kept[0].receipt.time
    assert [entry.what["text"] for entry in list_entries(store, "h", after=2)] == ["third"]
    assert highest(store) == 3


def test_device_clock_is_kept_and_flagged_but_never_refused(store, remark, sending):
    device = sending.now - timedelta(minutes=7)
    kept = append(store, "h", remark(), Sending(sending.now, device))
    assert kept.receipt.clock_offset == -420.0
    assert kept.clock_off
    assert list_entries(store, "h")[0].clock_off
    strange = append(store, "h", remark(), Sending(sending.now, datetime(1970, 1, 1, tzinfo=UTC)))
    assert strange.clock_off
    assert not append(
        store, "h", remark(), Sending(sending.now, sending.now - timedelta(seconds=299))
    ).clock_off


def test_houses_are_kept_apart(store, remark, sending):
    append(store, "h1", remark("a"), sending)
    append(store, "h2", remark("b"), sending)
    assert store.houses() == ("h1", "h2")
    assert [entry.what["text"] for entry in list_entries(store, "h2")] == ["b"]


def test_the_file_is_opened_safely(file_store):
    store = file_store
    assert store.connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
    assert store.connection.execute("PRAGMA synchronous").fetchone()[0] == 2  # FULL
    assert store.connection.execute("PRAGMA foreign_keys").fetchone()[0] == 1


@pytest.mark.parametrize("version", range(1, sql.VERSION))
def test_upgrade_from_each_earlier_version_keeps_the_data(place, layouts, remark, sending, version):
    path = place
    sent = [remark(str(i)) for i in range(20)]
    with Store(path, layouts[:version]) as old:
        assert old.version == version
        append_all(old, "h", sent, sending)
    with Store(path) as new:
        assert new.version == sql.VERSION
        assert [entry.to_json() for entry in list_entries(new, "h")] == [entry.to_json() for entry in sent]
    saved = list(home_of(path).glob("*.before-upgrade-*.sqlite3"))
    assert len(saved) == 1
    checked = verify(saved[0])
    assert (checked.ok, checked.version, checked.entries) == (True, version, 20)
    assert verify(path).ok


def test_a_failing_upgrade_changes_nothing(place, layouts, remark, sending):
    path = place
    with Store(path) as old:
        append(old, "h", remark(), sending)
    with pytest.raises(HullwrightError):
        Store(path, (*layouts, ("CREATE TABLE extra (x TEXT)", "this is not sql")))
    with Store(path) as old:
        assert old.version == sql.VERSION
        with pytest.raises((sqlite3.OperationalError, psycopg.ProgrammingError), match="extra"):
            old.connection.execute("SELECT count(*) FROM extra")
        assert len(list_entries(old, "h")) == 1


def test_an_older_program_refuses_a_newer_store(place, layouts, tmp_path):
    newer = (*layouts, ("CREATE TABLE extra (x TEXT)",))
    Store(place, newer).close()
    before = hashlib.sha256(place.read_bytes()).digest() if isinstance(place, Path) else None
    with pytest.raises(InputError, match="too old"):
        Store(place)
    if before:
        assert hashlib.sha256(place.read_bytes()).digest() == before
    assert not verify(place).ok
    with pytest.raises(InputError, match="does not verify"):
        backup(place, tmp_path / "saved.sqlite3")
    with Store(place, newer) as store:
        assert store.version == len(newer)


def test_foreign_and_damaged_files_are_refused_and_left_alone(tmp_path):
    other = tmp_path / "other.sqlite3"
    connection = sqlite3.connect(other)
    connection.execute("CREATE TABLE theirs (x)")
    connection.commit()
    connection.close()
    junk = tmp_path / "junk.sqlite3"
    junk.write_bytes(b"not a database, just text " * 100)
    for path in (other, junk):
        before = path.read_bytes()
        with pytest.raises(InputError):
            Store(path)
        assert path.read_bytes() == before


def test_the_data_lie_outside_the_program(tmp_path, monkeypatch):
    here = Path(__file__).parents[2]
    with pytest.raises(InputError, match="can't be kept there"):
        store_path(str(here / "data"))
    (tmp_path / "clone" / "deep").mkdir(parents=True)
    (tmp_path / "clone" / "pyproject.toml").write_text('[project]\nname = "hullwright"\n')
    with pytest.raises(InputError):
        store_path(environment={"HULLWRIGHT_DATA": str(tmp_path / "clone" / "deep")})
    assert store_path(environment={"XDG_DATA_HOME": "/d", "HOME": "/h"}).parts[-2:] == (
        "hullwright",
        "store.sqlite3",
    )
    assert store_path(str(tmp_path / "x.sqlite3")) == tmp_path / "x.sqlite3"
    assert store_path(str(tmp_path)) == tmp_path / "store.sqlite3"


@pytest.mark.parametrize(
    ("path", "mounts", "warned"),
    [
        ("/data/store.sqlite3", "/dev/sda1 / ext4 rw 0 0", False),
        ("/mnt/site/store.sqlite3", "/dev/sda1 / ext4 rw 0 0\nserver:/x /mnt/site nfs4 rw 0 0", True),
        ("/mnt/site/store.sqlite3", "server:/x / nfs4 rw 0 0\n/dev/sda1 /mnt/site ext4 rw 0 0", False),
        ("/mnt/site/store.sqlite3", "server:/x /mnt/site nfs4 rw 0 0\n/dev/sda1 / ext4 rw 0 0", True),
        ("/mnt/with space/store.sqlite3", "//srv/x /mnt/with\\040space cifs rw 0 0", True),
        ("/home/lead/Some Cloud/store.sqlite3", "", True),
        ("/home/lead/MyDrive/jobs/store.sqlite3", "", True),
        ("/home/lead/jobs/store.sqlite3", "", False),
    ],
)
def test_network_and_synced_folders_get_a_warning(path, mounts, warned):
    assert bool(place_cautions(Path(path), mounts=mounts)) is warned


@pytest.mark.parametrize(
    ("error", "kind", "words"),
    [
        (OSError(27, "File too large"), OutputError, "full or failing"),
        (OSError(28, "No space left on device"), OutputError, "full or failing"),
        (sqlite3.OperationalError("database or disk is full"), OutputError, "full or failing"),
        (sqlite3.OperationalError("disk I/O error"), OutputError, "full or failing"),
        (
            sqlite3.OperationalError("attempt to write a readonly database"),
            OutputError,
            "can't be written here",
        ),
        (PermissionError(13, "Permission denied"), OutputError, "can't be written here"),
        (sqlite3.OperationalError("database is locked"), OutputError, "busy"),
        (sqlite3.DatabaseError("database disk image is malformed"), InputError, "can't be read"),
    ],
)
def test_each_trouble_says_what_it_is(error, kind, words):
    with pytest.raises(kind, match=words) as caught:
        explain(error, Path("s.sqlite3"))
    assert caught.value.problems[0].hint


def test_an_old_library_is_said(tmp_path, monkeypatch):
    monkeypatch.setattr(sqlite3, "sqlite_version_info", (3, 31, 1))
    with pytest.raises(InputError, match="this Python"):
        Store(tmp_path / "s.sqlite3")
    assert not (tmp_path / "s.sqlite3").exists()


def test_a_body_that_was_read_is_not_read_again(store, remark, sending, monkeypatch):
    read = []

    def counting(body):
        read.append(body["id"])
        return entry_from_json(body)

    monkeypatch.setattr(entries, "entry_from_json", counting)
    first, second = remark("wet"), remark("dry")
    append(store, "h", first, sending)
    assert len(list_entries(store, "h")) == 1
    append(store, "h", second, sending)
    back = list_entries(store, "h")
    assert [(entry.id, entry.receipt.number) for entry in back] == [(first.id, 1), (second.id, 2)]
    assert read == [first.id, second.id]
