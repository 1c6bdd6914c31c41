"""What was logged about a joint, as an answer: trade words, what stands beside them, who took it back."""

import uuid
from datetime import UTC, datetime, timedelta

import pytest

from hullwright.app.house import load
from hullwright.app.log import Log
from hullwright.app.refusals import UnknownError
from hullwright.app.sofar import so_far
from hullwright.proof.entries import Entry, Spot, Stamp
from hullwright.store.database import Store
from hullwright.store.entries import Sending, append

SHED = """\
units: in
name: Shed
barrier: {top: roof deck, bottom: slab}
masses:
  - {name: main, size: [312, 240], base: 8, storeys: [108], roof: {form: gable, pitch: 6:12, ridge: east-west}}
aim: {budget: 5000}
"""
NOON = datetime(2026, 5, 3, 12, tzinfo=UTC)
TAPED = {"method": "tape", "crew": "A", "surface": "wood panel"}


@pytest.fixture
def site(tmp_path):
    file = tmp_path / "shed.yaml"
    file.write_text(SHED)
    return load(str(file)), Log("shed", tmp_path / "log.sqlite3")


def put(log, kind, what, spot, *, supersedes="", off=timedelta(0)):
    """As a device sends it, its clock off by some time."""
    with Store(log.path) as store:
        entry = Entry(str(uuid.uuid4()), kind, Stamp("Ines", "p1", NOON, 1), spot, what, supersedes)
        return append(store, log.house, entry, Sending(NOON, NOON + off))


def corner(house):
    return next(joint for joint in house.joints.joints if joint.kind == "outside corner")


def test_words_come_in_the_units_of_the_file_with_what_stands_beside(site):
    house, log = site
    joint = corner(house)
    put(log, "prepared", {}, Spot(face=joint.faces[1]), off=timedelta(minutes=6))
    put(log, "tug", {"method": "tape", "crew": "A", "held": True}, Spot(joint="elsewhere"))
    done = put(log, "done", TAPED, Spot(joint=joint.id))
    put(log, "withdrawn", {"reason": "wrong corner"}, Spot(), supersedes=done.id)
    put(log, "done", {**TAPED, "to_m": 0.3048}, Spot(joint=joint.id))
    told = so_far(log, house, joint.id).to_json()["entries"]
    # Source: foot 0.3048 m by definition. Tolerance: 1/16 in.
    assert [one["words"] for one in told] == [
        "done: tape, to 1'-0\", on wood panel, crew A",
        "done: tape, on wood panel, crew A",
        "tug test: held, tape, crew A",
        "prepared",
    ]
    assert [one["back"] for one in told] == ["", "✕ withdrawn by Ines: wrong corner", "", ""]
    # Source: five minutes is the limit that the log's own flag states; six are beyond it. Tolerance: none.
    assert [one["aside"] for one in told] == [
        "",
        "",
        "first strip of the lot",
        "whole face, that clock was off",
    ]


def test_corrected_and_passed_over_say_by_whom(site):
    house, log = site
    spot = Spot(joint=corner(house).id)
    first = put(log, "done", TAPED, spot)
    right = put(log, "done", {**TAPED, "crew": "B"}, spot, supersedes=first.id)
    rival = put(log, "done", {**TAPED, "crew": "C"}, spot, supersedes=first.id)
    put(log, "chosen", {"entry": right.id, "against": [rival.id]}, Spot())
    told = {one["entry"]["id"]: one["back"] for one in so_far(log, house, spot.joint).to_json()["entries"]}
    assert told == {first.id: "↻ corrected by Ines", right.id: "", rival.id: "✕ not chosen by Ines"}


def test_a_joint_that_is_not_there_is_unknown(site):
    house, log = site
    with pytest.raises(UnknownError, match="no such joint"):
        so_far(log, house, corner(house).id[:-1])
