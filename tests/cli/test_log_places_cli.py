"""Where an entry is about, on the command line: run, mark, place, group; what its receipt says; the table of rules; ready in words."""

import json
import re
from pathlib import Path

import jsonschema
import pytest
from PIL import Image

from hullwright.app import schemas
from hullwright.app.house import load
from hullwright.app.record_jobs import log_add
from hullwright.cli.main import main
from hullwright.errors import InputError
from hullwright.proof.kinds import KINDS
from hullwright.proof.rules import PROOFS

STUDIO = Path(__file__).parents[2] / "examples" / "kiln-studio.yaml"
FACE = "studio/south"
LIQUID = ("method=liquid", "crew=B", "surface=plywood", "product=silyl-flashing-20")
TEETH = "notches=200 250 300 350 400 450 500 550 600 um"


@pytest.fixture
def site(tmp_path, monkeypatch):
    monkeypatch.setenv("HULLWRIGHT_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("HULLWRIGHT_AUTHOR", "lead")
    file = tmp_path / "studio.yaml"
    file.write_text(STUDIO.read_text("utf-8"), "utf-8")
    return str(file)


@pytest.fixture
def ask(capsys):
    def run(*words, code=0):
        got = main([*words, "--json"])
        said = capsys.readouterr()
        assert got == code, said.out + said.err
        return json.loads(said.out)

    return run


@pytest.fixture(scope="module")
def house():
    return load(STUDIO)


def test_the_table_of_rules_is_printed_whole_with_its_marks(ask, capsys):
    found = ask("log", "rules")
    jsonschema.Draft202012Validator(schemas.schema("log rules")).validate(found)
    assert {row["entry"] for row in found["entries"]} >= set(KINDS)
    assert {(row["method"], row["joints"]) for row in found["proofs"]} == set(PROOFS)
    assert {row["stage"] for row in found["stages"]} == {"services", "later", "units"}
    assert all(row["evidence"] for part in ("entries", "proofs", "stages", "figures") for row in found[part])
    assert {row["method"] for row in ask("log", "rules", "--method", "tape")["proofs"]} == {"tape"}
    assert main(["log", "rules"]) == 0
    assert "gauge reading" in capsys.readouterr().out
    assert ask("log", "rules", "--method", "glue", code=2)["error"]["problems"][0]["got"] == "glue"


def test_a_done_names_a_run_a_mark_or_a_group(site, ask, house):
    seam = house.lookup.joint(f"{FACE}/2.2.1")
    add = ["log", "add", site, "done", *LIQUID]
    run = ask(*add, "--run", seam.run)["entry"]
    assert (run["run"], run["joint"], run["face"]) == (seam.run, "", FACE)
    mark = next(joint.mark for joint in house.joints.joints if joint.mark and joint.stage == "openings")
    opening = ask(*add, "--mark", mark.lower())["entry"]
    assert (opening["mark"], opening["joint"]) == (mark, "")
    group = ask(*add, f"of={mark}; {seam.id}")["entry"]
    assert group["what"]["of"] == [mark, seam.id]
    states = {one["joint"]: one["state"] for one in ask("states", site)["joints"]}
    named = [joint for joint in house.joints.joints if joint.mark == mark or joint.run == seam.run]
    # no plan was issued: a joint without a planned method is taken where it is named, and nothing else is
    assert {states[joint.id] for joint in named} == {"sealed"}
    others = {joint.id for joint in house.joints.joints} - {joint.id for joint in named}
    assert not {states[name] for name in others & set(states)} & {"sealed", "proved"}


@pytest.mark.parametrize(
    ("words", "about"),
    [
        (["--joint", f"{FACE}/2.2.1", "--mark", "W1"], "which of them is meant"),
        (["--mark", "W99"], "no such mark"),
        (["--run", "nosuch"], "no such run"),
        (["--place", "1 m, 1 m"], "a place needs its face"),
        (["--face", FACE, "--place", "1 m"], "this place can't be read"),
        (["--face", FACE, "--place", "99 m, 1 m"], "this place is not on the face"),
        (["--face", FACE, "--place", "1 m, 1 m", "--at", "1 m"], "which place is meant"),
        (["--mark", "W1", "--at", "1 m"], "a place needs its joint"),
        (["of=W1; nosuch"], "no such joint, run, mark or face"),
    ],
)
def test_a_place_that_is_none_is_refused_in_words(site, ask, words, about):
    assert (
        ask("log", "add", site, "seen", "seen_by=ana", "sound=yes", *words, code=2)["error"]["message"]
        == about
    )


def test_a_place_on_the_wall_finds_its_joint(site, ask, house):
    """A tap on the drawing: the joint follows from the place."""
    face = next(one for one in house.hull.faces if one.id == FACE)
    seam = house.lookup.joint(f"{FACE}/2.2.1")
    flat = face.frame.drop(face.loops[0])
    x, y = (face.frame.drop(seam.points).mean(axis=0) - flat.min(axis=0)).tolist()
    at = f"{x + 0.02:.4f} m, {y:.4f} m"
    reading = ["log", "add", site, "gauge reading", *LIQUID, TEETH, "last_wet=400 um", "--face", FACE]
    found = ask(*reading, "--place", at)
    assert found["lacking"] == ""
    # Source: lower left corner of the face, plus the place. Tolerance: figures of the command, 0.1 mm.
    assert found["entry"]["place_m"] == pytest.approx(
        face.frame.lift(flat.min(axis=0)[None] + [[x + 0.02, y]])[0], abs=1e-4
    )
    lots = ask("film", "lots", site, code=1)["lots"]
    assert [lot["joints"] for lot in lots] == [[seam.id]]
    middle = ask(*reading, "--place", f"{x + 0.3:.4f} m, {y:.4f} m")
    assert middle["lacking"].startswith("needs a place")


def test_a_receipt_says_what_a_done_left_out_and_why(site, ask, capsys):
    found = ask("log", "add", site, "done", *LIQUID, "--face", FACE)
    jsonschema.Draft202012Validator(schemas.schema("log add")).validate(found)
    reasons = {one["why"] for one in found["left_out"]}
    assert "a piece: say it by its mark or joint" in reasons
    assert "no plan says how it is sealed: name the run or joint" in reasons
    assert found["lacking"].startswith("needs a place")
    assert main(["log", "add", site, "done", *LIQUID, "--face", FACE]) == 0
    said = capsys.readouterr().out
    assert "Left out:" in said
    assert "a piece: say it by its mark or joint" in " ".join(said.split())


def test_a_row_is_one_photo_and_one_look_by_their_marks(site, ask, house, tmp_path):
    boxes = [
        joint for joint in house.joints.joints if joint.kind.value == "box or duct" and FACE in joint.faces
    ]
    marks = [joint.mark for joint in boxes]
    assert len(marks) == 2
    group = "of=" + "; ".join(marks)
    if any(joint.stage == "services" for joint in boxes):
        ask("log", "add", site, "trade through", group)
    ask("log", "add", site, "done", "method=boot", "crew=B", "surface=plywood", "substitute=yes", group)
    ask("log", "add", site, "seen", "seen_by=ana", "sound=yes", group)
    Image.new("RGB", (40, 30), "grey").save(tmp_path / "row.jpg")
    of = [word for mark in marks for word in ("--of", mark)]
    assert ask("log", "photo", site, str(tmp_path / "row.jpg"), *of)["entry"]["what"]["of"] == marks
    states = {one["joint"]: one["state"] for one in ask("states", site)["joints"]}
    assert [states[joint.id] for joint in boxes] == ["proved", "proved"]


def test_python_takes_the_same_places(site, house):
    mark = next(joint.mark for joint in house.joints.joints if joint.mark)
    figures = {"seen_by": "ana", "sound": True}
    assert log_add(site, "seen", figures, author="lead", place={"mark": mark}).entry.spot.mark == mark
    assert log_add(site, "seen", {**figures, "of": [mark.lower()]}, author="lead").entry.what["of"] == [mark]
    with pytest.raises(InputError, match="this place can't be read"):
        log_add(site, "seen", figures, author="lead", place={"wall": FACE})


def test_ready_answers_in_five_lines_of_words(site, ask, capsys, house):
    ask("log", "add", site, "hole", "text=bracket", "made_by=plumber", "--joint", f"{FACE}/2.2.1")
    found = ask("ready", site, FACE, code=1)
    jsonschema.Draft202012Validator(schemas.schema("ready")).validate(found)
    assert len(found["says"]) == 5
    assert found["says"][0] == "South wall is NOT ready to cover."
    in_the_way, of = map(int, re.search(r"Joints in the way: (\d+) of (\d+)", found["says"][2]).groups())
    # Source: by hand, each joint that anything in the way names, counted once
    assert in_the_way == len({one["joint"] for one in found["blockers"] if one["joint"]})
    assert in_the_way <= of == found["joints"] == sum(found["states"].values())
    ids = {joint.id for joint in house.joints.joints}
    for blocker in found["blockers"]:
        assert blocker["where"]
        assert blocker["where"] not in ids, "words, not ids"
    assert not any(name in line for line in found["says"] for name in ids)
    assert main(["ready", site, FACE]) == 1
    assert "South wall is NOT ready to cover." in capsys.readouterr().out


@pytest.mark.parametrize(
    "place", [["--face", FACE], ["--joint", f"{FACE}/2.2.1"], ["--mark", "W2"], ["of=W2"]]
)
def test_what_is_held_stands_in_the_way_until_it_is_corrected(site, ask, place, house):
    window = next(j for j in house.joints.joints if j.mark == "W2")
    face = FACE if place[0] in {"--face", "--joint"} else window.faces[0]
    what = ("method=liquid", "crew=B", "surface=plywood", "product=nosuch-20")
    entry = ask("log", "add", site, "done", *what, *place)["entry"]
    held = [one for one in ask("ready", site, face, code=1)["blockers"] if ":held " in one["id"]]
    assert [one["missing"] for one in held] == [["correct it, withdraw it, or give the product sheet"]]
    ask("log", "correct", site, str(entry["number"]), "product=silyl-flashing-20")
    assert not [one for one in ask("ready", site, face, code=1)["blockers"] if ":held " in one["id"]]


@pytest.mark.parametrize(
    ("key", "asked"),
    [
        ("", {"face": ["take a photo"], "opening": ["take a photo"]}),
        ("photos: {opening: 3}\n", {"face": ["take a photo"], "opening": ["take 3 more"]}),
        ("photos: {face: 2, opening: 0}\n", {"face": ["take 2 more"], "opening": []}),
    ],
)
def test_ready_asks_for_the_photos_that_the_file_says(site, ask, key, asked):
    file = Path(site)
    file.write_text(file.read_text("utf-8") + key, "utf-8")
    blockers = ask("ready", site, FACE, code=1)["blockers"]
    found = {
        group: [one["missing"][0] for one in blockers if one["reason"] == f"{group} without a photo"]
        for group in asked
    }
    # Source: the south wall of the studio has one window
    assert found == asked


@pytest.mark.parametrize(
    "key", ["photos: {opening: -1}\n", "photos: {opening: 1.5}\n", "photos: {window: 1}\n", "photos: 3\n"]
)
def test_a_plan_of_photos_that_can_not_be_is_refused(site, ask, key):
    file = Path(site)
    file.write_text(file.read_text("utf-8") + key, "utf-8")
    error = ask("check", site, code=2)["error"]
    assert any("photos" in problem["where"]["key"] for problem in error["problems"])


def test_many_photos_are_asked_about(site, ask):
    file = Path(site)
    file.write_text(file.read_text("utf-8") + "photos: {opening: 40}\n", "utf-8")
    assert ask("check", site, code=2)["error"]["problems"]
    file.write_text(
        file.read_text("utf-8").replace("{opening: 40}", "{opening: 40, sure: [opening]}"), "utf-8"
    )
    ask("check", site, code=0)


def test_states_says_what_was_left_out_and_which_gasket_came_late(site, ask, capsys):
    ask("log", "add", site, "done", *LIQUID, "--face", FACE)
    ask("log", "add", site, "nailing", "passed=yes", "--face", FACE)
    ask("log", "add", site, "done", "method=gasket", "crew=B", "surface=wood", "--joint", f"{FACE}/2.2.1")
    assert main(["states", site]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "left out" in said
    assert "a piece: say it by its mark or joint" in said
    assert "done (entry 1) proves nothing: needs a place" in said
    assert "gasket after the plate was nailed down" in said
