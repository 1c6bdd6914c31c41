"""Issued drawings: kept once, never changed, numbered by the store, in every backup and move."""

import sqlite3
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import psycopg
import pytest
from store_kit import SOURCE

from hullwright.errors import InputError, OutputError
from hullwright.proof.drawing import Drawing, DrawnFace, DrawnJoint
from hullwright.store import backup as saving
from hullwright.store.backup import backup, restore, verify
from hullwright.store.database import Store
from hullwright.store.drawings import Signed, drawings, issue, last_number
from hullwright.store.entries import append
from hullwright.store.place import Address, full

WALL = DrawnFace("main/south", "main", "wall", (((0, 0, 0), (9, 0, 0), (9, 0, 3), (0, 0, 3)),))
SEAM = DrawnJoint("main/south/1.1.1", "horizontal seam", ("main/south",), ((0, 0, 1.2), (9, 0, 1.2)), 9.0)
FIRST = Drawing("Shed", "name: Shed\n# ¾ in, naïve 壁\n", (WALL,), (), (SEAM,))
SECOND = replace(FIRST, text="name: Shed, wider\n")


@pytest.fixture
def signed(sending):
    return Signed("lead", "window moved", sending.now)


def test_a_drawing_comes_back_as_it_was_issued(store, signed, sending, remark):
    assert last_number(store, "h") == 0
    assert drawings(store, "h") == ()
    one = issue(store, "h", FIRST, signed)
    number = append(store, "h", remark(), sending).receipt.number
    two = issue(store, "h", SECOND, signed)
    assert (one.number, one.after, two.number, two.after) == (1, 0, 2, number)
    assert drawings(store, "h") == (one, two)
    assert [each.drawing for each in drawings(store, "h")] == [FIRST, SECOND]
    assert drawings(store, "another house") == ()
    assert store.houses() == ("h",)


def test_a_drawing_that_comes_back_is_kept_once(store, signed):
    """Moved and moved back: three revisions, two drawings."""
    for drawing in (FIRST, SECOND, FIRST):
        issue(store, "h", drawing, signed)
    issue(store, "another", FIRST, signed)
    assert [one.drawing.sha256 for one in drawings(store, "h")] == [FIRST.sha256, SECOND.sha256, FIRST.sha256]
    assert store.connection.execute("SELECT count(*) FROM drawing_body").fetchone()[0] == 2


@pytest.mark.parametrize("table", ["drawing", "drawing_body"])
@pytest.mark.parametrize("act", ["DELETE FROM {}", "UPDATE {} SET sha256 = '0'"])
def test_the_store_refuses_to_change_or_lose_a_drawing(store, signed, table, act):
    issue(store, "h", FIRST, signed)
    with pytest.raises((sqlite3.IntegrityError, psycopg.IntegrityError), match="never"):
        store.connection.execute(act.format(table))
    assert [one.drawing for one in drawings(store, "h")] == [FIRST]


def test_who_issues_on_an_old_revision_is_told(store, signed):
    issue(store, "h", FIRST, signed, after=0)
    with pytest.raises(InputError, match="not issued") as error:
        issue(store, "h", SECOND, signed, after=0)
    assert "meanwhile" in error.value.problems[0].message
    assert issue(store, "h", SECOND, signed, after=1).number == 2


@pytest.mark.parametrize(
    "more",
    [{"author": ""}, {"author": "a\nb"}, {"author": "x" * 201}, {"reason": "x" * 2001}, {"reason": "\0"}],
)
def test_what_can_not_be_kept_is_refused(store, signed, more):
    with pytest.raises(InputError, match="not issued"):
        issue(store, "h", FIRST, replace(signed, **more))
    assert drawings(store, "h") == ()


RACER = """
import sys
from datetime import UTC, datetime
from hullwright.proof.drawing import Drawing
from hullwright.store.database import Store
from hullwright.store.drawings import Signed, issue_first
from hullwright.store.place import place_of
with Store(place_of(sys.argv[1])) as store:
    sys.stdin.readline()
    made = issue_first(store, "h", Drawing("Shed", sys.argv[2], (), (), ()), Signed(sys.argv[2], "", datetime.now(UTC)))
    print(made.number, made.author)
"""


