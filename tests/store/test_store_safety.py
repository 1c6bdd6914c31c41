"""Killed while writing, power lost, two writers, full disk, read-only folder, backup while others write, restore."""

import os
import random
import resource
import shutil
import signal
import sqlite3
import tempfile
import time
from pathlib import Path

import pytest
from store_kit import check_all_there, kill_while_writing, start

from hullwright.errors import InputError, OutputError
from hullwright.store import sql
from hullwright.store.backup import SKIP, backup, restore, verify
from hullwright.store.database import Store
from hullwright.store.entries import append, append_all, list_entries
from hullwright.store.location import home_of


def test_killed_while_writing(place):
    path = place
    acknowledged = kill_while_writing(path, 20, seed=1)
    assert len(acknowledged) >= 20
    check_all_there(path, acknowledged)


@pytest.mark.slow
def test_killed_while_writing_two_hundred_times(place):
    path = place
    acknowledged = kill_while_writing(path, 200, seed=2)
    check_all_there(path, acknowledged)


def test_killed_while_the_store_is_made(tmp_path):
    """Killed at any moment of the very first opening: the next opening makes it whole."""
    rng = random.Random(3)
    for i in range(6):
        path = tmp_path / f"{i}.sqlite3"
        writer = start(path)
        time.sleep(rng.uniform(0.15, 0.4))
        writer.send_signal(signal.SIGKILL)
        out, _ = writer.communicate()
        check_all_there(path, {line for line in out.splitlines() if len(line) == 36})


def test_power_lost_after_the_last_sync(tmp_path, remark, sending):
    """What the disk had when a commit was acknowledged, plus any part of what came later, torn or not, is enough."""
    path, rng = tmp_path / "store.sqlite3", random.Random(4)
    synced = []
    with Store(path) as store:
        store.connection.execute("PRAGMA wal_autocheckpoint = 0")
        append(store, "h", remark(), sending)
        wal = path.with_name(path.name + "-wal")
        for i in range(30):
            append(store, "h", remark("y" * rng.randrange(1, 2000), sequence=i), sending)
            synced.append(wal.stat().st_size)
        main, log = path.read_bytes(), wal.read_bytes()
    assert max(synced) > min(synced)
    for i, size in enumerate(synced):
        torn = bytearray(log[: min(len(log), size + rng.randrange(0, 9000))])
        for _ in range(rng.randrange(3)):  # sectors written out of order or with rubbish
            if len(torn) > size:
                torn[rng.randrange(size, len(torn))] ^= 0xFF
        copy = tmp_path / f"after{i}.sqlite3"
        copy.write_bytes(main)
        copy.with_name(copy.name + "-wal").write_bytes(torn)
        with Store(copy) as store:
            assert len(list_entries(store, "h")) >= i + 2
        assert verify(copy).ok


def test_two_writers_lose_nothing(place):
    path = place
    Store(path).close()
    writers = [start(path, device, 150) for device in ("p1", "p2")]
    outs = [writer.communicate(timeout=300) for writer in writers]
    assert [writer.returncode for writer in writers] == [0, 0], outs
    ids = [line for out, _ in outs for line in out.split()]
    assert len(set(ids)) == 300
    with Store(path) as store:
        kept = list_entries(store, "h")
    assert {entry.id for entry in kept} == set(ids)
    assert [entry.receipt.number for entry in kept] == list(range(1, 301))


def test_full_disk_by_page_limit_says_so_and_keeps_what_was_acknowledged(file_store, remark, sending):
    store = file_store
    append(store, "h", remark("first"), sending)
    pages = store.connection.execute("PRAGMA page_count").fetchone()[0]
    store.connection.execute(f"PRAGMA max_page_count = {pages + 2}")
    with pytest.raises(OutputError, match="full"):
        append_all(store, "h", [remark("z" * 1900, sequence=i) for i in range(50)], sending)
    assert [entry.what["text"] for entry in list_entries(store, "h")] == ["first"]
    store.connection.execute("PRAGMA max_page_count = 1000000")
    append(store, "h", remark("after"), sending)  # goes on once there is room
    assert len(list_entries(store, "h")) == 2
    assert verify(store.path).ok


