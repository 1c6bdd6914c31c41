"""The log as it was written before: read under the names of today, kept to the byte, never taken in twice."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hullwright.app import keep
from hullwright.app import log as site_log
from hullwright.app.sending import Sender, send
from hullwright.errors import InputError
from hullwright.proof.entries import Entry, entry_from_json
from hullwright.proof.kinds import KINDS, check
from hullwright.proof.old_names import NEW_KINDS, VERSION, kind_now, named_before, named_now, old_kinds
from hullwright.store.database import Store
from hullwright.store.entries import body_of, digest_of, kind_of, list_entries

GOLDEN = Path(__file__).parent / "data" / "golden"
"""House, log, a phone's queue and a table, all written by the version before the record had version 2."""
LEAD = Sender("lead", None, None)
ROWS = "SELECT number, kind, body, digest FROM entry ORDER BY number"


@pytest.fixture
def golden(tmp_path):
    shutil.copy(GOLDEN / "log.sqlite3", tmp_path / "log.sqlite3")
    return site_log.open_log("golden-shed", str(tmp_path / "log.sqlite3"))


def rows(log):
    with Store(log.path) as store:
        return [tuple(row) for row in store.connection.execute(ROWS, ()).fetchall()]


def queue():
    return [(one["id"], one["body"]) for one in json.loads((GOLDEN / "queue.json").read_text())]


def test_every_entry_of_before_is_read_under_the_names_of_today(golden):
    entries = golden.entries()
    assert {entry.kind for entry in entries} == set(KINDS) - NEW_KINDS
    assert {entry.version for entry in entries} == {1}
    for entry in entries:
        check(entry)
    (one, *_) = [entry for entry in entries if entry.kind == "gauge reading"]
    assert one.what["notches_um"][0] == 203.2
    (covered,) = [entry for entry in entries if entry.kind == "covered"]
    (signed,) = [entry for entry in entries if entry.kind == "ok to cover"]
    assert covered.what["ok"] == signed.id


def test_nothing_that_is_kept_changes_by_a_byte(golden):
    before = rows(golden)
    for _, _, body, digest in before:
        entry = entry_from_json(json.loads(body))
        assert body_of(entry) == body
        assert digest_of("golden-shed", body_of(entry)) == digest
    assert keep.verify(str(golden.path)).ok
    assert rows(golden) == before


def test_a_queue_that_is_sent_again_is_there_already(golden):
    before = rows(golden)
    receipts, _ = send(golden, queue(), LEAD)
    assert {receipt.status for receipt in receipts} == {"duplicate"}
    assert rows(golden) == before


def test_a_queue_of_before_goes_into_a_new_log_with_the_same_digests(golden, tmp_path):
    new = site_log.open_log("golden-shed", str(tmp_path / "new.sqlite3"))
    receipts, _ = send(new, queue(), LEAD)
    assert {receipt.status for receipt in receipts} == {"stored"}
    assert {row[3] for row in rows(new)} <= {row[3] for row in rows(golden)}


@pytest.mark.parametrize("file", ["page.csv", "export.csv"])
def test_a_table_of_before_is_not_taken_in_twice(golden, file):
    outcome = site_log.import_log(golden, str(GOLDEN / file)).outcome
    assert (outcome.stored, outcome.differing) == ((), ())
    assert outcome.already


def test_export_and_import_keep_the_names_that_were_sent(golden, tmp_path):
    site_log.write(golden, "gauge reading", json.loads(
        '{"method": "liquid", "crew": "A", "surface": "panel", "notches_um": [100.0, 200.0], "last_wet_um": 100.0, "next_dry_um": 200.0, "coat": 2}'
    ), author="Ines", spot=site_log.Spot(face="shed/south", mark="W1", revision=3))  # fmt: skip
    site_log.export_log(golden, str(tmp_path / "all.csv"))
    new = site_log.open_log("golden-shed", str(tmp_path / "new.sqlite3"))
    site_log.import_log(new, str(tmp_path / "all.csv"))
    assert [row[2:] for row in rows(new)] == [row[2:] for row in rows(golden)]


def test_an_old_phone_may_go_on_and_correct_what_it_sent(golden):
    (name, body) = next(one for one in queue() if json.loads(one[1])["kind"] == "comb")
    old = json.loads(body) | {
        "id": "0b9b2a64-32a5-4a6b-9a3a-6a4f3f0d9b99",
        "supersedes": name,
        "device_sequence": 900,
    }
    receipts, _ = send(golden, [(old["id"], json.dumps(old))], LEAD)
    assert [receipt.status for receipt in receipts] == ["stored"]
    with Store(golden.path) as store:
        assert kind_of(store, golden.house, old["id"]) == "gauge reading"
        assert len(list_entries(store, golden.house, kinds=["gauge reading"])) == 14
    assert all(one.id != name for one in golden.standing())


BODY = {
    "id": "6f1c1b9e-9a3c-4c59-8f0f-0b6f4c1f4a11", "kind": "remark", "author": "lead", "device": "p1",
    "device_time": "2024-05-03T10:00:00-05:00", "device_sequence": 1, "what": {"text": "dry"},
}  # fmt: skip


@pytest.mark.parametrize(
    ("more", "version"),
    [
        ({}, 1),
        ({"version": 1}, 1),
        ({"version": 2}, 2),
        ({"mark": "W1"}, 2),
        ({"kind": "film added"}, 2),
        ({"kind": "comb"}, 1),
    ],
)
def test_a_body_without_a_version_is_of_the_version_whose_names_it_uses(more, version):
    assert entry_from_json(BODY | more).version == version


@pytest.mark.parametrize(
    "more",
    [
        {"version": 3},
        {"version": 0},
        {"version": "2"},
        {"version": True},
        {"version": 1, "mark": "W1"},
        {"version": 1, "kind": "gauge reading"},
    ],
)
def test_a_version_that_does_not_fit_is_refused(more):
    with pytest.raises(InputError) as caught:
        entry_from_json(BODY | more)
    assert [problem.where.key for problem in caught.value.problems] == ["version"]


def test_an_old_name_in_a_new_entry_is_refused_with_the_new_one():
    with pytest.raises(InputError) as caught:
        check(entry_from_json(BODY | {"version": 2, "kind": "comb"}))
    assert "gauge reading" in str(caught.value)


@given(
    st.sampled_from(sorted({*KINDS, *old_kinds()} - NEW_KINDS)),
    st.dictionaries(
        st.sampled_from(["teeth_um", "release", "crew", "note", "ok", "notches_um", "coat", "of"]),
        st.text(max_size=3),
    ),
)
def test_what_is_read_by_old_names_goes_back_to_the_byte(kind, what):
    body = BODY | {"kind": kind, "what": what}
    entry = entry_from_json(body)
    sent = entry.as_sent()
    assert (sent["kind"], sent["what"]) == (kind, what)
    assert entry_from_json(sent) == entry
    assert isinstance(entry, Entry)
    assert entry.version in {1, VERSION}


def test_names_go_there_and_back():
    for kind in KINDS:
        old, _ = named_before(kind, {})
        assert kind_now(old) == kind
        assert named_now(old, {})[0] == kind
