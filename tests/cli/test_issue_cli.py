"""Issue a drawing, see what a revision changes, and what the first entry does; all through the command line."""

import json

import jsonschema
import pytest

import hullwright
from hullwright.app import schemas
from hullwright.cli.main import main

HOUSE = """\
units: ft
name: Two Windows
barrier: {top: roof deck, bottom: slab}
masses:
  - {name: main, size: [30, 20], storeys: [9], roof: {form: gable, pitch: 6:12, ridge: east-west}}
openings:
  - {mass: main, side: south, kind: window, size: [3, 4], sill: 3, at: 4}
  - {mass: main, side: south, kind: window, size: [3, 4], sill: 3, at: 14}
penetrations:
  - {mass: main, through: north, kind: duct, diameter: 4, at: [[6, 7]]}
"""


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.setenv("HULLWRIGHT_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("HULLWRIGHT_AUTHOR", "ana")
    path = tmp_path / "house.yaml"
    path.write_text(HOUSE)
    return path


@pytest.fixture
def ask(capsys):
    def ask_(*words):
        code = main([*map(str, words), "--json"])
        answer = json.loads(capsys.readouterr().out)
        name = "error" if code == 2 else {"log": f"log {words[1]}"}.get(words[0], words[0])
        jsonschema.Draft202012Validator(schemas.schema(name)).validate(answer)
        return code, answer

    return ask_


@pytest.fixture
def said(capsys):
    def said_(*words):
        code = main([*map(str, words)])
        return code, capsys.readouterr().out

    return said_


def edit(path, old, new):
    text = path.read_text()
    assert old in text
    path.write_text(text.replace(old, new))


def test_the_first_entry_issues_the_first_drawing(file, ask, said):
    assert "No drawing is issued yet" in said("revisions", file)[1]
    assert "Revision 1" in said("log", "add", file, "nailing", "passed=yes", "--face", "main/south")[1]
    assert "Revision 1" not in said("log", "add", file, "nailing", "passed=yes", "--face", "main/north")[1]
    _, answer = ask("revisions", file)
    (one,) = answer["revisions"]
    assert (one["number"], one["author"], one["changed"]) == (1, "ana", None)


def test_an_edit_counts_once_it_is_issued(file, ask, said):
    ask("issue", file)
    edit(file, "at: 14", "at: 16")
    _, answer = ask("revisions", file)
    assert answer["revision"] == 1
    for words in (("states", file), ("ready", file, "main/south")):
        assert ask(*words)[1]["drawing_differs"] is True
        assert "differs from the drawing, revision 1" in said(*words)[1]
    (moved,) = answer["differs"]["differences"]
    # Source: the edit: 14 ft to 16 ft. Tolerance: rounding of the answer, a tenth of a millimeter.
    assert (moved["changes"], moved["moved_m"]) == (["moved"], pytest.approx(2 * 0.3048, abs=1e-4))
    assert "differs from what was issued" in said("revisions", file)[1]
    _, answer = ask("issue", file, "--reason", "view")
    assert (answer["new"], answer["issued"]["number"], answer["issued"]["reason"]) == (True, 2, "view")
    for words in (("states", file), ("ready", file, "main/south")):
        assert ask(*words)[1]["drawing_differs"] is False
        assert "differs" not in said(*words)[1]
    _, answer = ask("revisions", file)
    assert answer["differs"] is None
    assert [one["number"] for one in answer["revisions"]] == [1, 2]
    assert "moved 2'-0\"" in said("revisions", file)[1]


def test_remarks_issue_nothing_and_moving_back_is_a_revision(file, ask, said):
    ask("issue", file)
    first = file.read_text()
    file.write_text(first + "# a remark\n")
    assert ask("states", file)[1]["drawing_differs"] is False
    assert ask("issue", file)[1]["new"] is False
    assert "Nothing changed" in said("issue", file)[1]
    edit(file, "at: 14", "at: 16")
    ask("issue", file)
    file.write_text(first)
    assert ask("issue", file)[1]["issued"]["number"] == 3
    row = ask("revisions", file)[1]["revisions"]
    assert row[0]["sha256"] == row[2]["sha256"] != row[1]["sha256"]
    assert row[2]["changed"]["differences"][0]["changes"] == ["moved"]


def test_another_name_of_the_body_loses_nothing(file, ask, said):
    ask("log", "add", file, "nailing", "passed=yes", "--face", "main/south")
    file.write_text(HOUSE.replace("main", "core"))
    _, answer = ask("issue", file)
    assert not answer["revision"]["new"]
    assert not answer["revision"]["gone"]
    assert {tuple(d["changes"]) for d in answer["revision"]["differences"]} == {("renamed",)}
    assert "only names changed: nothing is lost" in said("revisions", file)[1]


def test_what_to_prove_again_stands_where_work_was_logged(file, ask):
    joints = {j["kind"]: j for j in ask("joints", file)[1]["joints"] if "main/north" in j["faces"]}
    ask(
        "log",
        "add",
        file,
        "remark",
        "text=seen",
        "--joint",
        joints["duct" if "duct" in joints else "box or duct"]["id"],
    )
    edit(file, "at: [[6, 7]]", "at: [[8, 7]]")
    edit(file, "at: 14", "at: 16")
    ask("issue", file)
    _, answer = ask("revisions", file)
    assert set(answer["prove_again"]) == {"main/north"}  # nothing was logged on the south wall
    assert len(answer["prove_again"]["main/north"]) == 1


def test_a_file_that_can_not_be_read_loses_neither_entry_nor_revisions(file, ask, said):
    ask("issue", file)
    file.write_text("units: ft\nnonsense: [")
    code, out = said("revisions", file)
    assert code == 0
    assert "Revision 1 is the drawing" in out
    assert "can't be read as it stands" in out
    assert ask("issue", file)[0] == 2
    assert ask("log", "add", file, "remark", "text=still kept")[0] == 0


def test_a_file_that_can_not_be_read_at_first_does_not_stop_the_log(file, said, ask):
    file.write_text("units: ft\nnonsense: [")
    code, out = said("log", "add", file, "remark", "text=kept")
    assert code == 0
    assert "No drawing is issued yet" in out
    file.write_text(HOUSE)
    assert "Revision 1" in said("log", "add", file, "remark", "text=again")[1]


def test_a_plan_of_another_house_is_refused(file, ask, tmp_path):
    plan = tmp_path / "plan.json"
    plan.write_text('{"runs": [{"id": "no such run", "method": "tape"}]}')
    code, answer = ask("issue", file, "--plan", plan)
    assert code == 2
    assert "another house" in answer["error"]["message"]


def test_the_drawing_says_the_planned_methods_and_keeps_them(file, ask, tmp_path):
    run = next(j["run"] for j in ask("joints", file)[1]["joints"] if j["kind"] == "opening jamb")
    plan = tmp_path / "plan.json"
    plan.write_text(
        json.dumps({"runs": [{"id": run, "method": "tape", "product": "P", "prepared": ["primer"]}]})
    )
    ask("issue", file, "--plan", plan)
    log = hullwright.log(file)
    from hullwright.app.issue import issued  # noqa: PLC0415

    def planned():
        drawing = issued(log)[-1].drawing
        return {(j.method, j.product, j.primer) for j in drawing.joints if j.run == run}

    assert planned() == {("tape", "P", True)}
    file.write_text(HOUSE.replace("main", "core"))  # runs have other ids: the methods stay by place
    assert hullwright.issue(file, author="ana").new
    run = run.replace("main", "core")
    assert planned() == {("tape", "P", True)}


def test_experience_names_the_drawing_and_nobody(file, ask):
    """Number and digest of the drawing; no author and no date leave the house. Files of two houses name both."""
    assert ask("experience", file)[1]["drawings"] == []
    ask("issue", file, "--reason", "for the crew")
    digest = ask("revisions", file)[1]["revisions"][0]["sha256"]
    answer = ask("experience", file)[1]
    assert answer["drawings"] == [{"revision": 1, "sha256": digest}]
    assert "ana" not in json.dumps(answer)
    ask("experience", file, "--out", file.parent / "one.json")
    both = ask("experience", file, "--earlier", file.parent / "one.json")[1]
    assert (both["houses"], len(both["drawings"])) == (2, 2)


def test_a_patch_is_named_alone_and_with_others(file, ask):
    """The hole that a window left takes entries by its own name, and in a group with what is done with it."""
    ask("log", "add", file, "prepared", "--joint", "W1/2")
    edit(file, "sill: 3, at: 4", "sill: 3, at: 8")
    ask("issue", file)
    (patch,) = (one["joint"] for one in ask("revisions", file)[1]["patch_here"])
    work = ("method=liquid", "crew=A", "surface=panel", "substitute=yes")
    code, answer = ask("log", "add", file, "done", *work, f"of=W1; {patch}")
    assert (code, answer["entry"]["what"]["of"]) == (0, ["W1", patch])
    assert ask("revisions", file)[1]["patch_here"] == []
    assert ask("log", "add", file, "done", *work, "of=W1/0.9")[0] == 2  # no revision left that one
    added = hullwright.log_add(
        file, "seen", {"seen_by": "ben", "sound": True, "of": [patch]}, author="ana", place={"joint": patch}
    )
    assert (added.entry.spot.joint, list(added.entry.what["of"])) == (patch, [patch])


def test_python_has_the_same_jobs(file):
    assert hullwright.issue(file, author="ana").issued.number == 1
    assert [step.issued.number for step in hullwright.revisions(file).steps] == [1]


def test_issue_writes_the_marks_as_ink(file, said):
    """A window put in at the left after the first issue renumbers none of those that were there."""
    assert "3 marks are written" in said("issue", file)[1]
    assert file.read_text().count("mark: ") == 3
    edit(
        file,
        "openings:\n",
        "openings:\n  - {mass: main, side: south, kind: window, size: [2, 2], sill: 4, at: 1}\n",
    )
    out = said("issue", file)[1]
    assert "came" in out
    assert "was called" not in out


REMARKED = HOUSE.replace("openings:", "openings:   # as on the schedule").replace(
    "at: 4}", "at: 4}   # kitchen"
)


def test_the_first_entry_writes_the_marks_too_and_keeps_all_else(file, said):
    """Comments, order and every other character stay: without the marks the file is what it was."""
    file.write_text(REMARKED)
    out = said("log", "add", file, "nailing", "passed=yes", "--face", "main/south")[1]
    said_whole = " ".join(out.split())  # a long path of the log wraps the line
    assert "3 marks are written into house.yaml" in said_whole
    text = file.read_text()
    assert [text.count(f"mark: {mark}") for mark in ("W1", "W2", "P1")] == [1, 1, 1]
    for mark in ("W1", "W2", "P1"):
        text = text.replace(f", mark: {mark}", "")
    assert text == REMARKED


def test_a_file_that_can_not_be_written_is_issued_all_the_same_and_says_so(file, ask, monkeypatch):
    from hullwright.app import marks  # noqa: PLC0415
    from hullwright.errors import OutputError  # noqa: PLC0415

    def full(*_):
        raise OutputError("it could not be written")

    monkeypatch.setattr(marks, "write_whole", full)
    answer = ask("issue", file)[1]
    assert (answer["issued"]["number"], answer["marks_written"]) == (1, 0)
    assert "may renumber" in answer["said"]
    assert file.read_text() == HOUSE