def test_full_disk_by_file_size_limit(tmp_path):
    path = tmp_path / "store.sqlite3"

    def limit():
        resource.setrlimit(resource.RLIMIT_FSIZE, (400_000, 400_000))

    writer = start(path, preexec_fn=limit)
    out, err = writer.communicate(timeout=300)
    assert writer.returncode != 0
    assert "OutputError" in err
    assert "the disk is full or failing" in err
    acknowledged = {line for line in out.splitlines() if len(line) == 36}
    assert len(acknowledged) >= 10
    check_all_there(path, acknowledged)


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="rights of POSIX systems only")
def test_read_only_folder_is_said():
    folder = Path(tempfile.mkdtemp())  # not below tmp_path, where only its owner may go
    try:
        Store(folder / "store.sqlite3").close()
        (folder / "store.sqlite3").chmod(0o444)
        folder.chmod(0o555)
        for path in (folder / "store.sqlite3", folder / "new" / "store.sqlite3"):
            writer = start(path, count=1, step_down=os.geteuid() == 0)
            out, err = writer.communicate(timeout=300)
            assert (writer.returncode, out) == (1, ""), err
            assert "OutputError: the store can't be written here" in err
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)


def test_backup_while_others_write_and_restore(place, tmp_path):
    path, saved = place, tmp_path / "saved.sqlite3"
    writer = start(path)
    known = {writer.stdout.readline().strip() for _ in range(30)}
    checked = backup(path, saved)
    more = {writer.stdout.readline().strip() for _ in range(5)}  # it went on writing
    writer.kill()
    writer.communicate()
    assert len(more) == 5
    assert checked.ok
    assert checked.entries >= 30
    assert not list(tmp_path.glob("*.part"))
    assert not list(tmp_path.glob("saved.sqlite3-*"))
    target = tmp_path / "elsewhere" / "store.sqlite3"
    assert restore(saved, target).entries == checked.entries
    with Store(target) as store:
        kept = {entry.id for entry in list_entries(store, "h")}
    assert known <= kept


def test_restore_replaces_only_when_told_and_saves_what_was_there(store, tmp_path, remark, sending):
    append(store, "h", remark("old"), sending)
    saved = tmp_path / "saved.sqlite3"
    backup(store.path, saved)
    newer = append(store, "h", remark("newer"), sending)
    with pytest.raises(InputError, match="replace a store"):
        restore(saved, store.path)
    checked = restore(saved, store.path, replace=True)
    assert checked.entries == 1
    assert [entry.what["text"] for entry in list_entries(store, "h")] == [
        "old"
    ]  # seen by whoever has it open
    before = next(home_of(store.path).glob("*before-restore*"))
    assert verify(before).entries == 2
    again = append(store, "h", remark("later"), sending)
    assert again.receipt.number > newer.receipt.number + SKIP - 2  # no device takes it for one it had seen
    assert verify(store.path).ok


def test_backup_never_overwrites(store, tmp_path, remark, sending):
    append(store, "h", remark(), sending)
    saved = tmp_path / "saved.sqlite3"
    saved.write_text("mine")
    with pytest.raises(OutputError, match="overwrite"):
        backup(store.path, saved)
    assert saved.read_text() == "mine"
    with pytest.raises(InputError, match="no store"):
        backup(tmp_path / "nothing.sqlite3", tmp_path / "x.sqlite3")


def test_verify_finds_each_kind_of_damage(tmp_path, remark, sending):
    path = tmp_path / "store.sqlite3"
    with Store(path) as store:
        append_all(store, "h", [remark("flip me " * 20, sequence=i) for i in range(40)], sending)
        store.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    good = path.read_bytes()
    at = good.index(b"flip me")
    path.write_bytes(good[:at] + b"F" + good[at + 1 :])  # one letter of one entry
    assert "not what was stored" in verify(path).problems[0].message
    with pytest.raises(InputError, match="does not verify"):
        backup(path, tmp_path / "b.sqlite3")
    with pytest.raises(InputError, match="does not verify"):
        restore(path, tmp_path / "new.sqlite3")
    assert not (tmp_path / "b.sqlite3").exists()
    assert not (tmp_path / "new.sqlite3").exists()
    path.write_bytes(good)
    raw = sqlite3.connect(path)
    raw.execute("DROP TRIGGER entry_never_changes")
    raw.execute("UPDATE entry SET joint = 'S2' WHERE number = 7")
    raw.commit()
    raw.close()
    assert [problem.where.key for problem in verify(path).problems] == ["entry 7"]
    path.write_bytes(good[: len(good) // 2])
    assert damaged(path)


def damaged(path):
    try:
        return not verify(path).ok
    except InputError:
        return True


def test_restore_brings_an_older_version_up(tmp_path, remark, sending):
    old = tmp_path / "old.sqlite3"
    with Store(old, sql.SCHEMA[:1]) as store:
        append(store, "h", remark(), sending)
    saved = tmp_path / "saved.sqlite3"
    assert backup(old, saved).version == 1
    assert restore(saved, tmp_path / "new" / "store.sqlite3").version == sql.VERSION