def test_two_phones_that_issue_the_first_drawing_at_once_issue_one(place):
    Store(place).close()
    racers = [
        subprocess.Popen(
            [sys.executable, "-c", RACER, full(place), name],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            env={"PYTHONPATH": SOURCE, "PATH": "/usr/bin:/bin"},
        )
        for name in ("ana", "ben", "cleo", "dan")
    ]
    for racer in racers:
        racer.stdin.write("\n")
        racer.stdin.flush()
    answers = {racer.communicate(timeout=300)[0] for racer in racers}
    with Store(place) as store:
        (one,) = drawings(store, "h")
    assert answers == {f"1 {one.author}\n"}  # all are told of the same


def test_writers_side_by_side_get_numbers_of_their_own(place, signed):
    Store(place).close()

    def work(name):
        with Store(place) as store:
            for i in range(5):
                issue(store, "h", replace(FIRST, text=f"{name} {i}"), signed)

    threads = [threading.Thread(target=work, args=(name,)) for name in ("a", "b")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    with Store(place) as store:
        assert [one.number for one in drawings(store, "h")] == list(range(1, 11))


@pytest.mark.parametrize("back", [False, True])
def test_drawings_move_between_file_and_server(shared_server, tmp_path, monkeypatch, signed, back):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    server, file = shared_server.database(), tmp_path / "data" / "store.sqlite3"
    source, target = (server, file) if back else (file, server)
    with Store(source) as store:
        sent = tuple(issue(store, "h", drawing, signed) for drawing in (FIRST, SECOND, FIRST))
    saved = tmp_path / "saved.sqlite3"
    assert backup(source, saved).drawings == 3
    checked = restore(saved, target)
    assert (checked.ok, checked.drawings) == (True, 3)
    with Store(target) as store:
        assert drawings(store, "h") == sent
        assert issue(store, "h", SECOND, signed).number == 4


def test_verify_finds_a_drawing_that_was_changed(place, signed):
    with Store(place) as store:
        issue(store, "h", FIRST, signed)
        issue(store, "h", SECOND, signed)
    assert verify(place).ok
    assert verify(place).to_json()["drawings"] == 2
    own = isinstance(place, Path)
    off = ["DROP TRIGGER drawing_never_changes", "DROP TRIGGER drawing_body_never_changes"]
    off = off if own else [f"{one} ON {one.split()[2].removesuffix('_never_changes')}" for one in off]
    forged = f"UPDATE drawing_body SET body = '{SECOND.body.replace('wider', 'WIDER')}' WHERE sha256 = '{SECOND.sha256}'"
    with Store(place) as store, store.writing() as connection:
        for statement in (*off, "UPDATE drawing SET author = 'somebody else' WHERE number = 1", forged):
            connection.execute(statement)
    found = [problem.where.key for problem in verify(place).problems]
    assert found == ["drawing 1 of h", "drawing 2 of h"]


def test_a_drawing_issued_while_a_store_is_replaced_is_never_lost(place, tmp_path, signed, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "home"))
    with Store(place) as store:
        issue(store, "h", FIRST, signed)
    saved = tmp_path / "saved.sqlite3"
    backup(place, saved)

    def late(path, target):
        backup(path, target)
        with Store(place) as store:
            issue(store, "h", SECOND, signed)

    with monkeypatch.context() as patched:
        patched.setattr(saving, "backup", late)
        with pytest.raises(OutputError, match="written to meanwhile"):
            restore(saved, place, replace=True)
    assert verify(place).drawings == 2
    assert restore(saved, place, replace=True).drawings == 1


def test_a_store_of_before_is_brought_up_and_has_no_drawings(place, layouts, remark, sending, signed):
    with Store(place, layouts[:2]) as old:
        append(old, "h", remark(), sending)
    assert verify(place).drawings == 0
    with Store(place) as new:
        assert drawings(new, "h") == ()
        assert issue(new, "h", FIRST, signed).after == 1
    assert isinstance(place, (Path, Address))
